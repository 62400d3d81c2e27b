/* Scale has its own control; this adds the north arrow and a graticule with labels. */
function northArrow(map) {
  var control = L.control({ position: "bottomright" });
  control.onAdd = function () {
    var box = node("div", "north");
    box.appendChild(document.getElementById("north-arrow").cloneNode(true)).removeAttribute("id");
    return box;
  };
  control.addTo(map);
}

function graticule(map, renderer) {
  var lines = L.layerGroup().addTo(map), labels = node("div", "");
  labels.setAttribute("aria-hidden", "true");
  map.getContainer().appendChild(labels);
  function draw() {
    lines.clearLayers();
    labels.textContent = "";
    var view = map.getBounds(), size = map.getSize();
    var step = gridStep(view.getEast() - view.getWest(), size.x / 130);
    each(view.getWest(), view.getEast(), step, function (lon) {
      line([[view.getSouth() - 1, lon], [view.getNorth() + 1, lon]]);
      tag(degrees(lon, step, "E", "W"), map.latLngToContainerPoint([view.getSouth(), lon]).x + 3, size.y - 17);
    });
    each(view.getSouth(), view.getNorth(), step, function (lat) {
      line([[lat, view.getWest() - 1], [lat, view.getEast() + 1]]);
      tag(degrees(lat, step, "N", "S"), 3, map.latLngToContainerPoint([lat, view.getWest()]).y - 16);
    });
  }
  function line(points) {
    L.polyline(points, { color: "#d8d4c6", weight: 1, interactive: false, renderer: renderer, noClip: true }).addTo(lines);
  }
  function tag(text, x, y) {
    var made = node("span", "grid-label", text);
    made.style.left = x + "px";
    made.style.top = y + "px";
    labels.appendChild(made);
  }
  map.on("moveend resize", draw);
  draw();
}

function gridStep(span, parts) {
  var steps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 45];
  for (var i = 0; i < steps.length; i++) { if (span / steps[i] <= Math.max(2, parts)) { return steps[i]; } }
  return 45;
}

function each(from, to, step, draw) {
  for (var n = Math.ceil(from / step); n * step <= to; n++) { draw(n * step); }
}

function degrees(value, step, plus, minus) {
  var digits = step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;
  return Math.abs(value).toFixed(digits) + "° " + (value < 0 ? minus : plus);
}
