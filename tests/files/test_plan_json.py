from __future__ import annotations

import copy
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.domain.errors import InputError
from routing.domain.plan import AuditRecord, Engine, Plan
from routing.files.plan.json_text import pretty
from routing.files.plan.plan_json import dump_plan, load_plan, plan_digest, plan_schema, with_digest
from tests.support.builders import small_case

PLAN: Plan = small_case().plan
TEXT = dump_plan(PLAN)
CONTENT: dict[str, Any] = json.loads(TEXT)


def refusal(content: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        load_plan(content if isinstance(content, str) else json.dumps(content))
    assert {problem.code for problem in caught.value.problems} == {"plan_damaged"}
    return caught.value


def test_a_plan_read_back_is_written_the_same() -> None:
    again = load_plan(TEXT)
    assert dump_plan(again) == TEXT
    assert load_plan(dump_plan(again)) == again


def test_a_plan_read_back_differs_in_the_seventh_decimal_at_most() -> None:
    again = load_plan(TEXT)
    for a, b in zip(PLAN.routes, again.routes, strict=True):
        for x, y in zip(a.stops, b.stops, strict=True):
            assert (x.arrive, x.begin, x.leave, x.place_id) == (y.arrive, y.begin, y.leave, y.place_id)
            assert x.after.gross_kg == pytest.approx(y.after.gross_kg, abs=1e-6)
            assert x.leg.fuel_l == pytest.approx(y.leg.fuel_l, abs=1e-6)


def test_equal_plans_give_the_same_bytes_whatever_the_order_of_their_mappings() -> None:
    turned = replace(PLAN, assumptions=dict(reversed(PLAN.assumptions.items())))
    assert turned == PLAN
    assert dump_plan(turned) == TEXT
    whole = replace(PLAN, engine=replace(PLAN.engine, seconds=10))
    assert dump_plan(whole) == dump_plan(replace(PLAN, engine=replace(PLAN.engine, seconds=10.0)))


def test_the_text_is_by_the_contract() -> None:
    assert TEXT.endswith("}\n")
    assert next(iter(CONTENT)) == "schema"
    assert CONTENT["schema"] == "feedround-plan/1"
    top = {"plan_id", "operation", "date", "seed", "engine", "assumptions", "totals", "routes", "unserved"}
    assert top | {"warnings", "audit"} <= set(CONTENT)
    stop = CONTENT["routes"][0]["stops"][1]
    wanted = {
        "seq",
        "kind",
        "place_id",
        "lat",
        "lon",
        "arrive",
        "begin",
        "leave",
        "leg",
        "pour",
        "fill",
        "after",
    }
    assert wanted <= set(stop)
    assert stop["arrive"][-6:] == "-05:00"


def test_a_number_that_json_cannot_hold_is_not_written() -> None:
    with pytest.raises(ValueError, match="nan"):
        dump_plan(replace(PLAN, engine=replace(PLAN.engine, seconds=float("nan"))))


def test_the_digest_is_of_what_is_planned() -> None:
    first = plan_digest(PLAN)
    assert len(first) == 10
    assert int(first, 16) >= 0
    other = replace(
        PLAN,
        plan_id="x",
        engine=Engine("another", "2", 99.0, None),
        audit=AuditRecord(False, ()),
    )
    assert plan_digest(other) == first
    assert plan_digest(replace(PLAN, seed=PLAN.seed + 1)) != first
    assert plan_digest(load_plan(TEXT)) == first
    assert with_digest(PLAN).plan_id == first


def test_a_written_plan_fits_the_schema() -> None:
    validator = jsonschema.Draft202012Validator(
        plan_schema(), format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )
    jsonschema.Draft202012Validator.check_schema(plan_schema())
    assert list(validator.iter_errors(CONTENT)) == []
    for spoilt in ({**CONTENT, "schema": "other/1"}, {**CONTENT, "routes": 3}):
        assert list(validator.iter_errors(spoilt))
    lacking = {key: value for key, value in CONTENT.items() if key != "schema"}
    assert list(validator.iter_errors(lacking))


def test_keys_that_are_not_known_are_ignored() -> None:
    more = copy.deepcopy(CONTENT)
    more["mine"] = 1
    more["routes"][0]["stops"][0]["remark"] = "slow"
    assert load_plan(json.dumps(more)) == load_plan(TEXT)


@pytest.mark.parametrize("text", ["", "{", "[]", "3", "null", '{"a": NaN}', "[" * 100_000, '{"schema": "x"}'])
def test_what_is_no_plan_is_refused(text: str) -> None:
    refusal(text)


def test_damage_is_placed() -> None:
    spoilt = copy.deepcopy(CONTENT)
    spoilt["routes"][0]["stops"][1]["arrive"] = "at noon"
    spoilt["totals"]["fuel_l"] = "much"
    del spoilt["seed"]
    places = {problem.column for problem in refusal(spoilt).problems}
    assert places == {"routes.0.stops.1.arrive", "totals.fuel_l", "seed"}


@pytest.mark.parametrize(
    ("value", "words"),
    [("2025-09-16T08:00:00", "offset"), ("2031-01-01T08:00:00-05:00", "far from the day")],
)
def test_times_have_an_offset_and_lie_on_the_day(value: str, words: str) -> None:
    spoilt = copy.deepcopy(CONTENT)
    spoilt["routes"][0]["stops"][0]["leave"] = value
    assert words in str(refusal(spoilt))


def test_a_number_beyond_all_numbers_is_refused() -> None:
    refusal(TEXT.replace('"seed": 1', '"seed": 1, "x": 1e999'))


def test_an_unknown_zone_is_refused() -> None:
    assert "time zone" in str(refusal({**CONTENT, "timezone": "Mars/Base"}))


def test_a_plan_is_read_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "edited.json"
    path.write_text(TEXT, encoding="utf-8")
    assert load_plan(path) == load_plan(TEXT)
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match=r"edited\.json"):
        load_plan(path)
    with pytest.raises(InputError, match="there is no such file"):
        load_plan(tmp_path / "none.json")


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(deep for key, item in items for deep in _paths(item, (*path, key)))]


PATHS = _paths(CONTENT)[1:]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=250)
@given(path=st.sampled_from(PATHS), value=JSON, remove=st.booleans())
def test_any_damage_is_refused_or_read(path: tuple[Any, ...], value: Any, remove: bool) -> None:
    spoilt = copy.deepcopy(CONTENT)
    holder = spoilt
    for step in path[:-1]:
        holder = holder[step]
    if remove:
        del holder[path[-1]]
    else:
        holder[path[-1]] = value
    try:
        plan = load_plan(json.dumps(spoilt))
    except InputError:
        return
    assert load_plan(dump_plan(plan)) == load_plan(dump_plan(load_plan(dump_plan(plan))))


@given(st.text(max_size=60))
def test_any_text_is_refused(text: str) -> None:
    refusal(text)


@given(JSON.filter(lambda value: "nan" not in repr(value) and "inf" not in repr(value)))
def test_pretty_text_is_the_same_json(value: Any) -> None:
    assert json.loads(pretty(value)) == value
