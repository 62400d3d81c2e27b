/* Make the markers: a numbered shape for a yard's stop, a worded plate for other halts, signs for the rest. */
function node(tag, look, text) {
  var made = document.createElement(tag);
  if (look) { made.className = look; }
  if (text) { made.textContent = text; }
  return made;
}

function badgeNode(truck, text) {
  var ns = "http://www.w3.org/2000/svg", svg = document.createElementNS(ns, "svg"), use = document.createElementNS(ns, "use");
  use.setAttribute("href", "#shape-" + truck.shape);
  svg.setAttribute("aria-hidden", "true");
  svg.appendChild(use);
  var badge = node("span", "badge");
  badge.style.setProperty("--c", truck.color);
  badge.appendChild(svg);
  badge.appendChild(node("span", "", text));
  return badge;
}

function labelNode(name, quiet) {
  var label = node("span", "label" + (quiet ? " quiet" : "")), text = node("bdi", "", name);
  text.dir = "auto";
  label.appendChild(text);
  label.setAttribute("aria-hidden", "true");
  return label;
}

/* Status words are one piece with their number: they are moved with it and never left out. */
function worded(sign, words) {
  if (!words.length) { return sign; }
  var whole = node("span", "worded");
  whole.appendChild(sign);
  words.forEach(function (word) { whole.append(" ", node("span", "st" + (word === "NOT FED" ? " unfed" : ""), word)); });
  return whole;
}

/* One marker on the map. ``sign`` is the drawn part; the label may be hidden when there is no room. */
function placed(at, sign, label, say) {
  var holder = node("div", "");
  holder.appendChild(sign);
  if (label) { holder.append(" ", label); }
  var clickable = Boolean(say);
  var marker = L.marker(at, {
    icon: L.divIcon({ className: "mk", html: holder, iconSize: null }),
    keyboard: clickable, interactive: clickable, riseOnHover: true
  });
  marker.on("add", function () {
    var icon = marker.getElement();
    if (clickable) { icon.setAttribute("aria-label", say); } else { icon.setAttribute("aria-hidden", "true"); }
  });
  return { marker: marker, anchor: L.latLng(at), sign: sign, label: label, holder: holder };
}

function stopPiece(truck, stop, nameless) {
  var label = nameless ? null : labelNode(stop.name, false);
  var piece = placed([stop.lat, stop.lon], worded(badgeNode(truck, stop.mark), stop.words), label, stop.say);
  piece.keys = [stop.key];
  piece.rank = stop.words.length ? 1 : 2;
  return piece;
}

/* One plate for all that a truck does at one depot: start, refills, wash-downs, breaks, end. */
function platePiece(truck, stops) {
  var first = stops[0], kinds = stops.map(function (stop) { return stop.kind; });
  var look = kinds.every(function (kind) { return kind === kinds[0]; }) ? " " + kinds[0] : "";
  var words = stops.map(function (stop) { return stop.mark.slice(truck.letter.length + 1); }).join(", ");
  var sign = node("span", "pill" + look, truck.letter + " " + words);
  var say = stops.length > 1 ? truck.letter + " " + words + ". " + first.name : first.say;
  var piece = placed([first.lat, first.lon], sign, null, say);
  piece.keys = stops.map(function (stop) { return stop.key; });
  piece.plate = first.lat + " " + first.lon;
  return piece;
}

function leftPiece(yard) {
  var sign = node("span", "left-mark" + (yard.unfed ? " unfed" : ""), yard.unfed ? "✕" : "–");
  var label = labelNode(yard.name, !yard.unfed);
  sign.setAttribute("aria-hidden", "true");
  var piece = placed([yard.lat, yard.lon], worded(sign, yard.words), label, yard.say);
  piece.keys = [yard.key];
  piece.rank = yard.unfed ? 1 : 3;
  return piece;
}

/* A depot stays where it is, with its name to the right of the house; everything else makes room for both. */
function depotPiece(depot) {
  var sign = node("span", "depot-sign"), text = node("span", ""), name = node("bdi", "", depot.name);
  name.dir = "auto";
  text.append(name, " ", node("span", "st", depot.words.join(", ")));
  sign.appendChild(document.getElementById("house").cloneNode(true)).removeAttribute("id");
  sign.appendChild(text);
  var piece = placed([depot.lat, depot.lon], sign, null, "");
  piece.depot = true;
  return piece;
}
