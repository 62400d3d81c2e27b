/* One truck, one stop at a time: keep map, list and keyboard showing the same. */
(function () {
  var data = JSON.parse(document.getElementById("day-data").textContent), map = window.map_day;
  var still = window.matchMedia("(prefers-reduced-motion: reduce)").matches, darkness = window.matchMedia("(prefers-color-scheme: dark)");
  var root = document.documentElement, box = map.getContainer(), ring = document.getElementById("focus-ring"), tip = document.getElementById("tip");
  var state = { truck: null, key: null, theme: function () { return printing ? "light" : root.dataset.theme || (darkness.matches ? "dark" : "light"); } };
  var printing = false, moved = false, byKeyboard = false;

  ["doubleClickZoom", "touchZoom", "scrollWheelZoom", "dragging"].forEach(function (way) { if (map[way]) { map[way].enable(); } });
  box.setAttribute("role", "application");
  box.setAttribute("aria-label", "Map of the day. Right and left arrow: next stop and the one before. Enter: open the stop. "
    + "Plus and minus zoom, Shift with arrows moves the map, 0 shows all, Escape lets go.");
  box.tabIndex = 0;
  map.setView([0, 0], 3, { animate: false });
  var scene = new DayScene(data, state).addTo(map);
  tileSwitch(map, data.tiles);

  function redraw() { scene.draw(); place(); }

  function fit(truck) {
    var narrow = map.getSize().x < 500, bounds = scene.bounds(truck === undefined ? state.truck : truck);
    if (!bounds.isValid()) { return; }
    map.fitBounds(bounds, { paddingTopLeft: narrow ? [26, 24] : [70, 34], paddingBottomRight: narrow ? [26, 58] : [90, 60], maxZoom: 14, animate: false });
  }

  function all(selector) { return Array.from(document.querySelectorAll(selector)); }
  function rowOf(key) { return document.getElementById("row-" + key); }
  function say(words) { document.getElementById("said").textContent = words; }

  /* ---- one truck ---- */
  function chooseTruck(truck, keepView) {
    if (state.truck === truck) { return; }
    state.truck = truck;
    if (truck === null) { state.key = null; }
    all("details.truck[data-truck]").forEach(function (d) {
      var on = Number(d.dataset.truck) === truck;
      d.classList.toggle("chosen", on);
      if (d.open !== on) { d.open = on; }
    });
    document.body.classList.toggle("one-truck", truck !== null);
    if (!keepView) { moved = false; fit(); }
    redraw();
    say(truck === null ? "All trucks" : "Truck " + data.trucks[truck].letter + " alone. Escape shows all.");
  }

  all("details.truck[data-truck]").forEach(function (d) {
    d.querySelector("summary").addEventListener("click", function (e) {
      e.preventDefault();
      var truck = Number(d.dataset.truck);
      chooseTruck(state.truck === truck ? null : truck);
    });
  });

  /* ---- one stop ---- */
  function chooseStop(key, from) {
    var before = state.key && rowOf(state.key), row = key && rowOf(key);
    if (before) { before.classList.remove("on"); }
    state.key = key;
    if (!key) { redraw(); return; }
    var mark = scene.markOf(key);
    if (mark && mark.truck !== undefined && state.truck !== null && state.truck !== mark.truck) { chooseTruck(mark.truck, true); }
    if (mark && mark.truck !== undefined && from !== "map" && from !== "keys") { chooseTruck(mark.truck); }
    state.key = key;
    if (row) {
      row.classList.add("on");
      for (var up = row.parentElement; up; up = up.parentElement) { if (up.tagName === "DETAILS") { up.open = true; } }
      if (from !== "list") { row.scrollIntoView({ block: "nearest", behavior: still || from === "keys" ? "auto" : "smooth" }); }
      say(row.dataset.say);
    }
    if (mark && from !== "map") { moved = true; map.panInside([mark.lat, mark.lon], { padding: [90, 60], animate: false }); }
    redraw();
  }

  all("[data-key] > summary, button[data-shows]").forEach(function (summary) {
    summary.addEventListener("click", function () { chooseStop(summary.dataset.shows || summary.parentElement.dataset.key, "list"); });
  });
  all("details[data-key]").forEach(function (d) {
    d.addEventListener("toggle", function () { if (!d.open && state.key === d.dataset.key) { chooseStop(null); d.classList.remove("on"); } });
  });

  function keysInTurn() {
    return data.trucks.reduce(function (keys, truck, i) {
      return keys.concat(state.truck === null || state.truck === i ? truck.stops.filter(function (s) { return s.kind === "yard" || s.kind === "here"; }).map(function (s) { return s.key; }) : []);
    }, []).concat(state.truck === null ? data.left.map(function (y) { return y.key; }) : []);
  }

  function step(by) {
    var keys = keysInTurn(), at = keys.indexOf(state.key);
    if (!keys.length) { return; }
    chooseStop(keys[at < 0 ? (by > 0 ? 0 : keys.length - 1) : (at + by + keys.length) % keys.length], "keys");
  }

  /* ---- the keyboard ---- */
  box.addEventListener("keydown", function (e) {
    var pan = { ArrowLeft: [-90, 0], ArrowRight: [90, 0], ArrowUp: [0, -90], ArrowDown: [0, 90] }[e.key];
    if (e.ctrlKey || e.metaKey || e.altKey) { return; }
    if (pan && e.shiftKey) { moved = true; map.panBy(pan, { animate: false }); }
    else if (pan) { step(e.key === "ArrowRight" || e.key === "ArrowDown" ? 1 : -1); }
    else if (e.key === "Home" || e.key === "End") { state.key = null; step(e.key === "Home" ? 1 : -1); }
    else if (e.key === "+" || e.key === "=") { zoom(1); }
    else if (e.key === "-") { zoom(-1); }
    else if (e.key === "0") { fit(); }
    else if (e.key === "Enter" && state.key) { open(state.key); }
    else { return; }
    e.preventDefault();
    e.stopPropagation();
  });
  function open(key) {
    var row = rowOf(key);
    if (!row) { return; }
    document.body.classList.remove("no-list");
    if (row.tagName === "DETAILS") { row.open = true; row.firstElementChild.focus(); }
    row.scrollIntoView({ block: "start" });
  }
  document.addEventListener("keydown", function (e) {
    if (e.key !== "Escape") { return; }
    var drop = document.querySelector("details.drop[open]");
    if (drop) { drop.open = false; drop.firstElementChild.focus(); return; }
    if (state.key) { if (rowOf(state.key)) { rowOf(state.key).classList.remove("on"); } chooseStop(null); } else { chooseTruck(null); }
  });
  box.addEventListener("focus", function () { byKeyboard = box.matches(":focus-visible"); if (byKeyboard && !state.key) { step(1); } place(); });
  box.addEventListener("blur", function () { byKeyboard = false; place(); });

  /* The ring round the stop that the keyboard stands on. */
  function place() {
    var mark = state.key && scene.markOf(state.key), on = Boolean(mark && byKeyboard && document.activeElement === box);
    ring.hidden = !on;
    if (!mark) { return; }
    var p = map.latLngToContainerPoint([mark.lat, mark.lon]);
    ring.style.transform = "translate(" + (p.x - 18) + "px," + (p.y - 18) + "px)";
  }
  map.on("move zoom", place);

  /* ---- pointer ---- */
  map.on("click", function (e) {
    byKeyboard = false;
    var mark = scene.nearest(e.containerPoint);
    if (!mark) { hideTip(); return; }
    if (mark.depot) { showTip(mark); return; }
    var keys = mark.keys || [mark.key];
    chooseStop(keys[(keys.indexOf(state.key) + 1) % keys.length], "map");
    showTip(mark);
  });
  map.on("mousemove", function (e) {
    var mark = scene.nearest(e.containerPoint);
    box.style.cursor = mark ? "pointer" : "";
    if (mark) { showTip(mark); } else { hideTip(); }
  });
  map.on("mouseout movestart", hideTip);
  function hideTip() { tip.hidden = true; }
  function showTip(mark) {
    var words = mark.stop ? mark.stop.say : (mark.yard || mark.depot).say, size = map.getSize(), p = map.latLngToContainerPoint([mark.lat, mark.lon]);
    if (!words) { return; }
    tip.textContent = words;
    tip.hidden = false;
    var w = tip.offsetWidth, h = tip.offsetHeight;
    tip.style.left = Math.max(4, Math.min(size.x - w - 4, p.x - w / 2)) + "px";
    tip.style.top = (p.y - h - 18 > 0 ? p.y - h - 16 : p.y + 16) + "px";
  }

  /* ---- list, search, buttons ---- */
  var search = document.getElementById("search");
  if (search) {
    search.addEventListener("input", function () {
      var wanted = search.value.trim().toLowerCase(), found = 0;
      all("#list details.truck").forEach(function (truck) {
        var own = truck.dataset.find.indexOf(wanted) >= 0, inside = 0;
        truck.querySelectorAll("[data-find].stop").forEach(function (stop) {
          var fits = !wanted || own || stop.dataset.find.indexOf(wanted) >= 0;
          stop.hidden = !fits;
          inside += fits && wanted && !own ? 1 : 0;
        });
        truck.hidden = Boolean(wanted) && !own && !inside;
        truck.open = wanted ? inside > 0 : Number(truck.dataset.truck) === state.truck && state.truck !== null;
        found += inside;
      });
      say(wanted ? found + " stops found" : "");
    });
  }
  function press(id, act) { var button = document.getElementById(id); if (button) { button.addEventListener("click", act); } }
  function zoom(by) { moved = true; map.setZoom(map.getZoom() + by * 0.75, { animate: !still }); }
  press("zoom-in", function () { zoom(1); });
  press("zoom-out", function () { zoom(-1); });
  press("show-all", function () { moved = false; if (state.truck !== null) { chooseTruck(null); } else { fit(); } });
  press("toggle-list", function () {
    var off = document.body.classList.toggle("no-list");
    this.setAttribute("aria-expanded", String(!off));
    map.invalidateSize({ animate: false });
  });
  press("theme", function () { root.dataset.theme = state.theme() === "dark" ? "light" : "dark"; redraw(); });
  darkness.addEventListener("change", redraw);
  document.addEventListener("click", function (e) {
    all("details.drop[open]").forEach(function (d) { if (!d.contains(e.target)) { d.open = false; } });
  });

  /* ---- paper: the map is drawn anew, black on white and sharp, into a canvas of its own ---- */
  window.addEventListener("beforeprint", function () {
    var centre = map.getCenter(), zoom = map.getZoom(), sharp = 3, paper = document.getElementById("paper-map");
    printing = true;
    scene.dpr = sharp;
    box.style.cssText = "position:fixed;left:0;top:0;width:720px;height:780px;flex:none";
    map.invalidateSize({ animate: false });
    fit();
    scene.draw();
    paper.width = 720 * sharp;
    paper.height = 780 * sharp;
    paper.getContext("2d").drawImage(scene.canvas, -MARGIN * sharp, -MARGIN * sharp);
    drawScale(paper.getContext("2d"), sharp);
    printing = false;
    scene.dpr = null;
    box.style.cssText = "";
    map.invalidateSize({ animate: false });
    map.setView(centre, zoom, { animate: false });
    redraw();
  });
  function drawScale(c, sharp) {
    var lines = box.querySelectorAll(".leaflet-control-scale-line"), line = lines[document.body.classList.contains("us") ? lines.length - 1 : 0];
    if (!line) { return; }
    c.scale(sharp, sharp);
    c.fillStyle = c.strokeStyle = "#000";
    c.font = "13px " + FONT;
    c.fillText(line.textContent, 10, 764);
    c.strokeRect(8, 770, parseFloat(line.style.width), 0.5);
  }

  /* Until the reader moves the map, all of it stays in view, also when a phone is turned. */
  ["mousedown", "touchstart", "wheel"].forEach(function (kind) { box.addEventListener(kind, function () { moved = true; }, { passive: true }); });
  map.on("resize", function () { if (!moved) { fit(); } });
  fit();
  redraw();
  window.day_scene = scene;
  window.day_state = state;
  window.choose_truck = chooseTruck;
  if (/^#row-/.test(location.hash)) { chooseStop(location.hash.slice(5), "link"); }
  root.dataset.ready = "yes";
}());
