"""The command line: parse, call the workflow, show."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from routing.app.cli.day_verbs import learn, record, status
from routing.app.cli.mix import mix
from routing.app.cli.note.group import app as note_app
from routing.app.cli.roads_verb import roads
from routing.app.cli.shared.options import (
    AsJson,
    Day,
    Folder,
    Iterations,
    MaybeDay,
    Now,
    Out,
    Seconds,
    Seed,
    Tiles,
    TilesCredit,
)
from routing.app.cli.shared.screen import emit, err, progress, say_where, screen
from routing.domain.errors import FeedroundError, InputError, NoPlanError
from routing.planning.run.interrupts import forgiving

if TYPE_CHECKING:
    from routing.app.workflow.workflow import Planned
    from routing.planning.run.solve import Progress
    from routing.reports.map.tiles import TileServer

DONE, SOMETHING_LEFT, BAD_INPUT, NO_PLAN = 0, 1, 2, 3
INTERRUPTED = 130
"""What the command line library ends with on Ctrl-C."""

app = typer.Typer(
    name="feedround",
    help="Plan a day of feeding syrup to many apiaries: need, loads, routes, map and run sheets.\n\n"
    "Example: feedround demo",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.command()
def demo(
    out: Out = None,
    seconds: Seconds = 10.0,
    seed: Seed = 1,
) -> None:
    """Copy the demo operation, plan its day, and say where the map is.

    Example: feedround demo --out maps/demo
    """
    from routing.app.workflow.demo import DEMO_DATE, copy_demo

    target = out or Path("maps") / "demo"
    folder = copy_demo(target / "operation")
    _plan(folder, DEMO_DATE, target, None, seconds, None, seed, as_json=False)


@app.command()
def check(folder: Folder, day: MaybeDay = None, as_json: AsJson = False) -> None:
    """Read the tables of an operation and report every problem.

    Example: feedround check my-bees --date 2026-09-28
    """
    from routing.app.workflow import workflow
    from routing.reports.terminal.terminal import print_problems
    from routing.reports.words.problems import counts_text

    checked = workflow.check(folder, day.date() if day else None)
    if as_json:
        warnings = [asdict(problem) for problem in checked.problems]
        emit({"errors": [], "warnings": warnings, "read": asdict(checked.counts)})
        return
    print_problems(checked.problems, screen())
    screen().print(counts_text(checked.counts))


@app.command()
def need(folder: Folder, day: Day, as_json: AsJson = False) -> None:
    """Show the syrup each yard needs, its days of stores, and why.

    Example: feedround need my-bees --date 2026-09-28
    """
    from routing.app.workflow import workflow
    from routing.reports.terminal.terminal import need_table

    needed = workflow.need(folder, day.date())
    if as_json:
        emit({"date": needed.day.isoformat(), "needs": [asdict(n) for n in needed.needs]})
        return
    need_table(needed.gathered.operation, needed.needs, screen())


@app.command()
def plan(
    folder: Folder,
    day: Day,
    trucks: Annotated[
        str | None, typer.Option(help="Plan only these trucks (ids), like heavy,light.")
    ] = None,
    must: Annotated[
        str | None, typer.Option(help="Treat these yards (ids) like starving ones, like Y12,Y30.")
    ] = None,
    seconds: Seconds = 10.0,
    iterations: Iterations = None,
    seed: Seed = 1,
    out: Out = None,
    tiles: Tiles = None,
    tiles_credit: TilesCredit = None,
    as_json: AsJson = False,
) -> None:
    """Plan a day: routes, loads, map and run sheets.

    Example: feedround plan my-bees --date 2026-09-28 --seconds 30
    """
    from routing.app.workflow.outputs import default_folder
    from routing.reports.map.tiles import tile_server

    pictures = tile_server(tiles, tiles_credit)
    target = out or default_folder(folder, day.date().isoformat())
    limit = None if iterations is not None else seconds
    _plan(
        folder,
        day.date(),
        target,
        trucks,
        limit,
        iterations,
        seed,
        as_json=as_json,
        tiles=pictures,
        must=must,
    )


def _plan(
    folder: Path,
    day: date,
    out: Path,
    trucks: str | None,
    seconds: float | None,
    iterations: int | None,
    seed: int,
    *,
    as_json: bool,
    tiles: TileServer | None = None,
    must: str | None = None,
) -> None:
    from routing.app.workflow import workflow
    from routing.app.workflow.outputs import require_writable
    from routing.planning.plan.day import DayOptions
    from routing.planning.run.solve import SolveOptions

    require_writable(out)
    chosen = None if trucks is None else _ids(trucks)
    options = DayOptions(chosen, SolveOptions(seconds, iterations, seed), _ids(must or ""))
    with progress("reading and judging need") as say:
        planned = workflow.plan(folder, day, options, _told(say))
    _finish(planned, out, as_json=as_json, tiles=tiles)


def _ids(text: str) -> tuple[str, ...]:
    """Ids typed with commas between, each once."""
    return tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))


def _told(say: Callable[[str], None]) -> Callable[[Progress], None]:
    from routing.app.workflow.workflow import best_so_far

    return lambda progress: say(best_so_far(progress))


def _finish(
    planned: Planned,
    out: Path,
    *,
    as_json: bool,
    tiles: TileServer | None = None,
    first: Callable[[], None] = lambda: None,
) -> None:
    """Write all files of a plan, show it, and leave with what that means as exit code.

    ``first`` is called before the files are put in place, and may refuse.
    """
    from routing.app.workflow.outputs import write_outputs
    from routing.files.plan.plan_json import dump_plan
    from routing.reports.terminal.terminal import plan_summary

    with progress("writing map and run sheets"):
        written = write_outputs(planned, out, tiles, first)
    try:
        if as_json:
            typer.echo(dump_plan(planned.plan), nl=False)
        else:
            console = screen()
            plan_summary(planned.needed.gathered.operation, planned.plan, console)
            say_where(written, console)
    except KeyboardInterrupt:
        err().print(f"Interrupted; all files of the plan are in {out}.", soft_wrap=True)
    raise typer.Exit(DONE if planned.complete else SOMETHING_LEFT)


@app.command()
def replan(
    folder: Folder,
    now: Now,
    day: Day,
    seconds: Seconds = 5.0,
    iterations: Iterations = None,
    seed: Seed = 1,
    out: Out = None,
    tiles: Tiles = None,
    tiles_credit: TilesCredit = None,
    look: Annotated[
        bool, typer.Option("--look", help="Preview only; do not record the plan in the day log.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Re-plan the rest of the day from where the trucks are now.

    Example: feedround replan my-bees --date 2026-09-28 --now 11:20
    """
    from routing.app.cli.note.waiting import settle_aloud
    from routing.app.workflow.outputs import default_folder, require_writable
    from routing.app.workflow.replanning import propose_replan, record_replan
    from routing.planning.run.solve import SolveOptions
    from routing.reports.map.tiles import tile_server

    pictures = tile_server(tiles, tiles_credit)
    limit = None if iterations is not None else seconds
    target = out or default_folder(folder, f"{day.date().isoformat()}-{now:%H%M}")
    require_writable(target)
    settle_aloud(typer.main.get_group(note_app), folder)
    search = SolveOptions(limit, iterations, seed)
    with progress("reading the day log") as say:
        made = propose_replan(folder, day.date(), now.time(), search, _told(say))

    noted = []

    def record() -> None:
        if not look:
            record_replan(folder, made)
            noted.append(made.planned.plan.plan_id)

    try:
        _finish(made.planned, target, as_json=as_json, tiles=pictures, first=record)
    except FeedroundError as error:
        if not noted:
            raise
        remedy = "run replan again with another --out"
        raise FeedroundError(
            f"{error}\nPlan {noted[0]} is recorded; only its files are missing: {remedy}"
        ) from error


