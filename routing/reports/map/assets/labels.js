/* Place labels beside their dots: never over a mark, an arrow or another label, never nearer to a wrong dot.
   Boxes are {l, t, r, b}. What finds no place is left out, and shown when the reader goes nearer or asks. */
var CELL = 4, BUCKET = 48;

/* Boxes in buckets, so that only near ones are compared. */
function Boxes() { this.buckets = new Map(); }
Boxes.prototype.each = function (box, visit) {
  for (var i = Math.floor(box.l / BUCKET); i <= Math.floor(box.r / BUCKET); i++) {
    for (var j = Math.floor(box.t / BUCKET); j <= Math.floor(box.b / BUCKET); j++) { if (visit(i * 65536 + j)) { return true; } }
  }
  return false;
};
Boxes.prototype.add = function (box) {
  var buckets = this.buckets;
  this.each(box, function (key) {
    if (!buckets.has(key)) { buckets.set(key, []); }
    buckets.get(key).push(box);
  });
};
Boxes.prototype.remove = function (box) {
  var buckets = this.buckets;
  this.each(box, function (key) { buckets.set(key, buckets.get(key).filter(function (other) { return other !== box; })); });
};
Boxes.prototype.hit = function (box, gap, except) {
  var buckets = this.buckets, wide = { l: box.l - gap, t: box.t - gap, r: box.r + gap, b: box.b + gap };
  return this.each(wide, function (key) {
    return (buckets.get(key) || []).some(function (o) {
      return o.owner !== except && o.l < wide.r && o.r > wide.l && o.t < wide.b && o.b > wide.t;
    });
  });
};

/* Which cells of 4 px a line runs through: a label may cross a line, but the fewer the better. */
function Raster(width, height) {
  this.w = Math.ceil(width / CELL) + 1;
  this.h = Math.ceil(height / CELL) + 1;
  this.cells = new Uint8Array(this.w * this.h);
}
Raster.prototype.draw = function (points) {
  for (var i = 2; i < points.length; i += 2) {
    var x = points[i - 2], y = points[i - 1], dx = points[i] - x, dy = points[i + 1] - y;
    var clipped = clip(x, y, dx, dy, this.w * CELL, this.h * CELL);
    if (!clipped) { continue; }
    var steps = Math.ceil(Math.hypot(dx, dy) * (clipped[1] - clipped[0]) / 3);
    for (var k = 0; k <= steps; k++) {
      var t = clipped[0] + (clipped[1] - clipped[0]) * k / (steps || 1), cx = Math.floor((x + dx * t) / CELL), cy = Math.floor((y + dy * t) / CELL);
      if (cx >= 0 && cy >= 0 && cx < this.w && cy < this.h) { this.cells[cy * this.w + cx] = 1; }
    }
  }
};
Raster.prototype.under = function (box) {
  var sum = 0, x1 = Math.min(this.w - 1, Math.floor(box.r / CELL)), y1 = Math.min(this.h - 1, Math.floor(box.b / CELL));
  for (var y = Math.max(0, Math.floor(box.t / CELL)); y <= y1; y++) {
    for (var x = Math.max(0, Math.floor(box.l / CELL)); x <= x1; x++) { sum += this.cells[y * this.w + x]; }
  }
  return sum;
};

/* The part of a segment that lies within the canvas, as two shares of its length (Liang and Barsky, 1984). */
function clip(x, y, dx, dy, width, height) {
  var from = 0, to = 1;
  var inside = [[-dx, x], [dx, width - x], [-dy, y], [dy, height - y]].every(function (edge) {
    if (!edge[0]) { return edge[1] >= 0; }
    var t = edge[1] / edge[0];
    if (edge[0] < 0) { from = Math.max(from, t); } else { to = Math.min(to, t); }
    return from <= to;
  });
  return inside ? [from, to] : null;
}

