/* Put the day on the map, and keep map and panel showing the same stop. */
(function () {
  var data = JSON.parse(document.getElementById("day-data").textContent);
  var map = window.map_day;
  var still = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  map.createPane("ground").style.zIndex = 350;
  var ground = L.canvas({ pane: "ground", padding: 0.3 }), canvas = L.canvas({ padding: 0.3 });
  var leaders = L.layerGroup().addTo(map), moved = false;
  var arrowsLater = [], pieces = [], byKey = {}, chosen = null, wholeZoom = 0, bounds = L.latLngBounds([]);
  var arranged = [], MOST_PLATES = 8, MOST_TAGS = 8, BADGE_PX = 950, CROWD = 0.22;

  map.getContainer().setAttribute("role", "application");
  map.getContainer().setAttribute("aria-label", "Map of the day: arrow keys move it, plus and minus zoom");
  graticule(map, ground);
  northArrow(map);
  tileSwitch(map, data.tiles);
  data.roads.forEach(function (road) {
    var look = [{ color: "#a39d8b", weight: 3 }, { color: "#b9b4a4", weight: 1.5 },
      { color: "#b9b4a4", weight: 1, dashArray: "4 3" }][road.rank];
    L.polyline(unpacked(road.line), L.extend({ interactive: false, renderer: ground }, look)).addTo(map);
  });
  data.trucks.forEach(addTruck);
  arrowsLater.forEach(function (pair) { pair[0].addTo(pair[1]); });
  data.depots.forEach(function (depot) { keep(depotPiece(depot), map); });
  data.left.forEach(function (yard) { keep(leftPiece(yard), map); });

  function keep(piece, layer, truck) {
    piece.order = pieces.length;
    piece.layer = layer;
    piece.truck = truck;
    piece.marker.addTo(layer);
    pieces.push(piece);
    bounds.extend(piece.anchor);
    (piece.keys || []).forEach(function (key) { byKey[key] = piece; });
    if (piece.keys) {
      piece.marker.on("click keypress", function (e) {
        var key = e.originalEvent && e.originalEvent.key;
        if (e.type === "click" || key === "Enter" || key === " ") { choose(nextOf(piece.keys), "map"); }
      });
    }
  }

  /* A plate stands for several halts at one depot: choosing it again shows the next of them. */
  function nextOf(keys) { return keys[(keys.indexOf(chosen) + 1) % keys.length]; }

  function addTruck(truck, i) {
    var layer = window["feature_group_truck_" + i], named = {};
    var trips = Math.max.apply(null, truck.legs.map(function (leg) { return leg.trip; }).concat([1]));
    truck.legs.forEach(function (leg) {
      var even = leg.trip % 2 === 0;
      var look = { renderer: canvas, color: truck.color, dash: truck.dash, lane: leg.lane, weight: even ? 7 : 5, hollow: even };
      new RouteLine(unpacked(leg.line), look).addTo(layer);
      arrowsLater.push([new RouteArrows(unpacked(leg.line), look), layer]);
    });
    if (trips > 1) { tripTags(truck, layer); }
    truck.stops.filter(function (stop) { return stop.kind === "yard"; }).forEach(function (stop) {
      var place = stop.lat + " " + stop.lon;
      keep(stopPiece(truck, stop, named[place]), layer, i);
      named[place] = true;
    });
    platesOf(truck).forEach(function (stops) { keep(platePiece(truck, stops), layer, i); });
  }

  function platesOf(truck) {
    var byPlace = {};
    truck.stops.forEach(function (stop) {
      var place = stop.lat + " " + stop.lon;
      if (stop.kind !== "yard") { (byPlace[place] = byPlace[place] || []).push(stop); }
    });
    return Object.values(byPlace);
  }

  /* The number of a trip, in words, in the middle of its longest leg. */
  function tripTags(truck, layer) {
    var longest = {};
    truck.legs.forEach(function (leg) {
      var points = unpacked(leg.line), span = map.distance(points[0], points[points.length - 1]);
      if (!longest[leg.trip] || span > longest[leg.trip].span) { longest[leg.trip] = { span: span, points: points }; }
    });
    Object.keys(longest).forEach(function (trip) {
      var points = longest[trip].points, half = Math.floor((points.length - 1) / 2), a = points[half], b = points[half + 1];
      var tag = placed([a[0] * 0.62 + b[0] * 0.38, a[1] * 0.62 + b[1] * 0.38], node("span", "trip-tag", truck.letter + " trip " + trip), null, "");
      tag.order = pieces.length;
      tag.layer = layer;
      tag.marker.addTo(layer);
      tag.tag = true;
      pieces.push(tag);
    });
  }

  function shown(piece) { return piece.layer === map || map.hasLayer(piece.layer); }

  function boxOf(piece) {
    var crowd = map.getContainer().classList.contains("many"), size = piece.sizes && piece.sizes[crowd];
    if (!size) {
      size = { w: piece.sign.offsetWidth || 20, h: piece.sign.offsetHeight || 20 };
      (piece.sizes = piece.sizes || {})[crowd] = size;
    }
    var p = map.latLngToLayerPoint(piece.anchor);
    var box = { x: p.x, y: p.y, w: size.w, h: size.h, yields: piece.tag ? 2 : 1, order: piece.order, piece: piece, home: p };
    if (piece.depot) {
      /* The house stands on the place itself; its name goes to the side that is in view. */
      var back = map.layerPointToContainerPoint(p).x + size.w > map.getSize().x;
      piece.sign.classList.toggle("back", back);
      box.x += (size.w - piece.sign.firstChild.getBoundingClientRect().width) / 2 * (back ? -1 : 1);
      box.yields = 0;
    }
    return box;
  }

  /* Where more trucks halt at one depot than can be told apart, their plates wait until some are switched off. */
  function thinOut(list) {
    var plates = {}, tags = list.filter(function (piece) { return piece.tag; }).length;
    list.forEach(function (piece) {
      if (piece.plate) { (plates[piece.plate] = plates[piece.plate] || []).push(piece); }
    });
    return list.filter(function (piece) {
      var hide = piece.tag ? tags > MOST_TAGS || map.getSize().x < 500
        : Boolean(piece.plate) && plates[piece.plate].length > MOST_PLATES;
      var icon = piece.marker.getElement();
      if (icon) { icon.style.display = hide ? "none" : ""; }
      return !hide;
    });
  }

  /* The number of a trip that had to be pushed off its line would mislead: it is left out. */
  function onItsLine(b) {
    var off = b.piece.tag && Math.hypot(b.x - b.home.x, b.y - b.home.y) > 22;
    if (off) { b.piece.marker.getElement().style.display = "none"; }
    return !off;
  }

  function crowded(list) {
    var size = map.getSize(), view = map.getBounds();
    var inView = list.filter(function (piece) { return view.contains(piece.anchor); });
    return inView.length * BADGE_PX > CROWD * size.x * size.y;
  }

  function arrange() {
    var list = pieces.filter(shown);
    map.getContainer().classList.toggle("many", crowded(list));
    var boxes = thinOut(list).map(boxOf);
    spread(boxes, viewBox());
    boxes = boxes.filter(onItsLine);
    boxes.forEach(function (b) {
      b.piece.marker.setLatLng(b.piece.depot ? b.piece.anchor : map.layerPointToLatLng([b.x, b.y]));
      b.piece.sign.style.position = "absolute";
      b.piece.sign.style.left = (b.piece.depot ? b.x - b.home.x : 0) - b.w / 2 + "px";
      b.piece.sign.style.top = -b.h / 2 + "px";
    });
    leaders.clearLayers();
    boxes.forEach(leader);
    arranged = boxes;
    arrangeLabels();
  }

  function arrangeLabels() {
    var labels = arranged.filter(function (b) { return b.piece.label; }).map(function (b) {
      var piece = b.piece;
      if (!piece.labelSize) {
        piece.label.classList.add("shown");
        piece.labelSize = { w: piece.label.offsetWidth, h: piece.label.offsetHeight };
      }
      return { box: b, w: piece.labelSize.w, h: piece.labelSize.h, rank: piece.rank, piece: piece };
    });
    placeLabels(arranged.concat(controlBoxes()), labels, viewBox());
    labels.forEach(function (label) {
      var by = label.by || label.fallback;
      label.piece.label.classList.toggle("shown", Boolean(label.by));
      label.piece.label.style.left = by[0] + "px";
      label.piece.label.style.top = by[1] + "px";
    });
  }

  function viewBox() {
    var corner = map.containerPointToLayerPoint([0, 0]), size = map.getSize();
    return { l: corner.x, t: corner.y, r: corner.x + size.x, b: corner.y + size.y };
  }

  /* What the buttons, the scale and the arrow cover, so that no name is put under them. */
  function controlBoxes() {
    var frame = map.getContainer().getBoundingClientRect();
    return Array.from(map.getContainer().querySelectorAll(".leaflet-control"), function (control) {
      var r = control.getBoundingClientRect();
      var middle = map.containerPointToLayerPoint([(r.left + r.right) / 2 - frame.left, (r.top + r.bottom) / 2 - frame.top]);
      return { x: middle.x, y: middle.y, w: r.width, h: r.height };
    });
  }

  /* A thin line from a number that was moved aside to the dot at its true place. */
  function leader(b) {
    var away = Math.hypot(b.x - b.home.x, b.y - b.home.y);
    if (!b.yields || b.piece.tag || away < 9) { return; }
    L.polyline([b.piece.anchor, b.piece.marker.getLatLng()], { color: "#111", weight: 1, interactive: false, renderer: canvas }).addTo(leaders);
    L.circleMarker(b.piece.anchor, { radius: 4, color: "#fff", weight: 1, fillColor: "#111", fillOpacity: 1, interactive: false, renderer: canvas }).addTo(leaders);
  }

  /* Room is left for half a marker at every edge, for the buttons top left and the arrow bottom right. */
  function fit() {
    var narrow = map.getSize().x < 500;
    map.fitBounds(bounds, {
      paddingTopLeft: narrow ? [58, 26] : [70, 34], paddingBottomRight: narrow ? [36, 66] : [60, 64], maxZoom: 14, animate: false
    });
    wholeZoom = map.getZoom();
  }

  function choose(key, from) {
    mark(chosen, false);
    chosen = key;
    mark(key, true);
    var piece = byKey[key], row = document.getElementById("row-" + key);
    if (piece && !shown(piece)) { switchTruck(piece.truck, true); }
    if (from === "panel") { moved = true; }
    if (piece && from !== "map") { lookAt(piece); }
    if (row && from !== "panel") { row.scrollIntoView({ block: "nearest", behavior: still ? "auto" : "smooth" }); }
    var words = row && Array.from(row.querySelector("button").children, function (part) { return part.textContent; }).join(", ");
    document.getElementById("said").textContent = words ? "Chosen: " + words : "";
  }

  /* Among many stops a number stands away from its place: then the map goes nearer. */
  function lookAt(piece) {
    var crowd = map.getContainer().classList.contains("many"), near = Math.min(wholeZoom + 2, 14);
    if (crowd && map.getZoom() < near) { map.setView(piece.anchor, near, { animate: !still }); return; }
    map.panInside(piece.marker.getLatLng(), { padding: [90, 60], animate: !still });
  }

  function mark(key, on) {
    if (key === null) { return; }
    var piece = byKey[key], row = document.getElementById("row-" + key);
    if (row) {
      row.classList.toggle("on", on);
      row.querySelector("button").setAttribute("aria-pressed", String(on));
    }
    if (piece) {
      var icon = piece.marker.getElement();
      if (icon) { icon.classList.toggle("on", on); }
      piece.marker.setZIndexOffset(on ? 5000 : 0);
    }
  }

  function switchTruck(i, on) {
    var layer = window["feature_group_truck_" + i], box = document.querySelector('input[data-truck="' + i + '"]');
    if (on) { layer.addTo(map); } else { map.removeLayer(layer); }
    box.checked = on;
    arrange();
    mark(chosen, true);
  }

  document.querySelectorAll("li.row[data-key]").forEach(function (row) {
    row.addEventListener("click", function () { choose(row.querySelector("button").dataset.key, "panel"); });
  });
  document.querySelectorAll("input[data-truck]").forEach(function (box) {
    box.addEventListener("change", function () { switchTruck(Number(box.dataset.truck), box.checked); });
  });
  document.getElementById("whole-day").addEventListener("click", function () { moved = false; fit(); });
  document.addEventListener("keydown", function (e) {
    if (e.key === "Escape") { mark(chosen, false); chosen = null; }
  });
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("details.cautions").forEach(function (d) { d.open = true; });
    var box = map.getContainer();
    box.style.width = "700px";
    box.style.height = "600px";
    box.style.flex = "none";
    map.invalidateSize({ animate: false });
    fit();
  });
  window.addEventListener("afterprint", function () {
    map.getContainer().style.cssText = "";
    map.invalidateSize({ animate: false });
    fit();
  });
  /* Until the reader moves the map, the whole day stays in view, also when a phone is turned. */
  ["mousedown", "touchstart", "wheel", "keydown"].forEach(function (kind) {
    map.getContainer().addEventListener(kind, function () { moved = true; }, { passive: true });
  });
  map.on("resize", function () { if (!moved) { fit(); } });
  map.on("zoomend", arrange);
  map.on("moveend", function () { if (arranged.length < 200) { arrangeLabels(); } });
  fit();
  arrange();
  if (/^#row-/.test(location.hash)) { choose(location.hash.slice(5), "link"); }
  document.documentElement.dataset.ready = "yes";
}());
