"""What a crew types on a phone is read as meant, or refused with how to write it."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.domain.errors import ValueRefused
from routing.domain.units import L_PER_US_GAL
from routing.files.log.words import counts, known_id, meter, minutes, reason, said, volume_l
from routing.log.complete.complete import Said
from routing.log.complete.share import shares, whole_shares
from routing.log.facts import Meter, SkipReason


@pytest.mark.parametrize(
    ("text", "units", "litres"),
    [
        ("120gal", "metric", 120 * L_PER_US_GAL),
        ("120 gal", "us", 120 * L_PER_US_GAL),
        ("120G", "metric", 120 * L_PER_US_GAL),
        ("120", "us", 120 * L_PER_US_GAL),
        ("120", "metric", 120.0),
        ("450L", "us", 450.0),
        ("450 litres", "us", 450.0),
        (".5l", "us", 0.5),
        ("0", "us", 0.0),
    ],
)
def test_an_amount_carries_its_unit_or_is_in_the_operations_own(text: str, units: str, litres: float) -> None:
    assert volume_l(text, units) == pytest.approx(litres, abs=1e-5)


@pytest.mark.parametrize(
    "text", ["", "gal", "-5gal", "1,200gal", "1e3L", "nan", "inf", "5lb", "5 5gal", "٣gal", "9999999L"]
)
def test_what_is_no_amount_is_refused(text: str) -> None:
    with pytest.raises(ValueRefused):
        volume_l(text, "us")


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("80L", Said(total_l=80.0)),
        ("38/80L", Said(count=38, total_l=80.0)),
        ("40x2L", Said(count=40, each_l=2.0)),
        ("40X2L", Said(count=40, each_l=2.0)),
        ("40 x 2 L", Said(count=40, each_l=2.0)),
        ("weak=10/12L", Said("weak", 10, total_l=12.0)),
        ("late splits=10/12L", Said("late splits", 10, total_l=12.0)),
        ("rear=hfcs55:120L", Said("rear", total_l=120.0, syrup_id="hfcs55")),
        ("front=full", Said("front", full=True)),
        ("weak=9x", Said("weak", 9)),
        ("pails=12x2L", Said("pails", 12, each_l=2.0)),
    ],
)
def test_colonies_amounts_groups_and_syrups_stand_in_one_word(text: str, meant: Said) -> None:
    assert said(text, "metric") == meant


@pytest.mark.parametrize("text", ["", "=", "weak=", "x", "/5L", "a=b=5L", "38//80L"])
def test_half_a_word_is_refused(text: str) -> None:
    with pytest.raises(ValueRefused):
        said(text, "metric")


@given(st.text(max_size=30))
def test_no_text_at_all_breaks_the_reader(text: str) -> None:
    for read in (
        lambda: said(text, "us"),
        lambda: volume_l(text, "us"),
        lambda: meter(text, "metric"),
        lambda: minutes(text),
        lambda: reason(text),
        lambda: counts([text], "--alive"),
        lambda: known_id(text, {"Y1": "Oak bottom", "Y2": "Oak bottom"}, "yard"),
    ):
        with contextlib.suppress(ValueRefused):
            read()


def test_a_meter_is_its_reading_before_and_after() -> None:
    assert meter("1200-1280", "metric") == Meter(1200.0, 1280.0)
    assert meter("1200 - 1280L", "us") == Meter(1200.0, 1280.0)
    assert meter("10gal-20gal", "metric").volume_l == pytest.approx(10 * L_PER_US_GAL, abs=1e-5)
    for text in ("1280-1200", "1200", "1200-", "-1200", "1-2-3"):
        with pytest.raises(ValueRefused):
            meter(text, "us")


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("30", 1800), ("30min", 1800), ("45 m", 2700), ("1h", 3600), ("1.5h", 5400), ("1:15", 4500)],
)
def test_a_length_of_time_is_minutes_unless_said(text: str, seconds: int) -> None:
    assert minutes(text) == seconds


def test_the_beginning_of_a_reason_is_enough_where_it_is_the_only_one() -> None:
    assert reason("gate") is SkipReason.GATE_LOCKED
    assert reason("Sick") is SkipReason.SICK_BROOD
    assert reason("cold or wet") is SkipReason.COLD_OR_WET
    for text in ("o", "no", "", "asleep"):
        with pytest.raises(ValueRefused, match="gate_locked"):
            reason(text)


def test_an_id_is_meant_before_a_name_and_two_alike_are_never_guessed() -> None:
    names = {"Y1": "y2", "Y2": "Oak", "y3": "Elm", "Y3": "Elm"}
    assert known_id("y2", names, "yard") == "Y2"
    assert known_id("oak", names, "yard") == "Y2"
    assert known_id("y3", names, "yard") == "y3"
    with pytest.raises(ValueRefused):
        known_id("elm", names, "yard")


@given(st.integers(0, 10_000), st.lists(st.floats(0, 1e6), min_size=1, max_size=8))
def test_shares_add_up_to_the_whole_and_none_is_off_by_one(total: int, weights: list[float]) -> None:
    parts = whole_shares(total, weights)
    assert sum(parts) == total
    whole = sum(weights)
    for part, weight in zip(parts, weights, strict=True):
        exact = total * weight / whole if whole else total / len(weights)
        assert abs(part - exact) < 1 + 1e-6


@given(st.integers(0, 4_000_000).map(lambda n: n / 1000), st.lists(st.floats(0, 500), min_size=1, max_size=6))
def test_litres_shared_out_are_all_there(total_l: float, weights: list[float]) -> None:
    assert sum(shares(total_l, weights)) == pytest.approx(total_l, abs=1e-9)
