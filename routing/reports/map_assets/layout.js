/* Keep every number readable: push markers apart, then find room for names. Boxes are {x, y, w, h}, centred. */
function spread(boxes) {
  boxes.forEach(function (b, i) {
    if (b.fixed) { return; }
    /* Markers of one place start on a spiral, so that they have a direction to be pushed in. */
    var turn = 2.399963 * i;
    b.x += 0.8 * Math.cos(turn);
    b.y += 0.8 * Math.sin(turn);
  });
  for (var round = 0; round < 120; round++) {
    if (!pushOnce(boxes)) { return; }
  }
}

function pushOnce(boxes) {
  var moved = false;
  boxes.sort(function (a, b) { return a.x - b.x || a.order - b.order; });
  var widest = Math.max.apply(null, boxes.map(function (b) { return b.w; }).concat([0]));
  for (var i = 0; i < boxes.length; i++) {
    for (var j = i + 1; j < boxes.length && boxes[j].x - boxes[i].x < (boxes[i].w + widest) / 2 + 3; j++) {
      moved = pushPair(boxes[i], boxes[j]) || moved;
    }
  }
  return moved;
}

function pushPair(a, b) {
  var dx = b.x - a.x, dy = b.y - a.y;
  var ox = (a.w + b.w) / 2 + 3 - Math.abs(dx), oy = (a.h + b.h) / 2 + 3 - Math.abs(dy);
  if (ox <= 0.2 || oy <= 0.2 || (a.fixed && b.fixed)) { return false; }
  var share = a.fixed || b.fixed ? 1 : 0.5, sideways = ox < oy;
  var by = (sideways ? ox * (dx < 0 ? -1 : 1) : oy * (dy < 0 ? -1 : 1)) * share;
  if (!a.fixed) { a[sideways ? "x" : "y"] -= by; }
  if (!b.fixed) { b[sideways ? "x" : "y"] += by; }
  return true;
}

/* Place each label where nothing stands yet; one that must be shown takes the least bad place. */
function placeLabels(boxes, labels, view) {
  var taken = boxes.map(edges);
  labels.sort(function (a, b) { return a.rank - b.rank || a.box.order - b.box.order; });
  labels.forEach(function (label) {
    var b = label.box, w = label.w, h = label.h, gx = b.w / 2 + 4, gy = b.h / 2 + 2, best = null;
    var options = [[gx, -h / 2], [-gx - w, -h / 2], [-w / 2, gy], [-w / 2, -gy - h],
      [gx - 6, gy - 4], [-gx - w + 6, gy - 4], [gx - 6, -gy - h + 4], [-gx - w + 6, -gy - h + 4]];
    for (var i = 0; i < options.length; i++) {
      var at = { l: b.x + options[i][0], t: b.y + options[i][1] };
      at.r = at.l + w;
      at.b = at.t + h;
      var cost = taken.reduce(function (sum, e) { return sum + overlap(at, e); }, w * h - overlap(at, view));
      if (!best || cost < best.cost - 1) { best = { cost: cost, at: at, by: options[i] }; }
      if (cost < 1) { break; }
    }
    label.by = best.cost < 1 || label.must ? best.by : null;
    if (label.by) { taken.push(best.at); }
    label.fallback = best.by;
  });
}

function edges(b) { return { l: b.x - b.w / 2, r: b.x + b.w / 2, t: b.y - b.h / 2, b: b.y + b.h / 2 }; }

function overlap(a, b) {
  var x = Math.min(a.r, b.r) - Math.max(a.l, b.l), y = Math.min(a.b, b.b) - Math.max(a.t, b.t);
  return x > 0 && y > 0 ? x * y : 0;
}
