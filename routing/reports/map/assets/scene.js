/* The day on one canvas that is larger than the window: panning shifts it, a new drawing comes when it is used up. */
var MARGIN = 160, MARGIN_USED = 150, FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, 'Noto Sans', Arial, sans-serif";
var TRIP_DASHES = [[], [9, 6], [2, 6], [14, 5, 2, 5]], LANE_PX = 4.4, MANY_TRUCKS = 6, MANY_YARDS = 60, NARROW_PX = 500;

var DayScene = L.Layer.extend({
  initialize: function (data, state) {
    this.data = data;
    this.state = state;
    this.memory = {};
    this.widths = {};
    this.dpr = null;
  },

  onAdd: function (map) {
    this.canvas = L.DomUtil.create("canvas", "day-canvas leaflet-zoom-animated", map.getPane("overlayPane"));
    this.canvas.setAttribute("aria-hidden", "true");
    this.ctx = this.canvas.getContext("2d");
    this.collect(map);
    this.draw();
  },

  getEvents: function () {
    return { moveend: this.draw, viewreset: this.draw, resize: this.draw, move: this.panned, zoomanim: this.zooming };
  },

  /* Everything drawn, with its place in the world at zoom 0. */
  collect: function (map) {
    var crs = map.options.crs, places = {};
    function at(thing, more) {
      var p = crs.latLngToPoint(L.latLng(thing.lat, thing.lon), 0);
      return Object.assign({ wx: p.x, wy: p.y, lat: thing.lat, lon: thing.lon, place: thing.lat + " " + thing.lon }, more);
    }
    this.roads = this.data.roads.map(function (road) { return { rank: road.rank, world: worldLine(map, road.line) }; });
    this.legs = [];
    this.yards = [];
    this.heres = [];
    this.data.trucks.forEach(function (truck, i) {
      truck.legs.forEach(function (leg) { this.legs.push({ truck: i, trip: leg.trip, lane: leg.lane, spoke: leg.spoke, world: worldLine(map, leg.line) }); }, this);
      var own = {};
      truck.stops.forEach(function (stop) {
        var place = stop.lat + " " + stop.lon;
        if (stop.kind === "here") { this.heres.push(at(stop, { key: stop.key, truck: i, stop: stop })); }
        if (stop.kind !== "yard") { return; }
        if (own[place]) {
          own[place].numbers.push(stop.n);
          own[place].keys.push(stop.key);
          return;
        }
        own[place] = at(stop, { key: stop.key, keys: [stop.key], truck: i, stop: stop, numbers: [stop.n], trip: stop.trip, flag: stop.flag, inner: places[place] || 0 });
        places[place] = (places[place] || 0) + 1;
        this.yards.push(own[place]);
      }, this);
    }, this);
    this.depots = this.data.depots.map(function (d) { return at(d, { key: d.key, depot: d }); });
    this.left = this.data.left.map(function (y) { return at(y, { key: y.key, yard: y, flag: y.flag }); });
    this.done = (this.data.done || []).map(function (y) { return at(y, { key: y.key, yard: y }); });
  },

  zooming: function (e) {
    var map = this._map, scale = map.getZoomScale(e.zoom, this.zoom);
    L.DomUtil.setTransform(this.canvas, map._latLngToNewLayerPoint(this.corner, e.zoom, e.center), scale);
  },

  panned: function () {
    var now = this._map.containerPointToLayerPoint([0, 0]);
    if (this.origin && now.distanceTo(this.origin) > MARGIN_USED) { this.draw(); }
  },

  view: function () {
    var map = this._map, size = map.getSize(), origin = map.containerPointToLayerPoint([0, 0]);
    this.origin = origin;
    var corner = origin.subtract([MARGIN, MARGIN]);
    this.zoom = map.getZoom();
    this.corner = map.layerPointToLatLng(corner);
    var start = map.getPixelOrigin().add(corner);
    L.DomUtil.setTransform(this.canvas, corner, 1);
    return { scale: Math.pow(2, this.zoom), left: start.x, top: start.y, width: size.x + 2 * MARGIN, height: size.y + 2 * MARGIN, size: size };
  },

  draw: function () {
    if (!this._map || !this._map._loaded) { return; }
    var view = this.view(), c = this.ctx, dpr = this.dpr || window.devicePixelRatio || 1;
    this.canvas.width = Math.round(view.width * dpr);
    this.canvas.height = Math.round(view.height * dpr);
    this.canvas.style.width = view.width + "px";
    this.canvas.style.height = view.height + "px";
    c.setTransform(dpr, 0, 0, dpr, 0, 0);
    c.clearRect(0, 0, view.width, view.height);
    this.look = this.data.looks[this.state.theme()];
    this.narrow = view.size.x < NARROW_PX;
    this.drawn = { marks: [], labels: [], darts: [] };
    var chosen = this.state.truck, ground = this.ground(view);
    this.drawRoads(c, view);
    this.drawLegs(c, view, ground, chosen);
    this.drawMarks(c, view, ground, chosen);
    this.letter(c, view, ground, chosen);
  },

  /* What labels keep off: controls and the edge now, marks as they are drawn. */
  ground: function (view) {
    var frame = this._map.getContainer().getBoundingClientRect(), boxes = new Boxes();
    document.querySelectorAll(".leaflet-control, .on-map").forEach(function (control) {
      var r = control.getBoundingClientRect();
      if (r.width) { boxes.add({ l: r.left - frame.left + MARGIN, r: r.right - frame.left + MARGIN, t: r.top - frame.top + MARGIN, b: r.bottom - frame.top + MARGIN, owner: null }); }
    });
    var inset = { l: MARGIN + 3, t: MARGIN + 2, r: view.width - MARGIN - 3, b: view.height - MARGIN - 2 };
    return { dots: new Boxes(), boxes: boxes, raster: new Raster(view.width, view.height), view: inset };
  },

  drawRoads: function (c, view) {
    var look = this.look;
    [[2, look.minor, 1, [3, 3]], [1, look.minor, 1, []], [0, look.major, 1.8, []]].forEach(function (pen) {
      c.beginPath();
      this.roads.forEach(function (road) { if (road.rank === pen[0]) { tracePath(c, pixelLine(road.world, view)); } });
      c.strokeStyle = pen[1];
      c.lineWidth = pen[2];
      c.setLineDash(pen[3]);
      c.stroke();
    }, this);
    c.setLineDash([]);
  },

  drawLegs: function (c, view, ground, chosen) {
    var look = this.look, trucks = this.data.trucks, crowd = chosen === null && trucks.length > MANY_TRUCKS, lines = [];
    c.lineJoin = "round";
    this.legs.forEach(function (leg) {
      var px = pixelLine(leg.world, view), on = chosen === null || leg.truck === chosen;
      leg.px = px.length < 4 ? null : asideOf(px, leg.lane ? LANE_PX * ((chosen === null ? leg.lane : 1) - 0.5) : 0);
      if (leg.px && on) { lines.push(leg); } else if (leg.px) { pen(leg, 1.5, look.otherLine, [], leg.spoke && trucks.length > MANY_TRUCKS ? 0.3 : 1); }
    });
    lines.forEach(function (leg) { if (!crowd) { pen(leg, chosen === null ? 5 : 6.6, look.ground, [], 0.9); } });
    lines.forEach(function (leg) {
      var faint = crowd && leg.spoke ? 0.22 : crowd ? 0.7 : 1;
      pen(leg, chosen !== null ? 3.4 : crowd ? 1.5 : 2.6, look.trucks[trucks[leg.truck].color], TRIP_DASHES[(leg.trip - 1) % 4], faint);
      if (faint > 0.5) { ground.raster.draw(leg.px); }
    });
    this.darted = lines.filter(function (leg) { return !crowd || !leg.spoke; });
    function pen(leg, width, color, dash, alpha) {
      c.beginPath();
      tracePath(c, leg.px);
      c.lineWidth = width;
      c.strokeStyle = color;
      c.setLineDash(dash);
      c.globalAlpha = alpha;
      c.stroke();
      c.globalAlpha = 1;
      c.setLineDash([]);
    }
  },

  /* Where a mark stands on the canvas; ``seen`` says whether it lies in the window. */
  stand: function (mark, view, rim) {
    mark.x = mark.wx * view.scale - view.left;
    mark.y = mark.wy * view.scale - view.top;
    mark.rim = rim;
    mark.seen = mark.x > MARGIN && mark.y > MARGIN && mark.x < view.width - MARGIN && mark.y < view.height - MARGIN;
    return mark.x > -20 && mark.y > -20 && mark.x < view.width + 20 && mark.y < view.height + 20;
  },

  drawMarks: function (c, view, ground, chosen) {
    var look = this.look, trucks = this.data.trucks, self = this, seen = 0, drawn = this.drawn.marks;
    this.yards.forEach(function (m) {
      m.inView = self.stand(m, view, 0);
      seen += m.seen;
    });
    this.crowded = seen > MANY_YARDS;
    var r = this.narrow ? (seen > 70 ? 4 : 5) : seen > 160 ? 4 : seen > 70 ? 5 : 6;
    if (chosen !== null) { r = this.narrow ? 5 : 6; }
    function keep(m, rim, kind) {
      m.rim = rim;
      ground.dots.add({ l: m.x - rim, r: m.x + rim, t: m.y - rim, b: m.y + rim, owner: m.place });
      drawn.push({ key: m.key, kind: kind, x: m.x - MARGIN, y: m.y - MARGIN, lat: m.lat, lon: m.lon, rim: rim, seen: m.seen, flag: m.flag || "" });
    }
    this.done.forEach(function (m) {
      if (self.stand(m, view, 3)) { drawHollow(c, m.x, m.y, 3, look.other, look.ground); keep(m, 3, "done"); }
    });
    this.left.forEach(function (m) {
      if (!self.stand(m, view, 6)) { return; }
      if (m.yard.unfed) { drawSaltire(c, m.x, m.y, chosen === null ? 4.5 : 3.5, look); } else { drawHollow(c, m.x, m.y, 3, look.other, look.ground); }
      if (chosen === null) { drawStatus(c, m.flag, m.x, m.y, 5, look); }
      keep(m, m.flag && chosen === null ? 10 : m.yard.unfed ? 6 : 4, "left");
    });
    this.depots.forEach(function (m) {
      var d = m.depot;
      m.used = chosen === null ? d.trucks.length > 0 : d.trucks.indexOf(chosen) >= 0;
      if (!m.used || !self.stand(m, view, 9)) { m.used = false; return; }
      drawHouse(c, m.x, m.y, d.base ? 8.5 : 7, look, false);
      keep(m, d.base ? 10 : 8.5, "depot");
    });
    [false, true].forEach(function (on) {
      self.yards.forEach(function (m) {
        if (!m.inView || (chosen === null || m.truck === chosen) !== on) { return; }
        var truck = trucks[m.truck], size = on ? r : 3;
        if (m.keys.indexOf(self.state.key) >= 0) { drawChosen(c, m.x, m.y, size + 8, look); }
        drawShape(c, truck.shape, m.x, m.y, m.inner && on ? size * 0.62 : size, on ? look.trucks[truck.color] : look.other, look.ground, on && m.trip % 2 === 0);
        if (on) { drawStatus(c, m.flag, m.x, m.y, size, look); }
        keep(m, on && m.flag ? size + 5.2 : size + 1, "yard");
      });
    });
    this.heres.forEach(function (m) {
      if (!self.stand(m, view, 10) || (chosen !== null && m.truck !== chosen)) { m.inView = false; return; }
      m.inView = true;
      drawTruckHere(c, m, trucks[m.truck], look);
      keep(m, 11, "here");
    });
    this.dot = r;
  },

  /* Labels: the numbers first, then arrows where room is left, then names. */
  letter: function (c, view, ground, chosen) {
    var self = this, wanted = this.wanted(chosen), placed = placeLabels(wanted, ground, this.memory);
    var pick = this.state.key && wanted.find(function (w) { return w.chosen; });
    if (pick && !placed.some(function (p) { return p.mark === pick.mark; })) { placed.push(this.led(pick, ground)); }
    this.darted.forEach(function (leg) {
      var truck = self.data.trucks[leg.truck], every = chosen === null ? 170 : 130, crowd = chosen === null && self.data.trucks.length > MANY_TRUCKS;
      placeDarts(leg.px, ground, every, crowd ? 110 : 34, self.dot + 14).forEach(function (dart) {
        drawDart(c, dart, chosen === null ? 5 : 6, chosen === null ? self.look.trucks[truck.color] : self.look.ink, self.look.ground);
        self.drawn.darts.push({ x: dart.x - MARGIN, y: dart.y - MARGIN });
      });
    });
    if (!(chosen === null && this.crowded && this.data.trucks.length > MANY_TRUCKS)) { growLabels(placed, ground, this.memory); }
    placed.forEach(function (label) { self.drawLabel(c, label); });
  },

  /* What should be labelled, the most important first. */
  wanted: function (chosen) {
    var self = this, found = [], trucks = this.data.trucks;
    function add(rank, mark, forms, more) {
      if (mark.seen) { found.push(Object.assign({ rank: rank, mark: { key: mark.place, x: mark.x, y: mark.y, rim: mark.rim, id: mark.key }, forms: forms, longer: null, cells: 13 }, more)); }
    }
    this.yards.forEach(function (m) {
      if (!m.inView || (chosen !== null && m.truck !== chosen)) { return; }
      var number = (chosen === null ? trucks[m.truck].letter : "") + m.numbers.join(","), glyph = m.flag ? [{ glyph: m.flag }] : [];
      var isNew = m.stop.fresh ? [{ t: "NEW", b: true }] : [];
      var head = [{ t: number, b: true }].concat(isNew, glyph), forms = [self.form([head])];
      if (m.flag === "!" || m.flag === "Q") { forms.push(self.form([glyph])); }
      var pick = m.keys.indexOf(self.state.key) >= 0, long = self.form([head.concat([{ t: m.stop.name + (m.stop.pause ? ", break " + m.stop.pause : "") }])]);
      if (pick) { forms.unshift(long); }
      add(pick ? -1 : m.flag === "!" || m.flag === "Q" ? 1 : m.flag === "w" ? 2 : 10 + Number(m.stop.order), m, forms,
        { longer: long, relaxed: pick, cells: m.flag ? 20 : 13, chosen: pick });
    });
    this.depots.forEach(function (m) {
      if (!m.used) { return; }
      var times = chosen === null ? "" : m.depot.times[chosen], name = { t: m.depot.name }, forms = [];
      if (times) { forms = [self.form([[name], [{ t: times, q: true }]]), self.form([[{ t: times }]])]; } else { forms = [self.form([[name]])]; }
      add(chosen === null ? 9 + !m.depot.base * 300 : 0, m, forms, { relaxed: chosen !== null });
    });
    this.left.forEach(function (m) {
      var pick = m.key === self.state.key, glyph = m.flag && chosen === null ? [{ glyph: m.flag }] : [];
      if (pick || chosen === null) { add(pick ? -1 : m.yard.unfed ? 400 : 600, m, [self.form([glyph.concat([{ t: m.yard.name, q: !m.yard.unfed }])])], { relaxed: pick, chosen: pick }); }
    });
    this.heres.forEach(function (m) { if (m.inView) { add(0, m, [self.form([[{ t: m.stop.name, b: true }]])], { relaxed: true, chosen: m.key === self.state.key }); } });
    return found.sort(function (a, b) { return a.rank - b.rank; });
  },

  fontOf: function (part) { return (part.b ? "700 " : "500 ") + (this.crowded || this.narrow ? 12 : 13) + "px " + FONT; },

  widthOf: function (part) {
    if (part.glyph) { return 12.5; }
    var font = this.fontOf(part), key = font + part.t;
    if (!(key in this.widths)) {
      this.ctx.font = font;
      this.widths[key] = this.ctx.measureText(part.t).width;
    }
    return this.widths[key];
  },

  form: function (lines) {
    var self = this, step = this.crowded || this.narrow ? 14 : 15;
    var widths = lines.map(function (parts) { return parts.reduce(function (sum, part, i) { return sum + self.widthOf(part) + (i ? 3.5 : 0); }, 0); });
    return { lines: lines, w: Math.max.apply(null, widths), h: step * lines.length, step: step };
  },

  /* The chosen stop is always named: where nothing is free beside it, with a thin line to its dot. */
  led: function (label, ground) {
    var form = label.forms[0], best = null;
    for (var far = 16; far <= 96 && !best; far += 10) {
      best = bestPlace(Object.assign({}, label.mark, { rim: label.mark.rim + far }), form.w, form.h, ground, null, true, 999);
    }
    var box = best ? best.box : placesOf(label.mark, form.w, form.h)[0];
    ground.boxes.add(box);
    return { mark: label.mark, box: box, form: form, led: Boolean(best) };
  },

  drawLabel: function (c, label) {
    var look = this.look, box = label.box, form = label.form, self = this;
    this.drawn.labels.push({ key: label.mark.id, place: label.mark.key, l: box.l - MARGIN, t: box.t - MARGIN, r: box.r - MARGIN, b: box.b - MARGIN,
      text: form.lines.map(function (parts) { return parts.map(function (p) { return p.glyph || p.t; }).join(" "); }).join(" / "), led: Boolean(label.led) });
    if (label.led) {
      c.beginPath();
      c.moveTo(label.mark.x, label.mark.y);
      c.lineTo(Math.max(box.l, Math.min(box.r, label.mark.x)), Math.max(box.t, Math.min(box.b, label.mark.y)));
      c.lineWidth = 1.2;
      c.strokeStyle = look.ink;
      c.stroke();
    }
    c.textBaseline = "middle";
    form.lines.forEach(function (parts, i) {
      var x = box.l, y = box.t + form.step * (i + 0.5);
      parts.forEach(function (part) {
        if (part.glyph) { x += drawGlyph(c, part.glyph, x, y, look) + 3.5; return; }
        c.font = self.fontOf(part);
        c.lineJoin = "round";
        c.lineWidth = 3.6;
        c.strokeStyle = look.ground;
        c.strokeText(part.t, x, y + 0.5);
        c.fillStyle = part.q ? look.quiet : look.ink;
        c.fillText(part.t, x, y + 0.5);
        x += self.widthOf(part) + 3.5;
      });
    });
  },

  /* The mark nearest to a place of the window, within reach of a finger; marks of other trucks are handicapped. */
  nearest: function (point) {
    var chosen = this.state.truck, best = null;
    this.yards.concat(this.left, this.heres, this.depots).forEach(function (m) {
      if (!m.seen || (m.depot && !m.used) || (m.truck !== undefined && m.inView === false)) { return; }
      var far = Math.hypot(m.x - MARGIN - point.x, m.y - MARGIN - point.y) + (chosen !== null && m.truck !== chosen ? 6 : 0);
      if (far < 22 && (!best || far < best.far)) { best = { far: far, mark: m }; }
    });
    return best && best.mark;
  },

  markOf: function (key) {
    return this.yards.find(function (m) { return m.keys.indexOf(key) >= 0; })
      || this.left.concat(this.heres, this.depots).find(function (m) { return m.key === key || (m.depot && m.depot.keys.indexOf(key) >= 0); }) || null;
  },

  /* The places to fit the map to: the chosen truck's, else all; on a phone without those that nobody drives to. */
  bounds: function (truck) {
    var bounds = L.latLngBounds([]), phone = this._map.getSize().x < NARROW_PX;
    function take(m) { bounds.extend([m.lat, m.lon]); }
    this.yards.concat(this.heres).forEach(function (m) { if (truck === null || m.truck === truck) { take(m); } });
    this.depots.forEach(function (m) { if (truck === null ? m.depot.trucks.length : m.depot.trucks.indexOf(truck) >= 0) { take(m); } });
    if (truck === null && (!phone || !bounds.isValid())) { this.left.forEach(take); this.done.forEach(take); }
    if (!bounds.isValid()) { this.depots.forEach(take); }
    var crs = this._map.options.crs;
    this.legs.forEach(function (leg) {
      for (var i = 0; truck !== null && leg.truck === truck && i < leg.world.length; i += 2) { bounds.extend(crs.pointToLatLng(L.point(leg.world[i], leg.world[i + 1]), 0)); }
    });
    return bounds;
  }
});

/* A truck in mid-day where it stands: its letter on a disc of ink. */
function drawTruckHere(c, m, truck, look) {
  c.beginPath();
  c.arc(m.x, m.y, 10, 0, 7);
  c.lineWidth = 3.5;
  c.strokeStyle = look.ground;
  c.stroke();
  c.fillStyle = look.ink;
  c.fill();
  c.fillStyle = look.ground;
  c.font = "800 13px " + FONT;
  c.textAlign = "center";
  c.textBaseline = "middle";
  c.fillText(truck.letter, m.x, m.y + 0.5);
  c.textAlign = "left";
}
