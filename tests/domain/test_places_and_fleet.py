"""Yards, stores, trucks, tanks and doses: what they hold, and what they refuse to be."""

from __future__ import annotations

from datetime import date

import pytest

from routing.domain.errors import InputError, InputProblem, ValueRefused
from routing.domain.fleet import Tank
from routing.domain.places import Depot, Frame, Health, Position, Stock, Stores
from routing.domain.ration import Dose, YardNeed
from routing.domain.supplies import Feeder, FeederPosition, Syrup, SyrupKind
from tests.support.samples import BASE, truck, yard


def test_quarantine_ranks_after_watch_and_watch_after_clean() -> None:
    assert Health.CLEAN.rank < Health.WATCH.rank < Health.QUARANTINE.rank


@pytest.mark.parametrize(("lat", "lon"), [(90.1, 0), (-90.1, 0), (0, 180.1), (0, -180.1), (float("nan"), 0)])
def test_place_off_the_globe_is_refused(lat: float, lon: float) -> None:
    with pytest.raises(ValueRefused):
        Position(lat, lon)


@pytest.mark.parametrize(
    "ways",
    [
        {},
        {"stores_kg": 10.0, "gross_kg": 60.0, "tare_kg": 30.0},
        {"honey_frames": 4.0},
        {"gross_kg": 60.0},
    ],
    ids=["in no way", "in two ways", "frames of no size", "weight without tare"],
)
def test_stores_are_judged_in_one_whole_way(ways: dict[str, float]) -> None:
    with pytest.raises(ValueRefused):
        Stores(**ways)
    assert Stores(honey_frames=4.0, frame=Frame.DEEP).honey_frames == 4.0


def test_truck_whose_tare_is_its_legal_gross_can_carry_nothing_and_is_refused() -> None:
    with pytest.raises(ValueRefused, match="T1"):
        truck(gvwr_kg=5000.0, tare_kg=5000.0)
    assert truck(gvwr_kg=8000.0, tare_kg=5000.0).payload_kg == 3000.0


def test_full_truck_never_uses_less_fuel_than_an_empty_one() -> None:
    with pytest.raises(ValueRefused):
        truck(fuel_empty_l_per_km=0.3, fuel_full_l_per_km=0.25)


def test_truck_without_a_crew_is_refused() -> None:
    with pytest.raises(ValueRefused):
        truck(crew=0)


def test_truck_without_dates_is_there_every_day_and_one_with_dates_on_those() -> None:
    day, other = date(2026, 9, 28), date(2026, 9, 29)
    assert truck().available_on(day)
    assert truck(available=(day,)).available_on(day)
    assert not truck(available=(day,)).available_on(other)


def test_tank_cannot_hold_more_than_its_capacity() -> None:
    assert Tank("A", 1000.0, level_l=1000.0).level_l == 1000.0
    with pytest.raises(ValueRefused):
        Tank("A", 1000.0, level_l=1000.1)


def test_depot_knows_its_store_of_each_syrup() -> None:
    store = Stock("D1", "two", 4000.0, 1.5)
    depot = Depot("D1", "Honey house", BASE, stock=(store,))
    assert depot.stock_of("two") is store
    assert depot.stock_of("hfcs") is None


def test_percentage_of_solids_is_not_a_fraction() -> None:
    with pytest.raises(ValueRefused):
        Syrup("two", SyrupKind.SUCROSE, 66.7)


def test_feeder_that_holds_nothing_is_refused() -> None:
    with pytest.raises(ValueRefused):
        Feeder("jar", FeederPosition.ENTRANCE, 0.0, 20.0)


def test_negative_times_in_a_yard_are_refused() -> None:
    for wrong in ({"setup_s": -1}, {"last_mile_s": -1}, {"yard_id": ""}):
        with pytest.raises(ValueRefused):
            yard(**wrong)


def test_yard_need_sums_its_doses_and_counts_pails_of_swapped_feeders_only() -> None:
    pumped = Dose("strong", "frame2", "two", 24, 7.0, 50.0)
    pails = Dose("weak", "pail", "two", 8, 7.5708, 110.0, swapped=True)
    need = YardNeed("Y1", 32, (pumped, pails), 12.0, False, 1, "why")
    assert (pumped.pails, pails.pails) == (0, 8)
    assert need.volume_l == pytest.approx(228.566)
    assert need.fed_colonies == 32
    assert need.service_s == 24 * 50 + 8 * 110


def test_input_problem_reads_as_file_row_column_value_wrong_remedy() -> None:
    problem = InputProblem(
        "negative", "yards.csv", 7, "setup_min", "-5", "less than nothing", "type 0 or more"
    )
    assert str(problem) == "yards.csv:7:setup_min: -5: less than nothing: type 0 or more"
    whole_file = InputProblem("missing_file", "tanks.csv", 0, "", "", "not there", "add it")
    assert str(whole_file) == "tanks.csv: not there: add it"
    assert str(InputError([problem, whole_file])).splitlines() == [str(problem), str(whole_file)]
