"""Routing servers that hang, lie, die or are none: each ends in its own message, and nothing is made up."""

from __future__ import annotations

import json
import math
import socket
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler
from typing import Any

import pytest

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.settings import TravelSettings
from routing.domain.travel import Travel
from routing.travel.server import server as server_module
from routing.travel.server.address import read_address
from routing.travel.server.http import Asker, ServerError
from routing.travel.server.server import server_travel
from tests.support.fake_server import Fake, running, send
from tests.support.samples import operation, truck, yard


@pytest.fixture
def fake() -> Iterator[Fake]:
    with running() as server:
        yield server


@pytest.fixture(autouse=True)
def _no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three tries as ever, without the pauses between them."""

    def quick(*given: Any, **more: Any) -> Asker:
        return Asker(*given, **more, pauses_s=(0.0, 0.0))

    monkeypatch.setattr(server_module, "Asker", quick)


def asks(url: str, kind: str = "osrm", **travel: Any) -> Operation:
    yards = [yard("A", 46.9, -100.9), yard("B", 47.0, -100.7)]
    settings = {"method": "server", "server_url": url, "server_kind": kind, "server_timeout_s": 5.0, **travel}
    return operation(yards, travel=TravelSettings(**settings), trucks=[truck("T1", gvwr_kg=7000.0)])


def refusal(url: str, kind: str = "osrm", **travel: Any) -> str:
    with pytest.raises(FeedroundError) as error:
        server_travel(asks(url, kind, **travel))
    text = str(error.value)
    assert "\n" not in text
    return text


def test_nobody_listens() -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    text = refusal(f"http://127.0.0.1:{port}")
    assert "nothing is listening there" in text
    assert "tried 3 times" in text
    assert f"http://127.0.0.1:{port}" in text


def test_machine_that_does_not_exist() -> None:
    assert "no such host" in refusal("http://nowhere.invalid")


def test_server_that_hangs(fake: Fake) -> None:
    fake.instead = lambda number, handler: fake.released.wait(20)
    began = time.monotonic()
    text = refusal(fake.url, server_timeout_s=0.3)
    assert "no answer within 0.3 s" in text
    assert time.monotonic() - began < 5


def test_server_that_drips_one_byte_after_another(fake: Fake) -> None:
    def drip(number: int, handler: BaseHTTPRequestHandler) -> bool:
        handler.send_response(200)
        handler.send_header("Content-Type", "application/json")
        handler.end_headers()
        while not fake.released.wait(0.05):
            try:
                handler.wfile.write(b" ")
            except OSError:
                break
        return True

    fake.instead = drip
    began = time.monotonic()
    assert "no answer within 0.4 s" in refusal(fake.url, server_timeout_s=0.4)
    assert time.monotonic() - began < 5


@pytest.mark.parametrize("sized", [True, False])
def test_server_that_dies_half_way_through_an_answer(fake: Fake, sized: bool) -> None:
    def die(number: int, handler: BaseHTTPRequestHandler) -> bool:
        handler.send_response(200)
        handler.send_header("Content-Type", "application/json")
        if sized:
            handler.send_header("Content-Length", "5000")
        handler.end_headers()
        handler.wfile.write(b'{"code":"Ok","durations":[[0,1')
        return True

    fake.instead = die
    text = refusal(fake.url)
    assert ("stopped in the middle" if sized else "truncated") in text
    assert len(fake.asked) == 3


def test_server_that_dies_between_two_blocks_leaves_nothing(fake: Fake) -> None:
    fake.most_places = 2

    def die(number: int, handler: BaseHTTPRequestHandler) -> bool:
        if number >= 4:
            handler.connection.close()
            return True
        return False

    fake.instead = die
    assert "closed the connection" in refusal(fake.url)


def test_server_that_stumbles_once_is_asked_again(fake: Fake) -> None:
    def stumble(number: int, handler: BaseHTTPRequestHandler) -> bool:
        if number == 0:
            send(handler, 503, "application/json", b'{"message":"starting"}', Retry_After="0")
        return number == 0

    fake.instead = stumble
    assert server_travel(asks(fake.url)).provenance.method == "server"
    assert len(fake.asked) == 2


def test_pause_that_a_busy_server_asks_for_is_kept_within_reason() -> None:
    slept: list[float] = []
    with running() as fake:
        fake.instead = lambda number, handler: (
            send(handler, 429, "application/json", b'{"message":"slow"}', Retry_After="3600") or True
        )
        asker = Asker(read_address(fake.url), sleep=slept.append)
        with pytest.raises(ServerError, match="reports an error"):
            asker.get("/")
    assert slept == [10.0, 10.0]


def test_web_page_in_place_of_a_table(fake: Fake) -> None:
    fake.instead = lambda number, handler: send(handler, 200, "text/html", b"<html>Welcome</html>") or True
    text = refusal(fake.url)
    assert "a web page" in text
    assert len(fake.asked) == 1


def test_error_page_of_something_in_between(fake: Fake) -> None:
    fake.instead = lambda number, handler: (
        send(handler, 502, "text/html", b"<html>Bad gateway</html>") or True
    )
    assert "status 502" in refusal(fake.url)
    assert len(fake.asked) == 3


def test_json_with_the_wrong_type_told(fake: Fake) -> None:
    fake.instead = lambda number, handler: send(handler, 200, "text/plain", b'{"code":"Ok"}') or True
    assert "text/plain" in refusal(fake.url)


def test_answer_that_speaks_no_http() -> None:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()

        def rude() -> None:
            # It is asked once: what speaks another language will do so the next time as well.
            client, _ = listener.accept()
            client.recv(4096)
            client.sendall(b"220 mail.example ESMTP\r\n")
            client.close()

        thread = threading.Thread(target=rude, daemon=True)
        thread.start()
        assert "does not speak HTTP" in refusal(f"http://127.0.0.1:{listener.getsockname()[1]}")


def test_https_asked_of_a_server_without_it(fake: Fake) -> None:
    assert "Try http://" in refusal(fake.url.replace("http://", "https://"))


def test_redirect_is_not_followed_so_that_places_go_nowhere_else(fake: Fake) -> None:
    with running() as other:
        fake.instead = lambda number, handler: (
            send(handler, 302, "application/json", b"{}", Location=other.url + "/table") or True
        )
        assert "another address, which is not followed" in refusal(fake.url)
        assert other.asked == []


def test_proxy_of_the_environment_does_not_see_the_places(
    fake: Fake, monkeypatch: pytest.MonkeyPatch
) -> None:
    with running() as proxy:
        monkeypatch.setenv("http_proxy", proxy.url)
        server_travel(asks(fake.url))
        assert proxy.asked == []


@pytest.mark.parametrize("status", [401, 403])
def test_server_that_wants_a_key_says_where_to_put_it(fake: Fake, status: int) -> None:
    fake.instead = lambda number, handler: send(handler, status, "application/json", b"{}") or True
    assert "FEEDROUND_SERVER_AUTH" in refusal(fake.url)


def test_huge_answer_is_not_read_to_its_end() -> None:
    with running() as fake:
        fake.instead = lambda number, handler: (
            send(handler, 200, "application/json", b" " * 5_000_000) or True
        )
        asker = Asker(read_address(fake.url), most_bytes=2**20, pauses_s=())
        with pytest.raises(ServerError, match="larger than 1 MB"):
            asker.get("/")


def spoiled(change: Callable[[dict[str, Any]], Any]) -> Callable[[Any], Any]:
    """A change to a table of OSRM, put back into the answer."""

    def spoil(answer: Any) -> Any:
        found = change(answer)
        return answer if found is None else found

    return spoil


def _drop_row(answer: dict[str, Any]) -> None:
    answer["durations"].pop()


def _drop_cell(answer: dict[str, Any]) -> None:
    answer["distances"][1].pop()


def _put(value: Any, table: str = "durations") -> Callable[[dict[str, Any]], None]:
    def change(answer: dict[str, Any]) -> None:
        answer[table][0][1] = value

    return change


LIES: dict[str, tuple[Callable[[dict[str, Any]], Any], str]] = {
    "a row short": (_drop_row, "its durations have 2 rows, 3 were asked for"),
    "a cell short": (_drop_cell, "row 2 of its distances has 2 values, 3 were asked for"),
    "negative time": (_put(-5), "its durations hold a negative value (-5)"),
    "negative distance": (_put(-0.5, "distances"), "its distances hold a negative value (-0.5)"),
    "not a number": (_put(math.nan), "NaN in place of a number"),
    "without end": (_put(math.inf), "Infinity in place of a number"),
    "text": (_put("12"), "its durations hold str in place of a number"),
    "yes": (_put(True), "its durations hold bool in place of a number"),
    "a list": (_put([1]), "its durations hold list in place of a number"),
    "beyond any float": (_put(10**400), "its durations hold a value without end"),
    "no way": (_put(None), "it knows no way from depot D1 at 46.80000, -100.80000 to yard A"),
    "weeks": (_put(1e8), "that is weeks"),
    "in an instant": (_put(0), "nothing drives so fast"),
    "shorter than straight": (_put(3000, "distances"), "no road is shorter than that"),
    "row is text": (lambda a: a.update(durations="abc"), "it gives no durations"),
    "rows are text": (lambda a: a.update(durations=["abc"] * 3), "row 1 of its durations has no values"),
    "no distances": (lambda a: a.pop("distances") and None, "durations only"),
    "no durations": (lambda a: a.pop("durations") and None, "it gives no durations"),
    "a list in place of an answer": (lambda a: [1, 2], "not of the OSRM interface"),
    "a number in place of an answer": (lambda a: 7, "not of the OSRM interface"),
    "the other interface": (lambda a: {"sources_to_targets": []}, "is server_kind right?"),
    "an unknown word": (lambda a: {"code": "Oops"}, 'refuses the question for a table with "Oops"'),
    "no road": (lambda a: {"code": "NoSegment", "message": "coordinate 2"}, "finds no road near a place"),
    "snap that is none": (lambda a: a["sources"][0].update(distance=-1), "its sources hold a negative value"),
}


@pytest.mark.parametrize("lie", LIES)
def test_table_that_lies_is_found_out(fake: Fake, lie: str) -> None:
    change, words = LIES[lie]
    fake.spoil = spoiled(change)
    assert words in refusal(fake.url)


def test_table_in_kilometres_or_minutes_is_found_out(fake: Fake) -> None:
    def smaller(table: str, factor: float) -> Callable[[Any], Any]:
        def spoil(answer: Any) -> Any:
            answer[table] = [[v / factor for v in row] for row in answer[table]]
            return answer

        return spoil

    fake.spoil = smaller("distances", 1000)
    assert "Are its distances in metres" in refusal(fake.url)
    fake.spoil = smaller("durations", 60)
    assert "Are its times in seconds" in refusal(fake.url)


def island(k: int) -> Callable[[Any], Any]:
    """No way to nor from place number k."""

    def spoil(answer: Any) -> Any:
        for table in (answer["durations"], answer["distances"]):
            for i in range(len(table)):
                if i != k:
                    table[k][i] = table[i][k] = None
        return answer

    return spoil


def test_yard_that_no_road_reaches_is_closed_and_named_and_the_others_are_served(fake: Fake) -> None:
    fake.spoil = island(2)
    travel = server_travel(asks(fake.url))
    assert travel.closed == {"T1": frozenset({"yard:B"})}
    (warning,) = travel.warnings
    assert (warning.code, warning.place) == ("no_road_for_truck", "yard:B")
    assert "yard B at 47.00000, -100.70000: no road leads T1 there" in warning.text
    assert travel.leg("T1", "depot:D1", "yard:B").drive_s > 9 * 86_400
    assert travel.leg("T1", "depot:D1", "yard:A").drive_s < 86_400


def test_depot_that_no_road_reaches_is_an_error(fake: Fake) -> None:
    fake.spoil = island(0)
    assert "no way between depot D1 at 46.80000, -100.80000" in refusal(fake.url)


VALHALLA_LIES: dict[str, tuple[Any, str]] = {
    "rows short": ({"durations": [[0]], "distances": [[0]]}, "have 1 rows, 3 were asked for"),
    "a flat list": ([1, 2, 3], "it gives no distances"),
    "empty pairs": ([[{}] * 3] * 3, "it knows no way between"),
    "pairs that are none": ([[7] * 3] * 3, "it knows no way between"),
    "text": ("all well", "it gives no distances"),
}


@pytest.mark.parametrize("lie", VALHALLA_LIES)
def test_valhalla_table_that_lies_is_found_out(fake: Fake, lie: str) -> None:
    table, words = VALHALLA_LIES[lie]

    def spoil(answer: Any) -> Any:
        return {**answer, "sources_to_targets": table} if "sources_to_targets" in answer else answer

    fake.spoil = spoil
    assert words in refusal(fake.url, "valhalla")


def test_valhalla_that_answers_in_miles_is_found_out(fake: Fake) -> None:
    fake.spoil = lambda answer: {**answer, "units": "miles"} if "units" in answer else answer
    assert "another unit" in refusal(fake.url, "valhalla")


def test_valhalla_that_refuses_says_why(fake: Fake) -> None:
    fake.spoil = lambda answer: {"error_code": 125, "error": "No costing method found: 'van'"}
    assert "No costing method found" in refusal(fake.url, "valhalla", server_profile="van")


def test_osrm_address_with_kind_valhalla_is_told_apart(fake: Fake) -> None:
    fake.spoil = lambda answer: {"code": "InvalidUrl", "message": "URL string malformed"}
    assert "is server_kind right?" in refusal(fake.url, "valhalla")


def test_server_failure_stops_unless_the_user_allows_the_estimate(fake: Fake) -> None:
    fake.instead = lambda number, handler: send(handler, 500, "application/json", b'{"message":"x"}') or True
    text = refusal(fake.url)
    assert 'server_fallback = "straight"' in text
    assert 'method = "straight"' in text


def test_fallback_of_the_user_is_an_estimate_and_tells_why(fake: Fake) -> None:
    fake.instead = lambda number, handler: send(handler, 500, "application/json", b'{"message":"x"}') or True
    travel: Travel = server_travel(asks(fake.url, server_fallback="straight"))
    assert travel.provenance.estimated
    assert travel.provenance.method == "straight"
    assert travel.provenance.note.startswith("Estimated")
    assert "reports an error (status 500)" in travel.provenance.note
    assert fake.url in travel.provenance.note


def test_fallback_does_not_hide_a_wrong_address() -> None:
    with pytest.raises(FeedroundError, match="begins with http"):
        server_travel(asks("ftp://example.org", server_fallback="straight"))


def test_words_of_a_server_reach_the_terminal_without_control_characters(fake: Fake) -> None:
    fake.spoil = lambda answer: {"code": "No\x1b[31m", "message": "red\x07\nalert" + "x" * 5000}
    text = refusal(fake.url)
    assert "\x1b" not in text
    assert "\x07" not in text
    assert len(text) < 800


def test_deeply_nested_answer_is_no_crash(fake: Fake) -> None:
    body = b"[" * 100_000
    fake.instead = lambda number, handler: send(handler, 200, "application/json", body) or True
    assert "not JSON" in refusal(fake.url)


def test_key_that_is_no_plain_text_is_refused(fake: Fake, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FEEDROUND_SERVER_AUTH", "Bearer a\nHost: elsewhere")
    text = refusal(fake.url)
    assert "no plain text" in text
    assert "elsewhere" not in text
    assert fake.asked == []


def test_json_error_without_a_reason(fake: Fake) -> None:
    fake.instead = lambda number, handler: (
        send(handler, 404, "application/json", json.dumps([]).encode()) or True
    )
    assert "status 404 and no reason" in refusal(fake.url)
