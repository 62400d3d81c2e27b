/* Lines as flat arrays [x0, y0, x1, y1, ...]: in the world at zoom 0, then in pixels of the canvas. */

/* Coordinates come as whole steps of 1e-5 degree: the first point, then differences. */
function worldLine(map, flat) {
  var world = new Float64Array(flat.length), lat = 0, lon = 0;
  for (var i = 0; i < flat.length; i += 2) {
    lat += flat[i];
    lon += flat[i + 1];
    var p = map.options.crs.latLngToPoint(L.latLng(lat / 1e5, lon / 1e5), 0);
    world[i] = p.x;
    world[i + 1] = p.y;
  }
  return world;
}

/* The line in pixels; points nearer than half a pixel to the one before are left out. */
function pixelLine(world, view) {
  var points = [];
  for (var i = 0; i < world.length; i += 2) {
    var x = world[i] * view.scale - view.left, y = world[i + 1] * view.scale - view.top, n = points.length;
    if (n < 2 || i === world.length - 2 || Math.abs(x - points[n - 2]) + Math.abs(y - points[n - 1]) > 0.5) { points.push(x, y); }
  }
  return points;
}

/* The line moved to the right of its direction by some pixels (y grows downwards). */
function asideOf(points, px) {
  if (!px || points.length < 4) { return points; }
  var n = points.length / 2, normals = [], moved = [];
  for (var i = 1; i < n; i++) {
    var dx = points[2 * i] - points[2 * i - 2], dy = points[2 * i + 1] - points[2 * i - 1], d = Math.hypot(dx, dy) || 1;
    normals.push([-dy / d, dx / d]);
  }
  for (var k = 0; k < n; k++) {
    var a = normals[Math.max(0, k - 1)], b = normals[Math.min(normals.length - 1, k)];
    var mx = a[0] + b[0], my = a[1] + b[1], m = Math.hypot(mx, my);
    if (m < 0.3) { mx = b[0]; my = b[1]; m = 1; }
    /* At a sharp bend the true corner would run far out: at most twice the distance. */
    var reach = px * Math.min(2, 1 / Math.max(0.5, (a[0] * mx + a[1] * my) / m)) / m;
    moved.push(points[2 * k] + mx * reach, points[2 * k + 1] + my * reach);
  }
  return moved;
}

/* How far it is along the line to each of its points. */
function lengthsOf(points) {
  var along = [0];
  for (var i = 2; i < points.length; i += 2) {
    along.push(along[along.length - 1] + Math.hypot(points[i] - points[i - 2], points[i + 1] - points[i - 1]));
  }
  return along;
}

/* The point so far along a line, and the heading there. */
function pointAlong(points, along, at) {
  var i = 1;
  while (i < along.length - 1 && along[i] < at) { i++; }
  var d = along[i] - along[i - 1] || 1, t = (at - along[i - 1]) / d;
  var dx = points[2 * i] - points[2 * i - 2], dy = points[2 * i + 1] - points[2 * i - 1];
  return { x: points[2 * i - 2] + dx * t, y: points[2 * i - 1] + dy * t, heading: Math.atan2(dy, dx) };
}

/* Where an arrow could stand near a place of a line; null where the line bends too much to point anywhere. */
function dartAt(points, along, at) {
  var before = pointAlong(points, along, at - 8), here = pointAlong(points, along, at), after = pointAlong(points, along, at + 8);
  var chord = Math.atan2(after.y - before.y, after.x - before.x);
  function off(p) { return Math.abs(Math.atan2(Math.sin(p.heading - chord), Math.cos(p.heading - chord))); }
  return Math.max(off(before), off(here), off(after)) > 0.5 ? null : { x: here.x, y: here.y, heading: chord };
}

function tracePath(ctx, points) {
  ctx.moveTo(points[0], points[1]);
  for (var i = 2; i < points.length; i += 2) { ctx.lineTo(points[i], points[i + 1]); }
}
