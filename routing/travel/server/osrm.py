"""Speak the interface of an OSRM server: tables and lines (its HTTP API, version 1)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

import numpy as np

from routing.domain.errors import FeedroundError
from routing.domain.fleet import Truck
from routing.travel.server.http import Asker, ServerError
from routing.travel.server.tables import Block, Floats, Spots, read_table

PLACES_AT_ONCE = 100
"""What an OSRM server takes in one table unless it is told otherwise (``--max-table-size``)."""

TOO_MANY = "TooBig"


@dataclass(frozen=True)
class OsrmServer:
    """A server that speaks OSRM. One table serves all trucks: its profile was fixed when it was built."""

    asker: Asker
    profile: str = ""

    @property
    def note(self) -> str:
        """What a reader must know of its figures."""
        return (
            f'OSRM interface, profile "{self.profile or "driving"}"; the same for all trucks: limits of '
            "mass, height and length are kept as far as the server was built to keep them"
        )

    def truck_key(self, truck: Truck) -> str:
        """Trucks of the same key have the same table."""
        return ""

    def at_once(self, n: int) -> int:
        """How many sources, and as many targets, to ask for at once out of n places."""
        return n if n <= PLACES_AT_ONCE else PLACES_AT_ONCE // 2

    def too_many(self, error: FeedroundError) -> bool:
        """Whether an error means that fewer places should be asked for at once."""
        return isinstance(error, ServerError) and error.code == TOO_MANY

    def fault(self, text: str) -> FeedroundError:
        """The error to raise when an answer cannot be used."""
        return self.asker.fault(text)

    def moved_m(self, spots: Spots, truck: Truck) -> Floats | None:
        """None: the tables tell it."""
        return None

    def block(self, spots: Spots, sources: range, targets: range, truck: Truck) -> Block:
        """Part of a table. Raises ServerError."""
        places = [*sources, *(k for k in targets if k not in sources)]
        index = {place: i for i, place in enumerate(places)}
        query = "annotations=duration,distance&generate_hints=false"
        if len(places) > len(sources) or len(places) > len(targets):
            query += f"&sources={_joined(index[k] for k in sources)}"
            query += f"&destinations={_joined(index[k] for k in targets)}"
        answer = self._ask("table", [spots[k] for k in places], query)
        shape = (len(sources), len(targets))
        duration_s = read_table(answer.get("durations"), shape, "durations", self.fault)
        if "distances" not in answer:
            raise self.asker.fault("it gives durations only; tables of distances need OSRM 5.19 or later")
        distance_m = read_table(answer["distances"], shape, "distances", self.fault)
        return Block(distance_m, duration_s, self._moved(answer.get("sources"), len(sources)))

    def line(
        self, a: tuple[float, float], b: tuple[float, float], truck: Truck
    ) -> tuple[tuple[float, float], ...]:
        """The line of (lon, lat) that is driven. Raises ServerError."""
        query = "overview=full&geometries=geojson&generate_hints=false"
        answer = self._ask("route", [a, b], query)
        try:
            points = answer["routes"][0]["geometry"]["coordinates"]
            return tuple((round(float(lon), 6), round(float(lat), 6)) for lon, lat in points)
        except (KeyError, IndexError, TypeError, ValueError) as error:
            raise self.asker.fault("its route has no line to draw") from error

    def _ask(self, service: str, spots: Sequence[tuple[float, float]], query: str) -> dict[str, Any]:
        text = ";".join(f"{lon:.6f},{lat:.6f}" for lon, lat in spots)
        answer = self.asker.get(f"/{service}/v1/{self.profile or 'driving'}/{text}?{query}")
        if not isinstance(answer, dict) or "code" not in answer:
            raise self.asker.fault("its answer is not of the OSRM interface: is server_kind right?")
        if answer["code"] != "Ok":
            self._refused(service, str(answer["code"]), str(answer.get("message") or "")[:200])
        return answer

    def _refused(self, service: str, code: str, message: str) -> NoReturn:
        told = {
            TOO_MANY: "it takes fewer places at once than were asked for",
            "NoSegment": "it finds no road near a place: does its map cover all yards and depots?",
            "NoTable": "it finds no way between places",
            "NoRoute": "it finds no way between two places",
        }
        text = told.get(code, f'it refuses the question for a {service} with "{code}"')
        raise self.asker.fault(f"{text} ({message})" if message else text, code)

    def _moved(self, sources: Any, n: int) -> Floats | None:
        """Metres from each source to its road, where the server tells (since OSRM 5.16)."""
        if not isinstance(sources, list) or not all(isinstance(s, dict) and "distance" in s for s in sources):
            return None
        moved_m: Floats = read_table([[s["distance"] for s in sources]], (1, n), "sources", self.fault)[0]
        return None if np.isnan(moved_m).any() else moved_m


def _joined(numbers: Any) -> str:
    return ";".join(str(k) for k in numbers)
