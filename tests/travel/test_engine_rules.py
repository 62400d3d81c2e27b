"""The embedded engine with our truck profile, on hand-made roads: every rule where one can see it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from routing.domain.operation import Operation
from routing.domain.road_settings import RoadSettings
from routing.domain.settings import TravelSettings
from routing.domain.travel import Travel
from routing.travel.engine.engine import engine_travel
from tests.support.osm_xml import Grid, spot, write_osm
from tests.support.samples import depot, operation, truck, yard

pytest.importorskip("osrm", reason="the embedded engine is not installed: pip install 'feedround[engine]'")

ROAD = {"highway": "unclassified"}
POINTS: dict[str, Grid] = {
    "a": (0, 0), "b": (2, 0), "c": (4, 0), "d": (6, 0), "p": (2, 3), "q": (4, 3), "n": (0, 3), "z": (6, 3),
}  # fmt: skip
"""A straight road a b c d; a way round the middle by p and q; n and z to the north of the ends."""


@pytest.fixture(autouse=True)
def _cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FEEDROUND_CACHE", str(tmp_path_factory.mktemp("cache")))


def on(
    folder: Path,
    ways: Sequence[tuple[str, Mapping[str, str]]],
    home: str = "a",
    yards: str = "d",
    roads: RoadSettings | None = None,
    trucks: Sequence[Any] = (),
    **more: Any,
) -> Travel:
    """Travel by the engine between a depot and yards at lettered points."""
    write_osm(folder / "area.osm", POINTS, ways, **more)
    lat, lon = spot(POINTS[home])
    places = [yard(name, *spot(POINTS[name])) for name in yards]
    found: Operation = operation(
        places,
        [depot("D1", lat, lon)],
        trucks,
        travel=TravelSettings(method="engine", extract="area.osm"),
        roads=roads or RoadSettings(),
    )
    return engine_travel(found, folder)


def km(travel: Travel, yard_id: str, truck_id: str = "T1") -> float:
    return travel.leg(truck_id, "depot:D1", f"yard:{yard_id}").distance_m / 1000


def seconds(travel: Travel, yard_id: str, truck_id: str = "T1") -> int:
    return travel.leg(truck_id, "depot:D1", f"yard:{yard_id}").drive_s


DIRECT_KM, ROUND_KM = 6 * 0.7627, 6 * 0.7627 + 6 * 1.1120
"""Along a b c d, and round the middle stretch by p and q."""


def middle(tags: Mapping[str, str]) -> list[tuple[str, Mapping[str, str]]]:
    """The straight road with a middle stretch of its own, and the way round it."""
    return [("ab", ROAD), ("bc", {**ROAD, **tags}), ("cd", ROAD), ("bpqc", ROAD)]


def test_drive_takes_the_length_of_the_road_at_its_speed(tmp_path: Path) -> None:
    travel = on(tmp_path, [("abcd", ROAD)])
    assert km(travel, "d") == pytest.approx(DIRECT_KM, rel=0.005)
    assert seconds(travel, "d") == pytest.approx(DIRECT_KM / 40 * 3600, rel=0.01)


def test_farm_tracks_are_roads_only_slow_ones(tmp_path: Path) -> None:
    travel = on(tmp_path, [("abc", ROAD), ("cd", {"highway": "track", "tracktype": "grade3"})], yards="cd")
    assert km(travel, "d") == pytest.approx(DIRECT_KM, rel=0.005)
    assert seconds(travel, "d") - seconds(travel, "c") == pytest.approx(2 * 0.7627 / 14 * 3600, rel=0.01)


def test_speeds_of_the_user_are_driven(tmp_path: Path) -> None:
    slow = on(tmp_path, [("abcd", ROAD)], roads=RoadSettings(unclassified_km_per_h=20.0))
    assert seconds(slow, "d") == pytest.approx(DIRECT_KM / 20 * 3600, rel=0.01)


@pytest.mark.parametrize(
    ("tags", "km_per_h"),
    [
        ({"maxspeed": "30"}, 30),
        ({"maxspeed": "20 mph"}, 32.19),
        ({"maxspeed": "90"}, 40),
        ({"surface": "dirt"}, 25),
        ({"surface": "gravel", "maxspeed": "60"}, 40),
        ({"surface": "cobblestone:flattened"}, 25),
        ({"maxspeed": "none"}, 40),
    ],
)
def test_posted_limits_and_bad_surfaces_lower_the_speed_and_never_raise_it(
    tmp_path: Path, tags: dict[str, str], km_per_h: float
) -> None:
    travel = on(tmp_path, [("abcd", {**ROAD, **tags})])
    assert seconds(travel, "d") == pytest.approx(DIRECT_KM / km_per_h * 3600, rel=0.01)


HEAVY, LIGHT = truck("heavy", gvwr_kg=12_000.0), truck("light", gvwr_kg=3_400.0, tare_kg=2_200.0)


@pytest.mark.parametrize(
    "tags",
    [
        {"maxweight": "7.5"}, {"maxweight": "7.5 t"}, {"maxweight": "8 st"}, {"maxweight": "16000 lbs"},
        {"maxweightrating": "7,5"}, {"hgv": "no"},
    ],
)  # fmt: skip
def test_loaded_truck_goes_round_a_weak_bridge_and_a_light_one_crosses_it(
    tmp_path: Path, tags: dict[str, str]
) -> None:
    travel = on(tmp_path, middle(tags), trucks=[HEAVY, LIGHT])
    assert km(travel, "d", "heavy") == pytest.approx(ROUND_KM, rel=0.005)
    assert km(travel, "d", "light") == pytest.approx(DIRECT_KM, rel=0.005)


@pytest.mark.parametrize(
    "tags",
    [{"maxheight": "3.5"}, {"maxheight": "11'6\""}, {"maxheight": "350 cm"}, {"maxlength": "8"},
     {"maxwidth": "2.3"}, {"maxaxleload": "5"}],
)  # fmt: skip
def test_truck_too_high_too_long_too_wide_or_too_heavy_on_an_axle_goes_round(
    tmp_path: Path, tags: dict[str, str]
) -> None:
    small = truck("small", height_m=3.2, length_m=7.0, width_m=2.2, axle_kg=4000.0)
    big = truck("big", height_m=3.8, length_m=9.0, width_m=2.5, axle_kg=5600.0)
    unknown = truck("unknown")
    travel = on(tmp_path, middle(tags), trucks=[small, big, unknown])
    assert km(travel, "d", "big") == pytest.approx(ROUND_KM, rel=0.005)
    assert km(travel, "d", "small") == pytest.approx(DIRECT_KM, rel=0.005)
    assert km(travel, "d", "unknown") == pytest.approx(DIRECT_KM, rel=0.005)


@pytest.mark.parametrize(
    "tags", [{"maxheight": "default"}, {"maxheight": "none"}, {"maxweight": "unsigned"}, {"maxweight": "12"}]
)
def test_limits_that_say_nothing_or_do_not_bind_are_no_limits(tmp_path: Path, tags: dict[str, str]) -> None:
    travel = on(tmp_path, middle(tags), trucks=[truck("heavy", gvwr_kg=12_000.0, height_m=4.0)])
    assert km(travel, "d", "heavy") == pytest.approx(DIRECT_KM, rel=0.005)


@pytest.mark.parametrize("tags", [{"access": "no"}, {"motor_vehicle": "no"}, {"access": "private"},
                                  {"motor_vehicle": "destination"}, {"impassable": "yes"}])  # fmt: skip
def test_nobody_drives_through_what_is_closed_private_or_for_those_who_live_there(
    tmp_path: Path, tags: dict[str, str]
) -> None:
    assert km(on(tmp_path, middle(tags)), "d") == pytest.approx(ROUND_KM, rel=0.005)


@pytest.mark.parametrize("tags", [{"access": "agricultural"}, {"access": "permissive"}, {"access": "no;yes"},
                                  {"access": "no", "motor_vehicle": "yes"}])  # fmt: skip
def test_roads_for_farmers_are_open_to_a_beekeeper(tmp_path: Path, tags: dict[str, str]) -> None:
    assert km(on(tmp_path, middle(tags)), "d") == pytest.approx(DIRECT_KM, rel=0.005)


def test_yard_on_a_private_road_is_reached(tmp_path: Path) -> None:
    travel = on(tmp_path, [("abc", ROAD), ("cd", {**ROAD, "access": "private"})])
    assert km(travel, "d") == pytest.approx(DIRECT_KM, rel=0.005)


def test_one_way_street_is_driven_one_way(tmp_path: Path) -> None:
    travel = on(tmp_path, middle({"oneway": "yes"}))
    assert km(travel, "d") == pytest.approx(DIRECT_KM, rel=0.005)
    back = travel.leg("T1", "yard:d", "depot:D1").distance_m / 1000
    assert back == pytest.approx(ROUND_KM, rel=0.005)


def test_gate_costs_its_time_and_a_locked_one_more(tmp_path: Path) -> None:
    def with_barrier(tags: dict[str, str]) -> int:
        return seconds(on(tmp_path, [("abcd", ROAD)], tags={"b": tags}), "d")

    free = with_barrier({})
    assert with_barrier({"barrier": "gate"}) - free == pytest.approx(60, abs=1)
    assert with_barrier({"barrier": "gate", "locked": "yes"}) - free == pytest.approx(180, abs=1)
    assert with_barrier({"barrier": "cattle_grid"}) == free
    assert with_barrier({"highway": "traffic_signals"}) - free == pytest.approx(12, abs=1)


def test_bollards_stop_a_truck(tmp_path: Path) -> None:
    ways = [("abcd", ROAD), ("anzd", ROAD)]
    travel = on(tmp_path, ways, tags={"b": {"barrier": "bollard"}})
    assert km(travel, "d") == pytest.approx(6 * 0.7627 + 6 * 1.112, rel=0.005)


def test_turning_at_a_junction_takes_time(tmp_path: Path) -> None:
    ways = [("abcd", ROAD), ("bp", ROAD)]
    travel = on(tmp_path, ways, yards="dp", roads=RoadSettings(turn_s=50.0))
    straight_s = DIRECT_KM / 40 * 3600
    assert seconds(travel, "d") == pytest.approx(straight_s, rel=0.01)
    assert seconds(travel, "p") == pytest.approx((2 * 0.7627 + 3 * 1.112) / 40 * 3600 + 50, rel=0.01)


def test_forbidden_turn_is_not_taken(tmp_path: Path) -> None:
    ways = [("ab", ROAD), ("bc", ROAD), ("bp", ROAD), ("cq", ROAD), ("qp", ROAD)]
    free = on(tmp_path, ways, yards="p")
    assert km(free, "p") == pytest.approx(2 * 0.7627 + 3 * 1.112, rel=0.005)
    ruled = on(tmp_path, ways, yards="p", no_turns=[(0, "b", 2, "no_left_turn")])
    assert km(ruled, "p") == pytest.approx(6 * 0.7627 + 3 * 1.112, rel=0.005)
    back = ruled.leg("T1", "yard:p", "depot:D1").distance_m / 1000
    assert back == pytest.approx(2 * 0.7627 + 3 * 1.112, rel=0.005)


def test_way_forbidden_over_a_road_between_is_not_driven(tmp_path: Path) -> None:
    ways = [("ab", ROAD), ("bp", ROAD), ("pn", ROAD), ("na", {"highway": "living_street"})]
    straight_km, round_km = 4 * 0.7627 + 3 * 1.112, 3 * 1.112
    quick = RoadSettings(living_street_km_per_h=2.0)
    assert km(on(tmp_path, ways, yards="n", roads=quick), "n") == pytest.approx(straight_km, rel=0.005)
    ruled = on(tmp_path, ways, yards="n", roads=quick, no_turns=[(0, (1,), 2, "no_u_turn")])
    assert km(ruled, "n") == pytest.approx(round_km, rel=0.005)


@pytest.mark.parametrize(
    "tags",
    [
        {"highway": "track", "tracktype": "grade5"}, {"highway": "track", "surface": "dirt"},
        {"highway": "unclassified", "ford": "yes"},
    ],
)  # fmt: skip
def test_soft_tracks_and_fords_are_closed_on_a_wet_day(tmp_path: Path, tags: dict[str, str]) -> None:
    ways = [("ab", ROAD), ("bc", tags), ("cd", ROAD), ("bpqc", {"highway": "living_street"})]
    dry = on(tmp_path, ways, roads=RoadSettings(ground="dry", living_street_km_per_h=1.0))
    assert km(dry, "d") == pytest.approx(DIRECT_KM, rel=0.005)
    wet = on(tmp_path, ways, roads=RoadSettings(ground="wet", living_street_km_per_h=1.0))
    assert km(wet, "d") == pytest.approx(ROUND_KM, rel=0.005)


def test_paths_are_no_roads_unless_motor_traffic_is_allowed(tmp_path: Path) -> None:
    assert km(on(tmp_path, middle({"highway": "path"})), "d") == pytest.approx(ROUND_KM, rel=0.005)
    allowed = middle({"highway": "path", "motor_vehicle": "yes"})
    slow = RoadSettings(track_km_per_h=39.0)
    assert km(on(tmp_path, allowed, roads=slow), "d") == pytest.approx(DIRECT_KM, rel=0.005)


def test_yard_beside_the_road_is_driven_to_over_the_field(tmp_path: Path) -> None:
    POINTS["f"] = (6, 0.2)
    try:
        travel = on(tmp_path, [("abcd", ROAD)], yards="df")
    finally:
        del POINTS["f"]
    assert km(travel, "f") - km(travel, "d") == pytest.approx(0.222, abs=0.002)
    assert seconds(travel, "f") - seconds(travel, "d") == pytest.approx(222 / (8 / 3.6), abs=2)


def test_yard_beside_a_motorway_is_reached_from_the_lane_beyond_it(tmp_path: Path) -> None:
    POINTS.update({"m": (0, 0.1), "o": (6, 0.1), "f": (3, 0.09)})
    try:
        big = {"highway": "motorway", "oneway": "no"}
        ways = [("abcd", ROAD), ("am", ROAD), ("mo", big), ("od", ROAD)]
        travel = on(tmp_path, ways, yards="df")
    finally:
        for name in "mof":
            del POINTS[name]
    assert km(travel, "f") == pytest.approx(3 * 0.7627 + 0.09 * 1.112, rel=0.01)
    assert seconds(travel, "f") > 3 * 762.7 / (40 / 3.6)


def test_no_data_of_another_day_is_used_when_the_ground_changes(tmp_path: Path) -> None:
    ways = [("ab", ROAD), ("bc", {"highway": "track", "tracktype": "grade5"}), ("cd", ROAD), ("bpqc", ROAD)]
    quick = RoadSettings(track_grade5_km_per_h=40.0)
    wet = RoadSettings(track_grade5_km_per_h=40.0, ground="wet")
    found = [km(on(tmp_path, ways, roads=roads), "d") for roads in (quick, wet, quick)]
    assert found == pytest.approx([DIRECT_KM, ROUND_KM, DIRECT_KM], rel=0.005)
