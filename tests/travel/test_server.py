"""Travel from a routing server that the user names: what is asked, and what comes of sound answers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.settings import TravelSettings
from routing.travel.server.server import server_travel
from tests.support.fake_server import Fake, road_m, road_s, running, send
from tests.support.samples import BASE, operation, truck, yard


@pytest.fixture
def fake() -> Iterator[Fake]:
    with running() as server:
        yield server


def asks(fake: Fake, kind: str = "osrm", n: int = 3, **more: Any) -> Operation:
    """An operation with n yards that asks the server."""
    rng = np.random.default_rng(4)
    spots = zip(rng.uniform(46.5, 47.1, n).round(5), rng.uniform(-101.2, -100.4, n).round(5), strict=True)
    yards = [yard(f"Y{i}", float(lat), float(lon)) for i, (lat, lon) in enumerate(spots)]
    settings = {"method": "server", "server_url": fake.url, "server_kind": kind, **more.pop("travel", {})}
    return operation(more.pop("yards", yards), travel=TravelSettings(**settings), **more)


@pytest.mark.parametrize("kind", ["osrm", "valhalla"])
def test_leg_is_what_the_server_says_rounded_up(fake: Fake, kind: str) -> None:
    light = [truck("T1", gvwr_kg=7000.0)]
    travel = server_travel(asks(fake, kind, trucks=light))
    places = dict(zip(travel.places, travel.positions, strict=True))
    for a, b in (("depot:D1", "yard:Y1"), ("yard:Y1", "depot:D1"), ("yard:Y2", "yard:Y0")):
        leg = travel.leg("T1", a, b)
        assert leg.distance_m == math.ceil(round(road_m(places[a], places[b]), 1 if kind == "osrm" else 0))
        seconds = road_s(places[a], places[b])
        assert leg.drive_s == (math.ceil(round(seconds, 1)) if kind == "osrm" else round(seconds))


def test_a_table_for_each_direction(fake: Fake) -> None:
    travel = server_travel(asks(fake))
    table = travel.matrix.drive_s
    assert (np.abs(table - table.T)[~np.eye(len(table), dtype=bool)] >= 99).all()


@pytest.mark.parametrize(("kind", "requests"), [("osrm", 9), ("valhalla", 9)])
def test_many_places_are_asked_for_in_blocks_and_put_together_right(
    fake: Fake, kind: str, requests: int
) -> None:
    travel = server_travel(asks(fake, kind, n=120, trucks=[truck("T1", gvwr_kg=7000.0)]))
    assert len(fake.tables) == requests
    spots = travel.positions
    rng = np.random.default_rng(1)
    for i, j in rng.integers(0, 121, (60, 2)):
        expected = road_m(spots[i], spots[j]) if i != j else 0
        assert travel.matrix.distance_m[i, j] == pytest.approx(expected, abs=1.1)


def test_hundred_places_are_one_question_to_an_osrm_server(fake: Fake) -> None:
    server_travel(asks(fake, n=99))
    assert len(fake.tables) == 1


@pytest.mark.parametrize("kind", ["osrm", "valhalla"])
def test_server_that_takes_fewer_places_is_asked_for_smaller_blocks(fake: Fake, kind: str) -> None:
    fake.most_places, fake.most_pairs = 8, 16
    travel = server_travel(asks(fake, kind, n=20, trucks=[truck("T1", gvwr_kg=7000.0)]))
    spots = travel.positions
    assert travel.matrix.distance_m[3, 17] == pytest.approx(road_m(spots[3], spots[17]), abs=1.1)


def test_server_that_takes_no_places_at_all_is_said_so(fake: Fake) -> None:
    fake.most_places = 1
    with pytest.raises(FeedroundError, match="fewer places at once"):
        server_travel(asks(fake, n=5))


def test_last_mile_counts_at_both_ends(fake: Fake) -> None:
    def legs(last_mile_s: int) -> list[int]:
        pair = [yard("A", 46.9, -100.9, last_mile_s=last_mile_s), yard("B", 47.0, -100.7)]
        travel = server_travel(asks(fake, yards=pair))
        ends = [("depot:D1", "yard:A"), ("yard:A", "yard:B"), ("yard:B", "depot:D1")]
        return [travel.leg("T1", *end).drive_s for end in ends]

    assert [b - a for a, b in zip(legs(0), legs(300), strict=True)] == [300, 300, 0]


def test_way_between_road_and_yard_is_driven_slowly(fake: Fake) -> None:
    on_road = server_travel(asks(fake)).leg("T1", "depot:D1", "yard:Y1")
    fake.moved_m = 200.0
    beside = server_travel(asks(fake)).leg("T1", "depot:D1", "yard:Y1")
    assert beside.distance_m - on_road.distance_m == 400
    assert beside.drive_s - on_road.drive_s == 2 * 90  # 200 m at 8 km/h


@pytest.mark.parametrize("kind", ["osrm", "valhalla"])
def test_places_far_from_a_road_are_warned_of_in_the_operations_own_units(fake: Fake, kind: str) -> None:
    fake.moved_m = 900.0
    warnings = server_travel(asks(fake, kind)).warnings
    assert {w.place for w in warnings} == {"depot:D1", "yard:Y0", "yard:Y1", "yard:Y2"}
    assert {w.code for w in warnings} == {"far_from_road"}
    assert all("2,95" in w.text and " ft away" in w.text for w in warnings)


def test_places_at_the_roadside_are_not_warned_of(fake: Fake) -> None:
    fake.moved_m = 30.0
    assert server_travel(asks(fake)).warnings == ()


def test_place_kilometres_from_every_road_is_an_error_with_its_coordinates(fake: Fake) -> None:
    fake.moved_m = 5_200.0
    with pytest.raises(FeedroundError, match=rf"depot D1 at {BASE.lat:.5f}, {BASE.lon:.5f}.* 5 km"):
        server_travel(asks(fake))


def test_heavy_truck_has_a_table_of_its_own_where_the_server_knows_trucks(fake: Fake) -> None:
    fleet = [truck("light", gvwr_kg=7000.0), truck("heavy", gvwr_kg=12000.0), truck("twin", gvwr_kg=12000.0)]
    travel = server_travel(asks(fake, "valhalla", trucks=fleet))
    light, heavy = (travel.leg(t, "depot:D1", "yard:Y1").distance_m for t in ("light", "heavy"))
    assert heavy == pytest.approx(1.5 * light, abs=2)
    assert travel.matrix_for("heavy") is travel.matrix_for("twin")
    assert len(fake.tables) == 2


def test_server_is_told_the_legal_gross_and_size_of_each_truck(fake: Fake) -> None:
    fleet = [truck("T1", gvwr_kg=8845.0, length_m=8.2, height_m=3.1, width_m=2.4, axle_kg=5600.0)]
    server_travel(asks(fake, "valhalla", trucks=fleet))
    told = fake.questions[0]["costing_options"]["truck"]
    assert (told["weight"], told["length"], told["height"]) == (8.845, 8.2, 3.1)
    assert (told["width"], told["axle_load"]) == (2.4, 5.6)
    assert told["use_tracks"] > 0


def test_place_without_a_road_is_named_before_valhalla_refuses_them_all(fake: Fake) -> None:
    fake.no_road_north_of = 46.95
    off = [yard("In", 46.9, -100.9), yard("Out", 47.4, -100.9)]
    with pytest.raises(FeedroundError, match=r"yard Out at 47.40000, -100.90000: more than 5 km"):
        server_travel(asks(fake, "valhalla", yards=off))
    assert fake.tables == []


def test_valhalla_that_does_not_offer_locate_still_serves(fake: Fake) -> None:
    fake.locates = False
    assert server_travel(asks(fake, "valhalla")).leg("T1", "depot:D1", "yard:Y0").distance_m > 0


def test_valhalla_behind_a_page_that_hides_locate_still_serves(fake: Fake) -> None:
    fake.instead = lambda number, handler: (
        handler.path == "/locate" and (send(handler, 404, "text/html", b"<html/>") or True)
    )
    assert server_travel(asks(fake, "valhalla")).leg("T1", "depot:D1", "yard:Y0").distance_m > 0


def test_older_valhalla_answers_with_an_object_a_pair(fake: Fake) -> None:
    compact = server_travel(asks(fake, "valhalla")).matrix
    fake.compact = False
    wordy = server_travel(asks(fake, "valhalla")).matrix
    assert (compact.drive_s == wordy.drive_s).all()
    assert (compact.distance_m == wordy.distance_m).all()


def test_profile_of_the_user_is_asked_for(fake: Fake) -> None:
    server_travel(asks(fake, travel={"server_profile": "truck-7.5"}))
    assert fake.asked[0].startswith("/table/v1/truck-7.5/")


def test_path_of_the_address_is_kept(fake: Fake) -> None:
    fake.instead = lambda number, handler: (
        setattr(handler, "path", handler.path.removeprefix("/osrm")) or False
    )
    settings = {"server_url": fake.url + "/osrm/"}
    server_travel(asks(fake, travel=settings))
    assert fake.asked[0].startswith("/osrm/table/v1/driving/")


def test_provenance_names_the_server_and_is_no_estimate(fake: Fake) -> None:
    told = server_travel(asks(fake)).provenance
    assert told.method == "server"
    assert fake.url in told.note
    assert not told.estimated


def test_only_the_places_are_sent_no_names(fake: Fake) -> None:
    server_travel(asks(fake, yards=[yard("SecretMeadow", 46.91, -100.91)]))
    assert all("Secret" not in path and "Yard" not in path for path in fake.asked)


def test_key_from_the_environment_goes_to_the_server_and_into_no_message(
    fake: Fake, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FEEDROUND_SERVER_AUTH", "Bearer s3cret-key-17")
    travel = server_travel(asks(fake))
    assert fake.headers[0]["Authorization"] == "Bearer s3cret-key-17"
    assert "s3cret" not in travel.provenance.note
    fake.spoil = lambda answer: {"code": "InvalidQuery", "message": "key s3cret-key-17 is over its quota"}
    with pytest.raises(FeedroundError) as refusal:
        server_travel(asks(fake))
    assert "over its quota" in str(refusal.value)
    assert "s3cret" not in str(refusal.value)
