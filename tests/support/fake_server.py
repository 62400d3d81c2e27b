"""A small routing server for tests, made from the published interfaces of OSRM and Valhalla.

Its world has one road between any two places, ``CROOKED`` times the straight line, driven at ``M_PER_S``;
going south takes ``SOUTH_S`` longer, so that a table read the wrong way round is found out. It keeps the
limits that the real servers have by default. Tests make it misbehave by a function that takes over.
"""

from __future__ import annotations

import json
import math
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

CROOKED = 1.4
M_PER_S = 15.0
SOUTH_S = 100.0
OSRM_MOST_PLACES = 100
VALHALLA_MOST_PAIRS = 2500

Spot = tuple[float, float]
Reply = tuple[int, str, bytes]


def road_m(a: Spot, b: Spot) -> float:
    """Metres of road between two (lon, lat), on a sphere as OSRM reckons."""
    lon_a, lat_a, lon_b, lat_b = (math.radians(x) for x in (*a, *b))
    hav = math.sin((lat_b - lat_a) / 2) ** 2
    hav += math.cos(lat_a) * math.cos(lat_b) * math.sin((lon_b - lon_a) / 2) ** 2
    return 2 * 6_371_008.8 * math.asin(math.sqrt(hav)) * CROOKED


def road_s(a: Spot, b: Spot) -> float:
    """Seconds between two (lon, lat)."""
    return road_m(a, b) / M_PER_S + (SOUTH_S if b[1] < a[1] else 0.0)


@dataclass
class Fake:
    """A running server: where it is, what it was asked, and what to do instead of answering.

    ``instead`` gets the number of the request (from 0) and the handler; it answers for itself and returns
    True, or returns False to let the server answer. ``spoil`` changes a sound answer before it is sent.
    """

    url: str = ""
    asked: list[str] = field(default_factory=list)
    headers: list[dict[str, str]] = field(default_factory=list)
    questions: list[Any] = field(default_factory=list)
    instead: Callable[[int, BaseHTTPRequestHandler], bool] | None = None
    spoil: Callable[[Any], Any] | None = None
    moved_m: float = 0.0
    most_places: int = OSRM_MOST_PLACES
    most_pairs: int = VALHALLA_MOST_PAIRS
    compact: bool = True
    locates: bool = True
    no_road_north_of: float = 90.0
    released: threading.Event = field(default_factory=threading.Event)

    @property
    def tables(self) -> list[str]:
        """The requests for tables among all."""
        return [path for path in self.asked if "/table/" in path or "sources_to_targets" in path]


@contextmanager
def running() -> Iterator[Fake]:
    """A server on a free port of this machine, gone afterwards."""
    fake = Fake()
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(fake))
    server.daemon_threads = True
    fake.url = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield fake
    finally:
        fake.released.set()
        server.shutdown()
        server.server_close()


def _handler(fake: Fake) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self._answer(None)

        def do_POST(self) -> None:
            self._answer(self.rfile.read(int(self.headers["Content-Length"])))

        def log_message(self, *_: Any) -> None:
            return

        def _answer(self, body: bytes | None) -> None:
            number = len(fake.asked)
            fake.asked.append(self.path)
            fake.headers.append(dict(self.headers))
            if fake.instead is not None and fake.instead(number, self):
                return
            status, answer = _osrm(fake, self.path) if body is None else _valhalla(fake, self.path, body)
            if fake.spoil is not None:
                answer = fake.spoil(answer)
            send(self, status, "application/json", json.dumps(answer).encode())

    return Handler


def send(handler: BaseHTTPRequestHandler, status: int, kind: str, body: bytes, **headers: str) -> None:
    """Send a whole answer."""
    handler.send_response(status)
    handler.send_header("Content-Type", kind)
    handler.send_header("Content-Length", str(len(body)))
    for name, value in headers.items():
        handler.send_header(name.replace("_", "-"), value)
    handler.end_headers()
    handler.wfile.write(body)


def _osrm(fake: Fake, path: str) -> tuple[int, Any]:
    """GET /{service}/v1/{profile}/{lon,lat;...}?options, as docs/http.md of OSRM has it."""
    parts = urlsplit(path)
    pieces = unquote(parts.path).strip("/").split("/")
    if len(pieces) != 4 or pieces[1] != "v1":
        return 400, {"code": "InvalidUrl", "message": "URL string malformed"}
    spots = [tuple(float(x) for x in text.split(",")) for text in pieces[3].split(";")]
    query = {key: values[0] for key, values in parse_qs(parts.query).items()}
    if pieces[0] == "table":
        return _osrm_table(fake, spots, query)
    a, b = spots
    middle = ((a[0] + b[0]) / 2 + 0.01, (a[1] + b[1]) / 2)
    geometry = {"type": "LineString", "coordinates": [list(a), list(middle), list(b)]}
    route = {"geometry": geometry, "distance": road_m(a, b), "duration": road_s(a, b)}
    return 200, {"code": "Ok", "routes": [route]}


