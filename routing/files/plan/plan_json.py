"""Write a plan as plan.json, read it back, and state its JSON Schema."""

from __future__ import annotations

import hashlib
import inspect
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from routing.domain.errors import InputError
from routing.domain.plan import SCHEMA, Plan
from routing.files.plan.json_text import plain, pretty
from routing.files.problems.problems import Problems
from routing.files.settings.values import known_zone
from routing.files.tables.tables import read_text

_UNORDERED = frozenset({"assumptions", "parts", "tanks"})
_NOT_CONTENT = ("plan_id", "engine", "audit")
_MOST_PROBLEMS = 20
_REMEDY = "plan the day again, or take back what was edited"


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def _content(plan: Plan) -> dict[str, Any]:
    """The plan as JSON content, ``schema`` first. Raises ValueError for a number JSON cannot hold."""
    content = plain(_adapter().dump_python(plan, mode="json", warnings=False), _UNORDERED)
    for warning in content["warnings"]:
        if not warning["to_crew"]:
            del warning["to_crew"]
    if not content["noted"]:
        del content["noted"]
    for route in content["routes"]:
        for stop in route["stops"]:
            # Without an elevation grid there is nothing to say of climbs.
            if not stop["leg"]["climb_m"]:
                del stop["leg"]["climb_m"]
            if stop["latest_arrive"] is None:
                del stop["latest_arrive"]
            if not stop["number"]:
                del stop["number"]
    return {"schema": content.pop("schema"), **content}


def dump_plan(plan: Plan) -> str:
    """The text of plan.json: the same bytes for equal plans, floats to six decimals, a line feed at the end.

    Raises ValueError when a number of the plan is not finite.
    """
    return pretty(_content(plan))


def plan_digest(plan: Plan) -> str:
    """A short id of what is planned: whatever made it, however long it took, and whoever audited it."""
    content = {key: value for key, value in _content(plan).items() if key not in _NOT_CONTENT}
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:10]


def with_digest(plan: Plan) -> Plan:
    """The plan with its ``plan_id`` set to its digest."""
    return replace(plan, plan_id=plan_digest(plan))


def load_plan(source: str | Path) -> Plan:
    """A plan from the text of plan.json (``str``) or from the file (``Path``).

    Keys that are not known are ignored. Raises ``InputError`` for anything that is not a whole plan of
    this schema; that the plan can be driven is for the audit to say.
    """
    problems = Problems()
    if isinstance(source, Path) and not source.is_file():
        wrong = "this is a folder" if source.is_dir() else "there is no such file"
        remedy = "name the plan.json in the folder that a plan was written to"
        problems.add("missing_file", str(source), 0, "", "", wrong, remedy)
        problems.raise_errors()
    file = source.name if isinstance(source, Path) else "plan.json"
    text = read_text(source, problems) if isinstance(source, Path) else source
    problems.raise_errors()
    assert text is not None
    plan = _parse(text, file, problems)
    problems.raise_errors()
    if plan is None:
        raise InputError(problems.found)
    _check_times(plan, file, problems)
    problems.raise_errors()
    return plan


def _parse(text: str, file: str, problems: Problems) -> Plan | None:
    try:
        content = json.loads(text)
        # JSON has no NaN and no infinity, though Python's reader takes them, and 1e999 too.
        plain(content)
    except (ValueError, RecursionError) as error:
        row = getattr(error, "lineno", 0)
        problems.add("plan_damaged", file, row, "", "", f"this is not valid JSON ({error})", _REMEDY)
        return None
    found = content.get("schema") if isinstance(content, dict) else None
    if found != SCHEMA:
        wrong = f"this is not a plan of the schema {SCHEMA}"
        problems.add(
            "plan_damaged", file, 0, "schema", found or "", wrong, "name a plan.json made by feedround"
        )
        return None
    try:
        return _adapter().validate_json(text, strict=True)
    except ValidationError as error:
        for detail in error.errors(include_url=False, include_context=False)[:_MOST_PROBLEMS]:
            where = ".".join(str(step) for step in detail["loc"])
            value = "" if isinstance(detail["input"], (dict, list)) else detail["input"]
            problems.add("plan_damaged", file, 0, where, value, detail["msg"], _REMEDY)
        return None
    except (ValueError, RecursionError) as error:
        problems.add("plan_damaged", file, 0, "", "", f"this cannot be read ({error})", _REMEDY)
        return None


def _times(plan: Plan) -> Iterator[tuple[str, datetime]]:
    for r, route in enumerate(plan.routes):
        yield f"routes.{r}.start", route.start
        yield f"routes.{r}.end", route.end
        for s, stop in enumerate(route.stops):
            for name in ("arrive", "begin", "leave"):
                yield f"routes.{r}.stops.{s}.{name}", getattr(stop, name)


def _check_times(plan: Plan, file: str, problems: Problems) -> None:
    if not known_zone(plan.timezone):
        problems.add(
            "plan_damaged", file, 0, "timezone", plan.timezone, "there is no such time zone", _REMEDY
        )
    if not 1990 <= plan.date.year <= 2200:
        problems.add("plan_damaged", file, 0, "date", plan.date, "this date is not believed", _REMEDY)
        return
    for where, moment in _times(plan):
        if moment.utcoffset() is None:
            wrong = "a time without its offset from UTC"
        elif abs((moment.date() - plan.date).days) > 3:
            wrong = f"a time far from the day of the plan, {plan.date}"
        else:
            continue
        problems.add("plan_damaged", file, 0, where, moment.isoformat(), wrong, _REMEDY)


def plan_schema() -> dict[str, Any]:
    """The JSON Schema of plan.json (draft 2020-12), made from the dataclasses of the plan."""
    schema = _adapter().json_schema()
    schema["properties"]["schema"] = {"const": SCHEMA, "title": "Schema"}
    schema["required"] = ["schema", *schema["required"]]
    cleaned: dict[str, Any] = _clean({"$schema": "https://json-schema.org/draft/2020-12/schema", **schema})
    return cleaned


def _clean(value: Any) -> Any:
    """Docstrings without their indentation, which Python keeps or drops by version."""
    if isinstance(value, dict):
        return {
            key: inspect.cleandoc(item) if key == "description" and isinstance(item, str) else _clean(item)
            for key, item in value.items()
        }
    return [_clean(item) for item in value] if isinstance(value, list) else value


def schema_text() -> str:
    """The text of docs/plan.schema.json."""
    return json.dumps(plan_schema(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"
