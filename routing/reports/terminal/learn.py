"""Show in a terminal what the day log teaches, with how sure it is."""

from __future__ import annotations

from rich.console import Console

from routing.domain.operation import Operation
from routing.domain.units import M_PER_KM, M_PER_MILE
from routing.log.learn.learn import ENOUGH, Lesson, Lessons, Proposal, Spread
from routing.reports.terminal.table import Column, table
from routing.reports.terminal.text import bullet, degrading, heading, text
from routing.reports.words.format import Units, number, plural

_WHAT = {
    "pour": "poured, % of plan",
    "handling": "min a colony",
    "road": "driving time, % of plan",
    "wash": "wash-down, min",
    "loss": "tank loss, % of poured",
}


@degrading
def lessons_text(operation: Operation, lessons: Lessons, console: Console) -> None:
    """Each measurement with median, spread and count; tanks; and what is proposed."""
    console.print(text(f"{plural(len(lessons.days), 'feeding day')} in the log."))
    if lessons.lessons:
        heading(console, "Planned against real (median, median deviation from it, count)")
        columns = (
            Column("what", wraps=True),
            Column("of", wraps=True),
            Column("plan", right=True),
            Column("real", right=True),
            Column("+-", right=True),
            Column("n", right=True),
            Column("", wraps=True, least=4),
        )
        table(console, columns, [_row(lesson) for lesson in lessons.lessons])
    _tanks(operation, lessons, console)
    heading(console, "Proposed")
    for proposal in lessons.proposals:
        bullet(console, text(proposal_text(operation, proposal)))
    if not lessons.proposals:
        console.print(text(f"Nothing: it takes at least {ENOUGH} measurements of a kind."))


def _row(lesson: Lesson) -> tuple[str, ...]:
    factor, digits = (1 / 60, 2) if lesson.what in ("handling", "wash") else (100.0, 0)
    if lesson.what == "loss":
        digits = 1
    crew = f", crew of {lesson.crew}" if lesson.crew else ""
    crew += f", truck {lesson.truck_id}" if lesson.truck_id else ""
    return (
        _WHAT[lesson.what],
        f"{lesson.of}{crew}",
        "-" if lesson.planned is None else number(lesson.planned * factor, digits),
        number(lesson.spread.median * factor, digits),
        number(lesson.spread.mad * factor, digits),
        number(lesson.spread.count),
        "few data" if lesson.spread.few else "",
    )


def _tanks(operation: Operation, lessons: Lessons, console: Console) -> None:
    if not lessons.tanks:
        return
    units = Units(operation.units, operation.currency)
    heading(console, "Tanks and meters (book less gauge, or meter less notes)")
    rows = [
        (
            row.day.isoformat(),
            row.truck_id,
            row.tank_id or "meter",
            units.volume(row.poured_l),
            units.volume(row.lost_l),
            f"{number(100 * row.lost_l / row.poured_l, 1)} %" if row.poured_l else "-",
        )
        for row in lessons.tanks
    ]
    columns = [Column("date"), Column("truck", wraps=True, least=6), Column("tank", wraps=True, least=6)]
    columns += [Column(title, right=True) for title in ("poured", "unexplained", "")]
    table(console, columns, rows)


def proposal_text(operation: Operation, proposal: Proposal) -> str:
    """``travel.speed: 52.8 mph -> 48.1 mph (12 measurements, ...)`` and where it is to be put."""
    shown, unit, factor, digits = _unit(operation, proposal)
    now, new = (f"{number(value * factor, digits)}{unit}" for value in (proposal.now, proposal.proposed))
    measured = _measured(proposal.spread, proposal.key, factor)
    return f"{shown}: {now} now, {new} by {measured}: {proposal.why}."


def _measured(found: Spread, key: str, factor: float) -> str:
    deviation = number(found.mad * factor, 3 if key == "feeding.margin" else 2)
    return f"{plural(found.count, 'measurement')} (median deviation {deviation})"


def _unit(operation: Operation, proposal: Proposal) -> tuple[str, str, float, int]:
    """How a setting is shown: name, unit, factor from SI, digits."""
    key = proposal.key
    us = operation.units == "us"
    if key == "travel.speed_km_per_h":
        return "travel speed", " mph" if us else " km/h", M_PER_KM / M_PER_MILE if us else 1.0, 1
    if key == "feeding.margin":
        return "feeding.margin", "", 1.0, 3
    if key == "work.wash_s":
        return "work.wash_min", " min", 1 / 60, 0
    return f"feeders.csv {proposal.row} min_per_colony", " min", 1 / 60, 2
