/* Keep every number readable: push markers apart, then find room for names. Boxes are {x, y, w, h}, centred. */
function spread(boxes, view) {
  boxes.forEach(function (b) { b.seen = b.yields && overlap(view, { l: b.x, r: b.x + 1, t: b.y, b: b.y + 1 }) > 0; });
  boxes.forEach(function (b, i) {
    if (!b.yields) { return; }
    /* Markers of one place start on a spiral, so that they have a direction to be pushed in. */
    var turn = 2.399963 * i;
    b.x += 0.8 * Math.cos(turn);
    b.y += 0.8 * Math.sin(turn);
  });
  for (var round = 0; round < 160; round++) {
    /* The short way first; what is still wedged after that is pushed straight apart. */
    var moved = pushOnce(boxes, round % 80 > 40);
    boxes.forEach(function (b) { if (b.seen) { hold(b, view); } });
    if (!moved) { return; }
  }
}

/* What lies in view is not pushed out of it. */
function hold(b, view) {
  b.x = Math.max(view.l + b.w / 2 + 3, Math.min(view.r - b.w / 2 - 3, b.x));
  b.y = Math.max(view.t + b.h / 2 + 3, Math.min(view.b - b.h / 2 - 3, b.y));
}

function pushOnce(boxes, straight) {
  var moved = false;
  boxes.sort(function (a, b) { return a.x - b.x || a.order - b.order; });
  var widest = Math.max.apply(null, boxes.map(function (b) { return b.w; }).concat([0]));
  for (var i = 0; i < boxes.length; i++) {
    for (var j = i + 1; j < boxes.length && boxes[j].x - boxes[i].x < (boxes[i].w + widest) / 2 + 3; j++) {
      moved = pushPair(boxes[i], boxes[j], straight) || moved;
    }
  }
  return moved;
}

/* A box yields by its ``yields``: 0 stands, 1 moves, and a box of 2 makes way for one of 1. */
function pushPair(a, b, straight) {
  var dx = b.x - a.x, dy = b.y - a.y;
  var ox = (a.w + b.w) / 2 + 3 - Math.abs(dx), oy = (a.h + b.h) / 2 + 3 - Math.abs(dy);
  if (ox <= 0.2 || oy <= 0.2 || !(a.yields + b.yields)) { return false; }
  var share = a.yields === b.yields ? 0.5 : a.yields > b.yields ? 1 : 0;
  var way = straight ? Math.min(ox / Math.max(Math.abs(dx), 1), oy / Math.max(Math.abs(dy), 1), 1) : 0;
  var px = straight ? dx * way : ox < oy ? ox * (dx < 0 ? -1 : 1) : 0;
  var py = straight ? dy * way : ox < oy ? 0 : oy * (dy < 0 ? -1 : 1);
  a.x -= px * share;
  a.y -= py * share;
  b.x += px * (1 - share);
  b.y += py * (1 - share);
  return true;
}

/* Place each name where nothing stands yet and all of it is in view; one without such a place is left out. */
function placeLabels(boxes, labels, view) {
  var taken = boxes.map(edges);
  labels.sort(function (a, b) { return a.rank - b.rank || a.box.order - b.box.order; });
  labels.forEach(function (label) {
    var b = label.box, w = label.w, h = label.h, gx = b.w / 2 + 4, gy = b.h / 2 + 2;
    var options = [[gx, -h / 2], [-gx - w, -h / 2], [-w / 2, gy], [-w / 2, -gy - h],
      [gx - 6, gy - 4], [-gx - w + 6, gy - 4], [gx - 6, -gy - h + 4], [-gx - w + 6, -gy - h + 4]];
    label.by = options.find(function (option) {
      var at = { l: b.x + option[0], t: b.y + option[1], r: b.x + option[0] + w, b: b.y + option[1] + h };
      var free = overlap(at, view) > w * h - 1 && !taken.some(function (e) { return overlap(at, e) > 1; });
      if (free) { taken.push(at); }
      return free;
    }) || null;
    label.fallback = options[0];
  });
}

function edges(b) { return { l: b.x - b.w / 2, r: b.x + b.w / 2, t: b.y - b.h / 2, b: b.y + b.h / 2 }; }

function overlap(a, b) {
  var x = Math.min(a.r, b.r) - Math.max(a.l, b.l), y = Math.min(a.b, b.b) - Math.max(a.t, b.t);
  return x > 0 && y > 0 ? x * y : 0;
}
