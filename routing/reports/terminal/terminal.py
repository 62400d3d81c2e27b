"""Show plans, needs, problems and audits in a terminal of 80 columns, in plain words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.text import Text

from routing.domain.errors import InputProblem
from routing.domain.operation import Operation
from routing.domain.plan import Finding
from routing.domain.ration import YardNeed
from routing.reports.terminal.plan import plan_summary
from routing.reports.terminal.table import Column, table
from routing.reports.terminal.text import bullet, degrading, heading, reason_text, short, text
from routing.reports.words.format import Units, number, plural
from routing.reports.words.names import days_text, sentence, yard_name
from routing.reports.words.problems import grouped

__all__ = ["audit_report", "need_table", "plan_summary", "print_problems"]

MOST_NAMES = 4
"""Yards named with one sentence; the rest are counted."""


@degrading
def need_table(
    operation: Operation, needs: Iterable[YardNeed] | Mapping[str, YardNeed], console: Console
) -> None:
    """Syrup per yard, most urgent first, each with days of stores left and why."""
    units = Units(operation.units, operation.currency)
    listed = list(needs.values() if isinstance(needs, Mapping) else needs)
    listed.sort(key=lambda need: (not need.doses, not need.starving, need.days_of_stores, need.yard_id))
    columns = (
        Column("yard", wraps=True),
        Column("colonies", right=True),
        Column(units.volume_unit, right=True),
        Column("days left", right=True),
        Column("why", wraps=True, below=50),
    )
    table(console, columns, [_need_cells(operation, need, units) for need in listed])
    fed = [need for need in listed if need.doses]
    volume = units.volume(sum(need.volume_l for need in fed))
    console.print(text(f"{plural(len(fed), 'yard')} to feed, {volume}, {_starving(listed)}"))
    for title, said in (("Cautions", "cautions"), ("The rounds to come", "outlook")):
        _by_yard(operation, listed, title, said, console)


def _by_yard(
    operation: Operation, needs: Sequence[YardNeed], title: str, said: str, console: Console
) -> None:
    """Sentences of the yards, each once with the yards that it is about; no names where it is about all."""
    yards: dict[str, list[str]] = {}
    for need in needs:
        for sentence_ in getattr(need, said):
            yards.setdefault(sentence_, []).append(yard_name(operation, need.yard_id))
    if yards:
        heading(console, title)
    fed = sum(bool(need.doses) for need in needs)
    for sentence_, names in yards.items():
        whose = ", ".join(names[:MOST_NAMES]) + (
            f" and {len(names) - MOST_NAMES} more" * (len(names) > MOST_NAMES)
        )
        bullet(console, text(sentence_ if len(names) >= max(fed, 2) else f"{whose}: {sentence_}"))


def _starving(needs: Sequence[YardNeed]) -> str:
    count = sum(need.starving for need in needs)
    return f"{plural(count, 'yard')} starving." if count else "none starving."


def _need_cells(operation: Operation, need: YardNeed, units: Units) -> tuple[str | Text, ...]:
    name = text(short(yard_name(operation, need.yard_id)))
    if need.starving:
        name.append(" STARVING", "bold red")
    why = sentence(need.why) if need.doses else reason_text(need.reason or need.why, need.remedy)
    return (
        name,
        number(need.fed_colonies if need.doses else need.colonies),
        number(units.volume_value(need.volume_l), 1) if need.doses else "-",
        days_text(need.days_of_stores),
        text(why),
    )


@degrading
def print_problems(problems: Sequence[InputProblem], console: Console) -> None:
    """Every problem of the input: where, what was found, what is wrong, what to do."""
    errors = [problem for problem in problems if problem.severity == "error"]
    for group in grouped(problems):
        problem = group.first
        style, word = ("bold red", "error") if problem.severity == "error" else ("yellow", "warning")
        line = text(word, style)
        line.append(f" {text(group.place).plain}", "bold")
        found = f" {short(group.found, 60)}" if group.found else ""
        line.append(f"{found}: {text(problem.wrong).plain}: {text(problem.remedy).plain}")
        line.append(f" [{problem.code}]", "dim")
        bullet(console, line)
    others = len(problems) - len(errors)
    if not problems:
        console.print("No problem found.")
        return
    verdict = "nothing can be planned before the errors are mended" if errors else "planning can go on"
    console.print(text(f"{plural(len(errors), 'error')}, {plural(others, 'warning')}: {verdict}."))


@degrading
def audit_report(findings: Sequence[Finding], checks: Sequence[str], console: Console) -> None:
    """The verdict of the audit, every finding, and what was checked."""
    if findings:
        console.print(text(f"NOT PASSED: {plural(len(findings), 'finding')}.", "bold red"))
    else:
        console.print(text(f"Passed: {plural(len(checks), 'check')}, no finding.", "bold green"))
    for finding in findings:
        where = [f"truck {finding.truck_id}" if finding.truck_id else ""]
        where.append(f"stop {finding.seq}" if finding.seq is not None else "")
        where.append(finding.place_id or "")
        line = text(finding.code, "bold")
        place = ", ".join(part for part in where if part)
        line.append(f" ({text(place).plain})" if place else "", "not bold")
        line.append(f": {text(finding.text).plain}", "not bold")
        bullet(console, line)
    if checks:
        heading(console, "Checked")
        console.print(text(" ".join(checks)))
