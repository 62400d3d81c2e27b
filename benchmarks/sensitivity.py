"""Measure what each assumption moves: ``python -m benchmarks.sensitivity`` prints a table for docs/need.md.

Each setting of the demo is taken a fifth down and a fifth up; the day is judged and planned anew by
iterations, so that the same code prints the same table.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.files.operation.folder import read_operation
from routing.need.ration import need_of_day
from routing.need.syrup import resolve
from routing.planning.plan.day import DayOptions, plan_day
from routing.planning.run.solve import SolveOptions
from routing.travel.choose import travel_for

DEMO, DAY = Path(__file__).parents[1] / "data_demo" / "sorrel_county", date(2026, 9, 28)

Change = Callable[[Operation, float], Operation]


def _setting(section: str, *names: str) -> Change:
    """The operation with settings of a section times a factor."""

    def change(operation: Operation, factor: float) -> Operation:
        group = getattr(operation, section)
        values = {name: getattr(group, name) * factor for name in names}
        return replace(operation, **{section: replace(group, **values)})

    return change


def _inside(change: Change, most: float, *names: str) -> Change:
    """A change whose shares of one stop at ``most``."""

    def capped(operation: Operation, factor: float) -> Operation:
        made = change(operation, factor)
        values = {name: min(most, getattr(made.feeding, name)) for name in names}
        return replace(made, feeding=replace(made.feeding, **values))

    return capped


def _handling(operation: Operation, factor: float) -> Operation:
    feeders = {k: replace(f, service_s=f.service_s * factor) for k, f in operation.feeders.items()}
    return replace(operation, feeders=feeders)


def _setups(operation: Operation, factor: float) -> Operation:
    yards = {k: replace(y, setup_s=round(y.setup_s * factor)) for k, y in operation.yards.items()}
    return replace(operation, yards=yards)


def _keeps(operation: Operation, factor: float) -> Operation:
    syrups = {
        k: replace(s, keeps_days=s.keeps_days and s.keeps_days * factor) for k, s in operation.syrups.items()
    }
    return replace(operation, syrups=syrups)


SHARES = ("conversion_2to1", "conversion_inverted")
CHANGES: dict[str, Change] = {
    "target_stores": _setting("feeding", "target_stores_kg"),
    "daily_use": _setting("feeding", "daily_use_kg"),
    "next_visit_days": _setting("feeding", "next_visit_days"),
    "conversion (up to 0.98)": _inside(_setting("feeding", *SHARES), 0.98, *SHARES),
    "honey_moisture": _setting("feeding", "honey_moisture"),
    "uptake per frame": _setting("uptake", "l_per_frame_day"),
    "keeps_days of syrups": _keeps,
    "starving_days": _setting("feeding", "starving_days"),
    "days_error": _setting("feeding", "days_error"),
    "drop_value_per_colony": _setting("cost", "drop_value_per_colony"),
    "loss_per_colony": _setting("cost", "loss_per_colony"),
    "min_per_colony": _handling,
    "second_pair": _setting("work", "second_pair"),
    "setup_min": _setups,
    "labor_per_h": _setting("cost", "labor_per_h"),
}


def rows(iterations: int) -> Iterator[tuple[str, str]]:
    """Name of each change and its figures, the day as it is first."""
    operation = resolve(read_operation(DEMO, day=DAY)[0])
    travel = travel_for(operation, DEMO)
    yield "as it is", _day(operation, travel, iterations)
    for name, change in CHANGES.items():
        for sign, factor in (("-20 %", 0.8), ("+20 %", 1.2)):
            yield f"{name} {sign}", _day(change(operation, factor), travel, iterations)


def _day(operation: Operation, travel: Travel, iterations: int) -> str:
    """Litres wanted and poured, what the day costs without its syrup, and yards fed."""
    needs = need_of_day(operation, DAY)
    options = DayOptions(search=SolveOptions(None, iterations))
    totals = plan_day(operation, travel, needs, DAY, options).totals
    wanted = sum(need.volume_l for need in needs)
    driven = totals.cost.total - totals.cost.syrup
    return f"{wanted:,.0f} | {totals.volume_l:,.0f} | {driven:,.0f} | {totals.served_yards}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--iterations", type=int, default=300)
    options = parser.parse_args()
    print("| setting | litres wanted | poured | cost without syrup | yards fed |\n|---|---|---|---|---|")
    for name, figures in rows(options.iterations):
        print(f"| {name} | {figures} |", flush=True)


if __name__ == "__main__":
    main()
