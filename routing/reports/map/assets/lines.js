/* Draw one leg of a truck: beside another leg on the same road, with arrows, hollow on even trips. */
var RouteLine = L.Polyline.extend({
  options: { interactive: false, smoothFactor: 1, lane: 0, hollow: false },

  _projectLatlngs: function (latlngs, result, bounds) {
    L.Polyline.prototype._projectLatlngs.call(this, latlngs, result, bounds);
    var lane = this.options.lane;
    if (lane) { result[result.length - 1] = asideOf(result[result.length - 1], 3.5 + 7 * (lane - 1)); }
  },

  _updatePath: function () {
    var renderer = this._renderer;
    if (!renderer._drawing || !this._parts.length) { return; }
    var ctx = renderer._ctx, o = this.options, parts = this._parts;
    ctx.save();
    ctx.lineJoin = "round";
    ctx.lineCap = "butt";
    this._drawParts(ctx, parts, o);
    ctx.restore();
  },

  _drawParts: function (ctx, parts, o) {
    stroke(ctx, parts, "#fff", o.weight + 3, []);
    stroke(ctx, parts, o.color, o.weight, o.dash);
    if (o.hollow) { stroke(ctx, parts, "#fff", o.weight * 0.38, []); }
  }
});

/* The arrows of a leg, a layer of their own: added after all lines, so that no line hides them. */
var RouteArrows = RouteLine.extend({
  _drawParts: function (ctx, parts, o) { arrows(ctx, parts, o.color); }
});

function stroke(ctx, parts, color, width, dash) {
  ctx.beginPath();
  parts.forEach(function (points) {
    points.forEach(function (p, i) { ctx[i ? "lineTo" : "moveTo"](p.x, p.y); });
  });
  ctx.setLineDash(dash);
  ctx.strokeStyle = color;
  ctx.lineWidth = width;
  ctx.stroke();
}

/* A line moved to the right of its direction by some pixels (screen y grows downwards). */
function asideOf(points, px) {
  var clean = points.filter(function (p, i) { return !i || p.distanceTo(points[i - 1]) > 0.5; });
  if (clean.length < 2) { return points; }
  var normals = clean.slice(1).map(function (p, i) {
    var dx = p.x - clean[i].x, dy = p.y - clean[i].y, n = Math.hypot(dx, dy);
    return { x: -dy / n, y: dx / n };
  });
  return clean.map(function (p, i) {
    var a = normals[Math.max(0, i - 1)], b = normals[Math.min(normals.length - 1, i)];
    var mx = a.x + b.x, my = a.y + b.y, m = Math.hypot(mx, my);
    if (m < 0.3) { mx = b.x; my = b.y; m = 1; }
    /* At a sharp bend the true corner would run far out: at most twice the distance. */
    var reach = Math.min(2, 1 / Math.max(0.5, (a.x * mx + a.y * my) / m));
    return L.point(p.x + px * reach * mx / m, p.y + px * reach * my / m);
  });
}

function arrows(ctx, parts, color) {
  parts.forEach(function (points) {
    var total = 0;
    for (var i = 1; i < points.length; i++) { total += points[i].distanceTo(points[i - 1]); }
    if (total < 44) { return; }
    /* Past the middle, so that the arrows of a way out and a way back do not meet. */
    var count = Math.max(1, Math.floor(total / 170));
    for (var k = 0; k < count; k++) { arrowAt(ctx, points, total * (k + 0.6) / count, color); }
  });
}

function arrowAt(ctx, points, along, color) {
  for (var i = 1; i < points.length; i++) {
    var a = points[i - 1], b = points[i], d = a.distanceTo(b);
    if (along > d) { along -= d; continue; }
    var ux = (b.x - a.x) / d, uy = (b.y - a.y) / d, x = a.x + ux * along, y = a.y + uy * along;
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.moveTo(x + ux * 10, y + uy * 10);
    ctx.lineTo(x - ux * 6 - uy * 8, y - uy * 6 + ux * 8);
    ctx.lineTo(x - ux * 6 + uy * 8, y - uy * 6 - ux * 8);
    ctx.closePath();
    ctx.fillStyle = color;
    ctx.strokeStyle = "#fff";
    ctx.lineWidth = 2;
    ctx.stroke();
    ctx.fill();
    return;
  }
}

/* Coordinates come as whole steps of 1e-5 degree: the first point, then differences. */
function unpacked(flat) {
  var points = [], lat = 0, lon = 0;
  for (var i = 0; i < flat.length; i += 2) {
    lat += flat[i];
    lon += flat[i + 1];
    points.push([lat / 1e5, lon / 1e5]);
  }
  return points;
}
