"""Measure a drawn map: is every mark on its yard, does any label lie on another, how much is map."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from tests.support.chromium import Page

TILE_PX = 256
ASK = """(function () {
  var map = window.map_day, scene = window.day_scene, c = map.getCenter(), size = map.getSize();
  var frame = map.getContainer().getBoundingClientRect();
  var controls = Array.from(document.querySelectorAll('.leaflet-control, .on-map'), function (e) {
    var r = e.getBoundingClientRect();
    return { l: r.left - frame.left, r: r.right - frame.left, t: r.top - frame.top, b: r.bottom - frame.top };
  }).filter(function (b) { return b.r > b.l; });
  return { lat: c.lat, lon: c.lng, zoom: map.getZoom(), w: size.x, h: size.y,
    drawn: scene.drawn, controls: controls,
    window: innerWidth * innerHeight, list: document.getElementById('list').scrollHeight };
}())"""


@dataclass(frozen=True)
class Measures:
    """Lengths in CSS pixels. ``off_px``: each mark from the true place of its yard.

    ``gap_px``: each label's box from the rim of its mark. ``clashes``: pairs of texts of what lies on what.
    ``wrong``: labels that a strange yard is nearer to than their own.
    """

    off_px: list[float]
    gap_px: list[float]
    clashes: list[tuple[str, str]]
    wrong: list[str]
    share: float
    labels: int
    seen: int
    flagged_unseen: list[str]


def measured(page: Page) -> Measures:
    """What stands on the open page now."""
    found = page.ask(ASK)
    marks = [m for m in found["drawn"]["marks"] if m["seen"]]
    labels = found["drawn"]["labels"]
    by_key = {m["key"]: m for m in marks}
    yards = [m for m in marks if m["kind"] == "yard" and m["rim"] > 4.5]
    named = {label["key"] for label in labels}
    return Measures(
        off_px=[_off(found, m) for m in marks],
        gap_px=[_gap(label, by_key[label["key"]]) for label in labels if not label["led"]],
        clashes=list(_clashes(found, marks, labels)),
        wrong=[label["text"] for label in labels if not label["led"] and _wrong(label, by_key, yards, named)],
        share=found["w"] * found["h"] / found["window"],
        labels=sum(m["key"] in named for m in yards),
        seen=len(yards),
        flagged_unseen=[m["key"] for m in yards if m["flag"] in ("!", "Q") and m["rim"] < 9],
    )


def true_place(found: dict[str, Any], lat: float, lon: float) -> tuple[float, float]:
    """Where a place must stand in the window: spherical Mercator (EPSG 3857, IOGP guidance note 7-2)."""
    world = TILE_PX * 2 ** found["zoom"]

    def project(lat: float, lon: float) -> tuple[float, float]:
        north = math.log(math.tan(math.pi / 4 + math.radians(lat) / 2))
        return world * (lon / 360 + 0.5), world * (0.5 - north / (2 * math.pi))

    x, y = project(lat, lon)
    cx, cy = project(found["lat"], found["lon"])
    return x - cx + found["w"] / 2, y - cy + found["h"] / 2


def _off(found: dict[str, Any], mark: dict[str, Any]) -> float:
    x, y = true_place(found, mark["lat"], mark["lon"])
    return math.hypot(mark["x"] - x, mark["y"] - y)


def _reach(box: dict[str, Any], mark: dict[str, Any]) -> float:
    """Distance of a box from the middle of a mark."""
    dx = max(box["l"] - mark["x"], 0.0, mark["x"] - box["r"])
    dy = max(box["t"] - mark["y"], 0.0, mark["y"] - box["b"])
    return math.hypot(dx, dy)


def _gap(label: dict[str, Any], mark: dict[str, Any]) -> float:
    return max(0.0, _reach(label, mark) - mark["rim"])


def _wrong(
    label: dict[str, Any], by_key: dict[str, Any], yards: list[dict[str, Any]], named: set[str]
) -> bool:
    own = by_key[label["key"]]
    if own["kind"] != "yard":
        return False
    mine = _gap(label, own)
    return any(
        _gap(label, other) < mine - 0.5
        for other in yards
        if other["key"] != own["key"] and (other["lat"], other["lon"]) != (own["lat"], own["lon"])
    )


def _clashes(found: dict[str, Any], marks: list[Any], labels: list[Any]) -> list[tuple[str, str]]:
    clashes = []
    for i, a in enumerate(labels):
        clashes += [(a["text"], b["text"]) for b in labels[i + 1 :] if _overlap(a, b)]
        for m in marks:
            own = f"{m['lat']} {m['lon']}" == a["place"]
            if not own and _reach(a, m) < min(m["rim"], 12) - 1.5:
                clashes.append((a["text"], f"mark {m['key']}"))
        clashes += [
            (a["text"], "arrow") for d in found["drawn"]["darts"] if _reach(a, {"x": d["x"], "y": d["y"]}) < 4
        ]
        clashes += [(a["text"], "control") for c in found["controls"] if _overlap(a, c)]
    return clashes


def _overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    wide = min(a["r"], b["r"]) - max(a["l"], b["l"])
    return bool(wide > 0.5 and min(a["b"], b["b"]) - max(a["t"], b["t"]) > 0.5)
