"""Tags of OpenStreetMap as a truck driver reads them."""

from __future__ import annotations

import pytest

from routing.domain.road_settings import RoadSettings
from routing.travel.osm.roads import CAPS, DELAYS, KINDS, node_tags, road_tags
from routing.travel.osm.values import CLOSED, ENDS, OPEN, access_level, length_m, mass_kg, speed_km_per_h


@pytest.mark.parametrize(
    ("text", "kg"),
    [
        ("7.5", 7500), ("3,5", 3500), ("12 t", 12000), ("5000 kg", 5000), ("8000 lbs", 3628.74),
        ("10 st", 9071.85), ("default", None), ("none", None), ("", None), (None, None), ("7.5;12", None),
    ],
)  # fmt: skip
def test_posted_mass_in_tonnes_short_tons_and_pounds(text: str | None, kg: float | None) -> None:
    assert mass_kg(text) == (kg if kg is None else pytest.approx(kg, abs=0.01))


@pytest.mark.parametrize(
    ("text", "m"),
    [
        ("3.8", 3.8), ("3.8 m", 3.8), ("380 cm", 3.8), ("12'6\"", 3.81), ("12 ft 6 in", 3.81),
        ("13'", 3.9624),
        ("default", None), ("below_default", None), ("no_indications", None), ("x", None),
    ],
)  # fmt: skip
def test_posted_height_in_metres_feet_and_inches(text: str, m: float | None) -> None:
    assert length_m(text) == (m if m is None else pytest.approx(m, abs=1e-6))


@pytest.mark.parametrize(
    ("text", "km_per_h"),
    [
        ("50", 50), ("30 mph", 48.28032), ("DE:urban", 50), ("US:rural", 100), ("walk", 7), ("none", None),
        ("signals", None), ("0", None), ("50;30", 50),
    ],
)  # fmt: skip
def test_posted_speed_in_either_unit(text: str, km_per_h: float | None) -> None:
    assert speed_km_per_h(text) == (km_per_h if km_per_h is None else pytest.approx(km_per_h))


@pytest.mark.parametrize(
    ("tags", "level"),
    [
        ({}, OPEN), ({"access": "no"}, CLOSED), ({"access": "private"}, ENDS), ({"vehicle": "no"}, CLOSED),
        ({"access": "no", "motor_vehicle": "agricultural"}, OPEN), ({"motor_vehicle": "destination"}, ENDS),
        ({"access": "yes", "motor_vehicle": "no"}, CLOSED), ({"motor_vehicle": "no;agricultural"}, OPEN),
        ({"access": "permissive"}, OPEN), ({"access": "something new"}, ENDS),
    ],
)  # fmt: skip
def test_the_most_specific_access_key_decides(tags: dict[str, str], level: int) -> None:
    assert access_level(tags) == level


def _kind(**tags: str) -> str | None:
    found = road_tags(tags)
    return None if found is None else KINDS[found.kind]


def test_farm_tracks_are_roads_by_their_grade() -> None:
    assert _kind(highway="track") == "track"
    assert _kind(highway="track", tracktype="grade4") == "track_grade4"
    assert _kind(highway="track", tracktype="odd") == "track"


def test_paths_are_roads_only_where_motor_traffic_is_allowed_in_words() -> None:
    assert _kind(highway="path") is None
    assert _kind(highway="cycleway", motor_vehicle="no") is None
    assert _kind(highway="path", motor_vehicle="agricultural") == "track"


@pytest.mark.parametrize("highway", ["construction", "steps", "raceway", "proposed", "corridor"])
def test_what_no_truck_drives_on_is_no_road(highway: str) -> None:
    assert _kind(highway=highway) is None


def test_slip_roads_and_unnamed_roads_are_roads() -> None:
    assert (_kind(highway="trunk_link"), _kind(highway="road")) == ("link", "unclassified")


def test_hgv_no_closes_a_road_to_plated_masses_above_three_and_a_half_tonnes() -> None:
    found = road_tags({"highway": "residential", "hgv": "no"})
    assert found is not None
    assert (found.max_rating_kg, found.max_kg) == (3500, 0)


def test_hgv_yes_opens_what_is_closed_to_motor_traffic() -> None:
    assert road_tags({"highway": "service", "motor_vehicle": "no"}) is None
    assert road_tags({"highway": "service", "motor_vehicle": "no", "hgv": "yes"}) is not None


def test_mass_now_and_plated_mass_are_two_limits_and_the_lesser_of_several_holds() -> None:
    tags = {"highway": "track", "maxweight": "12", "maxweight:hgv": "9", "maxweightrating": "7.5"}
    found = road_tags(tags)
    assert found is not None
    assert (found.max_kg, found.max_rating_kg) == (9000, 7500)


def test_soft_tracks_and_bare_earth_are_for_dry_days() -> None:
    def dry_only(**tags: str) -> bool:
        found = road_tags({"highway": "track", **tags})
        assert found is not None
        return found.dry_only

    assert dry_only(tracktype="grade5")
    assert dry_only(surface="dirt")
    assert not dry_only(surface="dirt", tracktype="grade2")
    assert not dry_only(surface="gravel")
    assert not dry_only()


@pytest.mark.parametrize(
    ("tags", "ways"),
    [({}, 3), ({"oneway": "yes"}, 1), ({"oneway": "-1"}, 2), ({"junction": "roundabout"}, 1),
     ({"oneway": "yes", "oneway:hgv": "no"}, 3)],
)  # fmt: skip
def test_one_way_streets_and_roundabouts(tags: dict[str, str], ways: int) -> None:
    found = road_tags({"highway": "primary", **tags})
    assert found is not None
    assert found.open == ways


def test_motorway_is_one_way_unless_it_says_otherwise() -> None:
    one, two = road_tags({"highway": "motorway"}), road_tags({"highway": "motorway", "oneway": "no"})
    assert one is not None
    assert two is not None
    assert (one.open, two.open) == (1, 3)


@pytest.mark.parametrize(
    ("tags", "closed", "delay"),
    [
        ({"barrier": "gate"}, False, "gate"),
        ({"barrier": "gate", "access": "private"}, False, "private_gate"),
        ({"barrier": "gate", "locked": "yes"}, False, "private_gate"),
        ({"barrier": "gate", "access": "no"}, True, ""),
        ({"barrier": "bollard"}, True, ""), ({"barrier": "block"}, True, ""),
        ({"ford": "yes"}, False, "ford"),
        ({"highway": "traffic_signals"}, False, "signals"), ({"railway": "level_crossing"}, False, "stop"),
    ],
)  # fmt: skip
def test_points_that_hold_a_truck_up(tags: dict[str, str], closed: bool, delay: str) -> None:
    found = node_tags(tags)
    assert found is not None
    assert (found.closed, DELAYS[found.delay]) == (closed, delay)


@pytest.mark.parametrize("tags", [{"barrier": "cattle_grid"}, {"highway": "crossing"}, {"ford": "no"}])
def test_points_that_hold_nobody_up(tags: dict[str, str]) -> None:
    assert node_tags(tags) is None


def test_every_kind_surface_and_delay_has_its_setting() -> None:
    settings = RoadSettings()
    for name in (*KINDS, *CAPS[1:]):
        assert getattr(settings, f"{name}_km_per_h") > 0
    for name in DELAYS[1:]:
        assert getattr(settings, f"{name}_s") > 0