def _osrm_table(fake: Fake, spots: list[Any], query: dict[str, str]) -> tuple[int, Any]:
    if len(spots) > fake.most_places:
        return 400, {"code": "TooBig", "message": "Too many table coordinates"}
    every = ";".join(str(k) for k in range(len(spots)))
    sources = [spots[int(k)] for k in query.get("sources", every).split(";")]
    targets = [spots[int(k)] for k in query.get("destinations", every).split(";")]
    answer: dict[str, Any] = {"code": "Ok"}
    wanted = query.get("annotations", "duration").split(",")
    if "duration" in wanted:
        answer["durations"] = [[round(road_s(a, b), 1) for b in targets] for a in sources]
    if "distance" in wanted:
        answer["distances"] = [[round(road_m(a, b), 1) for b in targets] for a in sources]
    answer["sources"] = [{"distance": fake.moved_m, "location": list(s), "name": ""} for s in sources]
    answer["destinations"] = [{"distance": fake.moved_m, "location": list(s), "name": ""} for s in targets]
    return 200, answer


def _valhalla(fake: Fake, path: str, body: bytes) -> tuple[int, Any]:
    """POST of JSON to /sources_to_targets or /route, as Valhalla's API reference has it."""
    question = json.loads(body)
    fake.questions.append(question)
    if path == "/route":
        a, b = ((p["lon"], p["lat"]) for p in question["locations"])
        return 200, {"trip": {"legs": [{"shape": encode([a, ((a[0] + b[0]) / 2, a[1]), b])}], "status": 0}}
    if path == "/locate" and fake.locates:
        return 200, [_located(fake, p) for p in question["locations"]]
    if path != "/sources_to_targets":
        return 404, {"error_code": 106, "error": "Try any of: '/route'", "status_code": 404}
    sources = [(p["lon"], p["lat"]) for p in question["sources"]]
    targets = [(p["lon"], p["lat"]) for p in question["targets"]]
    if len(sources) * len(targets) > fake.most_pairs:
        return 400, {"error_code": 150, "error": "Exceeded max locations", "status_code": 400}
    # A light truck may use a bridge that a heavy one may not: that one drives half as far again.
    options = question.get("costing_options", {}).get(question["costing"], {})
    round_about = 1.5 if options.get("weight", 0) > 7.5 else 1.0
    km = [[round(road_m(a, b) * round_about / 1000, 3) for b in targets] for a in sources]
    seconds = [[round(road_s(a, b) * round_about) for b in targets] for a in sources]
    return 200, {"sources_to_targets": _valhalla_table(fake, km, seconds), "units": "kilometers"}


def _located(fake: Fake, place: dict[str, float]) -> Any:
    """The nearest point of a road, ``moved_m`` to the north."""
    lat = place["lat"] + fake.moved_m / 111_190
    edge = {"way_id": 1, "correlated_lat": lat, "correlated_lon": place["lon"], "percent_along": 0.5}
    edges = [] if place["lat"] > fake.no_road_north_of else [edge]
    return {"input_lat": place["lat"], "input_lon": place["lon"], "edges": edges, "nodes": []}


def _valhalla_table(fake: Fake, km: list[list[float]], seconds: list[list[int]]) -> Any:
    if fake.compact:
        return {"durations": seconds, "distances": km}
    return [
        [
            {"distance": d, "time": t, "from_index": i, "to_index": j}
            for j, (d, t) in enumerate(zip(*pair, strict=True))
        ]
        for i, pair in enumerate(zip(km, seconds, strict=True))
    ]


def encode(points: list[Spot]) -> str:
    """A line in Valhalla's encoding: six decimals, differences, zigzag, five bits a letter from '?' on."""
    text, last = "", (0, 0)
    for lon, lat in points:
        now = (round(lat * 1e6), round(lon * 1e6))
        for value in (now[0] - last[0], now[1] - last[1]):
            rest = ~(value << 1) if value < 0 else value << 1
            while rest >= 32:
                text += chr((32 | rest & 31) + 63)
                rest >>= 5
            text += chr(rest + 63)
        last = now
    return text
