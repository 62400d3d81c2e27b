/* Draw marks on a canvas: every one stands on its own place and is never moved. */
var SHAPES = {
  circle: function (c, x, y, r) { c.arc(x, y, r, 0, 7); },
  square: function (c, x, y, r) { c.rect(x - r * 0.88, y - r * 0.88, r * 1.76, r * 1.76); },
  triangle: function (c, x, y, r) { polygon(c, x, y + r * 0.18, r * 1.26, 3, -Math.PI / 2); },
  diamond: function (c, x, y, r) { polygon(c, x, y, r * 1.22, 4, 0); },
  wedge: function (c, x, y, r) { polygon(c, x, y - r * 0.18, r * 1.26, 3, Math.PI / 2); },
  cross: function (c, x, y, r) {
    var a = r * 0.42, b = r * 1.08;
    [[a, -b], [a, -a], [b, -a], [b, a], [a, a], [a, b], [-a, b], [-a, a], [-b, a], [-b, -a], [-a, -a], [-a, -b]]
      .forEach(function (p, i) { c[i ? "lineTo" : "moveTo"](x + p[0], y + p[1]); });
    c.closePath();
  }
};

function polygon(c, x, y, r, n, turn) {
  for (var i = 0; i < n; i++) {
    var a = turn + i * 2 * Math.PI / n;
    c[i ? "lineTo" : "moveTo"](x + r * Math.cos(a), y + r * Math.sin(a));
  }
  c.closePath();
}

/* A shape with a halo in the colour of the ground; ``hollow`` for every second load. */
function drawShape(c, shape, x, y, r, color, ground, hollow) {
  c.beginPath();
  SHAPES[shape](c, x, y, r);
  c.lineJoin = "round";
  c.lineWidth = 3.2;
  c.strokeStyle = ground;
  c.stroke();
  c.fillStyle = color;
  c.fill();
  if (!hollow) { return; }
  c.beginPath();
  SHAPES[shape](c, x, y, r * 0.5);
  c.fillStyle = ground;
  c.fill();
}

/* Starving: a ring. Quarantine: a square ring. Under watch: a dotted ring. Read without colour and without a label. */
function drawStatus(c, flag, x, y, r, look) {
  if (!flag) { return; }
  c.beginPath();
  if (flag === "Q") { c.rect(x - r - 4, y - r - 4, 2 * r + 8, 2 * r + 8); } else { c.arc(x, y, r + 4, 0, 7); }
  c.lineWidth = flag === "w" ? 1.6 : 2.2;
  c.strokeStyle = flag === "w" ? look.quiet : look.ink;
  c.setLineDash(flag === "w" ? [2, 2.4] : []);
  c.stroke();
  c.setLineDash([]);
}

/* The chosen stop stands on a lit disc. */
function drawChosen(c, x, y, r, look) {
  c.beginPath();
  c.arc(x, y, r, 0, 7);
  c.fillStyle = look.lit;
  c.fill();
  c.lineWidth = 1.5;
  c.strokeStyle = look.ink;
  c.stroke();
}

function drawHouse(c, x, y, r, look, quiet) {
  c.beginPath();
  [[0, -1.15], [1.1, -0.25], [0.72, 1], [-0.72, 1], [-1.1, -0.25]].forEach(function (p, i) { c[i ? "lineTo" : "moveTo"](x + p[0] * r, y + p[1] * r); });
  c.closePath();
  c.lineJoin = "round";
  c.lineWidth = 3.2;
  c.strokeStyle = look.ground;
  c.stroke();
  c.fillStyle = quiet ? look.other : look.ink;
  c.fill();
}

function drawSaltire(c, x, y, r, look) {
  [[4.6, look.ground], [2, look.ink]].forEach(function (pen) {
    c.beginPath();
    c.moveTo(x - r, y - r);
    c.lineTo(x + r, y + r);
    c.moveTo(x + r, y - r);
    c.lineTo(x - r, y + r);
    c.lineWidth = pen[0];
    c.strokeStyle = pen[1];
    c.stroke();
  });
}

function drawHollow(c, x, y, r, color, ground) {
  c.beginPath();
  c.arc(x, y, r, 0, 7);
  c.fillStyle = ground;
  c.fill();
  c.lineWidth = 1.4;
  c.strokeStyle = color;
  c.stroke();
}

function drawDart(c, dart, size, color, ground) {
  c.save();
  c.translate(dart.x, dart.y);
  c.rotate(dart.heading);
  c.beginPath();
  [[1.25, 0], [-0.95, 0.82], [-0.45, 0], [-0.95, -0.82]].forEach(function (p, i) { c[i ? "lineTo" : "moveTo"](p[0] * size, p[1] * size); });
  c.closePath();
  c.lineJoin = "round";
  c.lineWidth = 3;
  c.strokeStyle = ground;
  c.stroke();
  c.fillStyle = color;
  c.fill();
  c.restore();
}

/* The sign of a status in a label: ! on a disc, Q on a box, w in a frame. Returns its width. */
function drawGlyph(c, flag, x, y, look) {
  var w = 12.5;
  c.beginPath();
  if (flag === "!") { c.arc(x + w / 2, y, w / 2, 0, 7); } else { c.rect(x, y - w / 2, w, w); }
  c.lineWidth = 2.4;
  c.strokeStyle = look.ground;
  c.stroke();
  c.fillStyle = flag === "w" ? look.ground : look.ink;
  c.fill();
  if (flag === "w") {
    c.lineWidth = 1.3;
    c.strokeStyle = look.ink;
    c.stroke();
  }
  c.fillStyle = flag === "w" ? look.ink : look.ground;
  c.font = "800 10px " + FONT;
  c.textAlign = "center";
  c.fillText(flag, x + w / 2, y + 0.5);
  c.textAlign = "left";
  return w;
}
