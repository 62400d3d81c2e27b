"""Measure the map in a headless browser, and draw the pictures beside the numbers.

``python -m benchmarks.looks`` plans the demo and two invented operations for some seconds, opens their maps
at three window sizes, and writes the tables of docs/map.md and docs/map/*.png.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from routing.app.workflow.workflow import plan as plan_folder
from routing.domain.operation import Operation
from routing.domain.plan import Plan
from routing.domain.travel import Travel
from routing.need.ration import need_of_day
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.run.solve import SolveOptions
from routing.reports.map.html import map_html
from routing.reports.words.truck_style import LOOKS
from routing.travel.straight.straight import straight_travel
from tests.support.chromium import Page, chromium
from tests.support.colour_difference import EYES, least_difference, least_grey_step
from tests.support.invented.days import DEMO, DEMO_DAY
from tests.support.invented.invent import DAY, invent_operation
from tests.support.map_measures import Measures, measured

DOCS = Path(__file__).parents[1] / "docs"
PAGE = DOCS / "map.md"
PICTURES = DOCS / "map"
SIZES = ((1920, 1080), (1280, 800), (360, 740))
SECONDS = 6
BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"
PAN = """new Promise(function (done) {
  var times = [], last = performance.now(), n = 0;
  function frame() {
    var now = performance.now(); times.push(now - last); last = now;
    map_day._rawPanBy(L.point(n % 80 < 40 ? 9 : -9, 3)); map_day.fire('move');
    if (++n < 90) { requestAnimationFrame(frame); }
    else { times.sort(function (a, b) { return a - b; }); done([times[45], times[85]]); }
  }
  requestAnimationFrame(frame);
})"""
DRAW = "(function () { var t = performance.now(); day_scene.draw(); return performance.now() - t; }())"


@dataclass(frozen=True)
class Drawn:
    """A map in a file."""

    name: str
    file: Path
    trucks: int


def main() -> None:
    """Measure all maps; write the table and the pictures."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, chromium() as page:
        maps = list(_maps(Path(folder)))
        lines = [*_table(page, maps), "", *_colours()]
        _pictures(page, maps)
    text = PAGE.read_text(encoding="utf-8")
    before, after = text.partition(BEGIN)[0], text.partition(END)[2]
    body = "\n".join(lines)
    PAGE.write_text(f"{before}{BEGIN}\n{body}\n{END}{after}", encoding="utf-8")
    sys.stdout.write(f"{body}\n")


def _maps(folder: Path) -> Iterator[Drawn]:
    options = DayOptions(None, SolveOptions(SECONDS, None, 1))
    made = plan_folder(DEMO, DEMO_DAY, options)
    yield _drawn(folder, "demo", made.needed.gathered.operation, made.plan, made.travel)
    for yards in (150, 300):
        operation = invent_operation(1, yards)
        travel = straight_travel(operation)
        plan = plan_day(operation, travel, need_of_day(operation, DAY), DAY, options, None)
        yield _drawn(folder, str(yards), operation, plan, travel)


def _drawn(folder: Path, name: str, operation: Operation, plan: Plan, travel: Travel) -> Drawn:
    file = folder / f"{name}.html"
    file.write_text(map_html(operation, plan, travel), encoding="utf-8")
    return Drawn(name, file, len(plan.routes))


def _table(page: Page, maps: list[Drawn]) -> Iterator[str]:
    heads = ("map", "window", "mark off its yard, most", "label to its dot, median (most)", "overlaps")
    yield f"| {' | '.join(heads)} | numbers, first view |"
    yield "|---|---|---|---|---|---|"
    more = []
    for drawn in maps:
        for width, height in SIZES:
            page.open(drawn.file, width, height)
            first = measured(page)
            each = _each_truck(page, drawn.trucks)
            yield (
                f"| {drawn.name} | {width}x{height} | {max(first.off_px):.1f} px | {_gaps(first)} "
                f"| {len(first.clashes) + len(first.wrong)} | {first.labels} of {first.seen} |"
            )
            pan = page.ask(PAN)
            more.append(
                f"| {drawn.name} | {width}x{height} "
                f"| {sum(m.labels for m in each)} of {sum(m.seen for m in each)} "
                f"| {first.share:.0%} | {page.ask(DRAW):.0f} ms | {pan[0]:.0f} ({pan[1]:.0f}) ms "
                f"| {drawn.file.stat().st_size / 1000:.0f} kB |"
            )
    yield ""
    heads = ("map", "window", "numbers, each truck chosen in turn", "share that is map", "one drawing")
    yield f"| {' | '.join(heads)} | pan, a frame (95 %) | file |"
    yield "|---|---|---|---|---|---|---|"
    yield from more


def _each_truck(page: Page, trucks: int) -> list[Measures]:
    found = []
    for i in range(trucks):
        page.ask(f"choose_truck({i}), 1")
        found.append(measured(page))
    page.ask("choose_truck(null), 1")
    return found


def _gaps(found: Measures) -> str:
    return f"{statistics.median(found.gap_px):.1f} ({max(found.gap_px):.1f}) px" if found.gap_px else "-"


def _colours() -> Iterator[str]:
    yield f"| least difference of two trucks | {' | '.join(EYES)} | gray, L* |"
    yield "|---|" + "---|" * (len(EYES) + 1)
    for scheme, look in LOOKS.items():
        colours = tuple(look["trucks"])
        seen = " | ".join(f"{least_difference(colours, eye):.0f}" for eye in EYES)
        yield f"| {scheme} | {seen} | {least_grey_step(colours):.1f} |"


def _pictures(page: Page, maps: list[Drawn]) -> None:
    demo, large = maps[0], maps[-1]
    shots = (
        ("demo", demo, 1280, 800, "1", False),
        ("demo-one-truck", demo, 1280, 800, "choose_truck(0), 1", False),
        ("large", large, 1280, 800, "1", False),
        ("large-one-truck-dark", large, 1280, 800, "choose_truck(7), 1", True),
        ("phone", demo, 360, 740, "1", False),
    )
    for name, drawn, width, height, ask, dark in shots:
        page.open(drawn.file, width, height, dark=dark)
        page.ask(ask)
        saved = PICTURES / f"{name}.png"
        page.picture(saved)
        with Image.open(saved) as picture:
            small = picture.convert("RGB").quantize(64, dither=Image.Dither.NONE)
        small.save(saved, optimize=True)
    with Image.open(PICTURES / "large.png") as picture:
        picture.convert("RGB").convert("L").quantize(32).save(PICTURES / "large-gray.png", optimize=True)


if __name__ == "__main__":
    main()