var GAP = 3;
/* The eight places round a mark, the most wanted first. */
function placesOf(mark, w, h) {
  var x = mark.x, y = mark.y, r = mark.rim, d = r * 0.72 + GAP;
  return [
    [x + r + GAP, y - h / 2], [x - r - GAP - w, y - h / 2], [x - w / 2, y - r - GAP - h + 2], [x - w / 2, y + r + GAP - 2],
    [x + d, y - d - h + 3], [x + d, y + d - 3], [x - d - w, y - d - h + 3], [x - d - w, y + d - 3]
  ].map(function (at) { return { l: at[0], t: at[1], r: at[0] + w, b: at[1] + h, owner: mark.key }; });
}

/* The cheapest free place for a label of some size, or null. ``ground``: dots, boxes, raster, view. */
function bestPlace(mark, w, h, ground, last, relaxed, mostCells) {
  var best = null;
  placesOf(mark, w, h).forEach(function (box, i) {
    if (box.l < ground.view.l || box.r > ground.view.r || box.t < ground.view.t || box.b > ground.view.b) { return; }
    /* A dot of another yard that is as near as its own would be read as its owner. */
    if (ground.dots.hit(box, relaxed ? 1 : i < 4 ? GAP + 0.5 : GAP + 2, mark.key) || ground.boxes.hit(box, 1.5)) { return; }
    var cells = ground.raster.under(box);
    if (cells > mostCells) { return; }
    var cost = 0.6 * i + 1.2 * cells - (i === last ? 2 : 0);
    if (!best || cost < best.cost) { best = { box: box, side: i, cost: cost }; }
  });
  return best;
}

/* Give each wanted label the first of its forms that finds a place. ``wanted`` stands in order of importance:
   {mark, forms: [{w, h, parts}], relaxed}. ``memory`` keeps the side of last time, so that labels do not jump. */
function placeLabels(wanted, ground, memory) {
  return wanted.map(function (label) {
    for (var i = 0; i < label.forms.length; i++) {
      var form = label.forms[i], place = bestPlace(label.mark, form.w, form.h, ground, memory[label.mark.key], false, 99)
        || (label.relaxed ? bestPlace(label.mark, form.w, form.h, ground, memory[label.mark.key], true, 99) : null);
      if (place) {
        ground.boxes.add(place.box);
        memory[label.mark.key] = place.side;
        return { mark: label.mark, box: place.box, form: form, longer: label.longer, cells: label.cells };
      }
    }
    return null;
  }).filter(Boolean);
}

/* Let placed numbers grow into number and name where that covers little of the lines. */
function growLabels(placed, ground, memory) {
  placed.forEach(function (label) {
    if (!label.longer) { return; }
    ground.boxes.remove(label.box);
    var place = bestPlace(label.mark, label.longer.w, label.longer.h, ground, memory[label.mark.key], false, label.cells);
    if (place) {
      label.box = place.box;
      label.form = label.longer;
      memory[label.mark.key] = place.side;
    }
    ground.boxes.add(label.box);
  });
}

/* One arrow for so many pixels of a leg, slid along it to a free place. */
function placeDarts(line, ground, every, least, keepOff) {
  var along = lengthsOf(line), total = along[along.length - 1], found = [];
  if (total < least) { return found; }
  var count = Math.max(1, Math.floor(total / every));
  for (var k = 0; k < count; k++) {
    /* Past the middle, so that the arrows of a way out and a way back do not meet. */
    var wish = total * (k + 0.56) / count;
    for (var s = 0; s < 14; s++) {
      var at = wish + (s % 2 ? 1 : -1) * Math.ceil(s / 2) * 8;
      if (at < keepOff || at > total - keepOff) { continue; }
      var dart = dartAt(line, along, at), box = dart && { l: dart.x - 7, t: dart.y - 7, r: dart.x + 7, b: dart.y + 7, owner: null };
      if (!dart || ground.dots.hit(box, 1) || ground.boxes.hit(box, 0)) { continue; }
      ground.boxes.add(box);
      found.push(dart);
      break;
    }
  }
  return found;
}
