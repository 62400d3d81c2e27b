/* Pictures from the server that the user named: off until the reader switches them on. */
function tileSwitch(map, tiles) {
  var box = document.getElementById("tiles");
  if (!tiles || !box) { return; }
  var layer = L.tileLayer(tiles.template, { maxZoom: 19, crossOrigin: false }), credit = L.control({ position: "bottomleft" });
  credit.onAdd = function () {
    var made = document.createElement("div");
    made.className = "credit";
    made.textContent = tiles.credit;
    return made;
  };
  layer.on("tileerror", function () { credit.getContainer().textContent = tiles.credit + " (pictures did not come: no network?)"; });
  box.checked = false;
  box.addEventListener("change", function () {
    if (box.checked) { layer.addTo(map); credit.addTo(map); } else { layer.remove(); credit.remove(); }
  });
}
