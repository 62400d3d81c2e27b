"""Rules under a condition, at their strictest."""

from __future__ import annotations

import pytest

from routing.travel.osm.conditions import Rule, conditional, is_conditional
from routing.travel.osm.roads import RoadTags, road_tags


def _road(**tags: str) -> RoadTags:
    found = road_tags(
        {"highway": "tertiary", **{key.replace("__", ":"): value for key, value in tags.items()}}
    )
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        (None, []), ("", []), ("no", []),
        ("no @ (22:00-06:00)", [Rule("no", ("22:00-06:00",))]),
        ("80@(wet)", [Rule("80", ("wet",))]),
        ("no @ wet", [Rule("no", ("wet",))]),
        ("no @ (Mo-Fr 07:00-09:00; Sa 08:00-10:00)", [Rule("no", ("mo-fr 07:00-09:00; sa 08:00-10:00",))]),
        ("no @ (weight>7.5 AND 22:00-06:00); destination @ (weight>3.5)",
         [Rule("no", ("weight>7.5", "22:00-06:00")), Rule("destination", ("weight>3.5",))]),
    ],
)  # fmt: skip
def test_values_are_told_from_their_conditions(text: str | None, rules: list[Rule]) -> None:
    assert list(conditional(text)) == rules


def test_road_closed_at_hours_is_no_way_through_but_may_be_driven_to() -> None:
    assert _road(hgv__conditional="no @ (22:00-06:00)").ends_only
    assert _road(access__conditional="destination @ (Su)").ends_only
    assert not _road().ends_only


def test_road_opened_at_hours_stays_as_it_is() -> None:
    tags = {"highway": "tertiary", "access": "no", "access:conditional": "yes @ (May-Oct)"}
    assert road_tags(tags) is None
    assert not _road(access__conditional="yes @ (May-Oct)").ends_only


def test_road_closed_above_a_weight_or_size_is_a_limit_at_any_hour() -> None:
    assert _road(hgv__conditional="no @ (weight>7.5)").max_kg == 7500
    assert _road(hgv__conditional="no @ (weight>=7.5 AND 22:00-06:00)").max_kg == 7500
    assert _road(access__conditional="no @ (weightrating>12)").max_rating_kg == 12000
    assert _road(motor_vehicle__conditional="no @ (length>9)").max_length_cm == 900
    assert _road(hgv__conditional="no @ (height>3.2)").max_height_cm == 320
    assert not _road(hgv__conditional="no @ (weight>7.5)").ends_only


def test_road_closed_when_wet_is_for_dry_days() -> None:
    assert _road(motor_vehicle__conditional="no @ (wet)").dry_only
    assert not _road(motor_vehicle__conditional="no @ (wet)").ends_only


def test_least_of_a_limit_and_its_conditional_values_counts() -> None:
    assert _road(maxweight="12", maxweight__conditional="6 @ (Mar-Apr)").max_kg == 6000
    assert _road(maxweight="6", maxweight__conditional="none @ (destination); 20 @ (Jul)").max_kg == 6000
    assert _road(maxspeed="80", maxspeed__conditional="30 @ (wet)").posted_km_per_h == 30


def test_one_way_at_hours_is_one_way_and_a_changing_direction_no_road() -> None:
    assert _road(oneway__conditional="yes @ (07:00-09:00)").open == 1
    assert _road(oneway__conditional="-1 @ (07:00-09:00)").open == 2
    assert _road(oneway__conditional="no @ (Su)").open == 3
    assert road_tags({"highway": "primary", "oneway": "reversible"}) is None
    changing = {"highway": "primary", "oneway:conditional": "yes @ (00:00-12:00); -1 @ (12:00-24:00)"}
    assert road_tags(changing) is None


@pytest.mark.parametrize(
    "text", ["@", "no @", "@ (wet)", "no @ ()", "(((", "no @ (weight>much)", ";;", "no@(("]
)
def test_what_nobody_can_read_does_no_harm(text: str) -> None:
    for key in ("hgv", "maxweight", "maxspeed", "oneway"):
        assert _road(**{f"{key}__conditional": text}).kind >= 0


def test_roads_with_such_rules_are_counted() -> None:
    assert is_conditional({"hgv:conditional": "no @ (wet)"})
    assert not is_conditional({"hgv": "no", "overtaking:conditional": "no @ hgv"})