@app.command()
def audit(
    folder: Folder,
    plan_file: Annotated[Path, typer.Argument(help="A plan.json, edited by hand or not.")],
    as_json: AsJson = False,
) -> None:
    """Audit a plan: check it against every rule.

    Example: feedround audit my-bees maps/monday/plan.json
    """
    from routing.app.workflow.replanning import audit_any
    from routing.reports.terminal.terminal import audit_report

    report = audit_any(folder, plan_file)
    if as_json:
        findings = [asdict(finding) for finding in report.findings]
        emit({"passed": report.passed, "findings": findings, "checks": list(report.checks)})
    else:
        audit_report(report.findings, report.checks, screen())
    raise typer.Exit(DONE if report.passed else SOMETHING_LEFT)


app.command()(mix)
app.add_typer(note_app, name="note")
for _verb in (status, record, learn):
    app.command()(_verb)
app.command()(roads)


def main() -> None:
    """Run the command line; every error is a message, never a traceback."""
    try:
        with forgiving(_finishing):
            app(prog_name="feedround")
    except InputError as error:
        _refuse(error)
        sys.exit(BAD_INPUT)
    except NoPlanError as error:
        err().print(f"No plan: {error}", soft_wrap=True)
        sys.exit(NO_PLAN)
    except FeedroundError as error:
        err().print(str(error), soft_wrap=True)
        sys.exit(BAD_INPUT)
    except (KeyboardInterrupt, SystemExit) as end:
        if isinstance(end, SystemExit) and end.code != INTERRUPTED:
            raise
        err().print("Interrupted before it was finished.")
        sys.exit(NO_PLAN)
    except OSError as error:
        if os.environ.get("FEEDROUND_DEBUG"):
            raise
        _refuse_by_system(error)
        sys.exit(BAD_INPUT)
    except Exception as error:
        if os.environ.get("FEEDROUND_DEBUG"):
            raise
        err().print(
            f"This is a bug in feedround ({type(error).__name__}: {error}). "
            "Set FEEDROUND_DEBUG=1 and run again to get the details for a report.",
            soft_wrap=True,
        )
        sys.exit(NO_PLAN)


def _refuse_by_system(error: OSError) -> None:
    """What the operating system refuses: a name that is too long, a disk that is full."""
    name = str(error.filename or "")
    name = f"{name[:60]}..." if len(name) > 80 else name
    why = error.strerror or type(error).__name__
    err().print(f"{name + ': ' if name else ''}{why}: check the name, the disk and your permissions",
                markup=False, soft_wrap=True)  # fmt: skip


def _finishing() -> None:
    err().print("Writing the best plan so far. Press Ctrl-C again to quit without it.")


def _refuse(error: InputError) -> None:
    """All problems, one a line; as JSON on standard output where JSON was asked for."""
    if "--json" in sys.argv:
        levels: dict[str, list[dict[str, Any]]] = {"errors": [], "warnings": []}
        for problem in error.problems:
            levels["errors" if problem.severity == "error" else "warnings"].append(asdict(problem))
        emit(levels)
        return
    from routing.reports.words.problems import grouped

    console = err()
    for group in grouped(error.problems):
        label = "" if group.first.severity == "error" else "warning: "
        console.print(f"{label}{group}", soft_wrap=True)
    errors = sum(p.severity == "error" for p in error.problems)
    console.print(f"{errors} {'error' if errors == 1 else 'errors'}; nothing was written.")
