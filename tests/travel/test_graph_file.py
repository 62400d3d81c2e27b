"""A road graph is the one that was built, or is refused: a right seal over wrong arrays is no excuse."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routing.domain.errors import FeedroundError
from routing.travel.graph.file import load_graph, save_graph
from routing.travel.graph.fits import misfit
from routing.travel.graph.sealed_file import read_sealed, write_sealed
from routing.travel.roads.roads import roads_travel
from tests.support.road_maps import ROAD, made_graph, operation_at

POINTS = {"a": (0, 1), "b": (1, 1), "d": (0, 0), "e": (1, 0)}
STREETS = [("ab", ROAD), ("be", ROAD), ("ed", ROAD), ("da", ROAD)]
NO_TURNS = [(0, "b", 1, "no_right_turn"), (0, (1,), 2, "no_left_turn")]

WRONG: dict[str, Callable[[dict[str, Any]], object]] = {
    "tail beyond the nodes": lambda a: a["tail"].__setitem__(0, 10**6),
    "head below nothing": lambda a: a["head"].__setitem__(0, -1),
    "facts beyond the roads": lambda a: a["facts"].__setitem__(0, 99),
    "last beyond the points": lambda a: a["last"].__setitem__(0, 10**6),
    "first after last": lambda a: a["first"].__setitem__(0, a["last"][0] + 1),
    "points far off": lambda a: a["y"].__setitem__(0, 2_000_000_000),
    "a kind of road that is none": lambda a: a["roads"].__setitem__((0, 0), 77),
    "a limit below nothing": lambda a: a["roads"].__setitem__((0, 8), -5),
    "a delay that is none": lambda a: a["node_delay"].__setitem__(0, 60),
    "a length that is no number": lambda a: a["length_m"].__setitem__(0, np.nan),
    "a turn from an edge that is not there": lambda a: a["no_turn"].__setitem__((0, 0), 99),
    "a turn at a node that is not there": lambda a: a["no_turn"].__setitem__((0, 1), 99),
    "a way beyond the arcs": lambda a: a["no_way"].__setitem__(0, 999),
    "ways that end nowhere": lambda a: a["no_way_start"].__setitem__(-1, 999),
    "an edge short": lambda a: a.update(tail=a["tail"][:-1]),
    "a node short": lambda a: a.update(node_closed=a["node_closed"][:-1]),
    "a table for a list": lambda a: a.update(head=a["head"].reshape(1, -1)),
    "a list for a table": lambda a: a.update(no_turn=a["no_turn"].ravel()),
    "a column short": lambda a: a.update(roads=a["roads"][:, :-1]),
    "words for numbers": lambda a: a.update(length_m=np.array(["x"] * len(a["length_m"]))),
    "words for edges": lambda a: a.update(tail=np.array(["x"] * len(a["tail"]))),
    "fractions for nodes": lambda a: a.update(node_delay=a["node_delay"] + 0.5),
    "an array that is not there": lambda a: a.pop("no_way"),
}


def _saved(folder: Path) -> Path:
    graph = made_graph(folder, POINTS, STREETS, no_turns=NO_TURNS)
    assert len(graph.no_turn)
    assert len(graph.no_way)
    save_graph(graph, folder / "c.roads")
    return folder / "c.roads"


def test_what_is_built_fits(tmp_path: Path) -> None:
    graph = load_graph(_saved(tmp_path))
    assert misfit(graph) == ""
    assert roads_travel(operation_at({"base": (0.9, 1), "yard": (0.9, 0)}), graph).matrix.drive_s[0, 1] > 0


@pytest.mark.parametrize("change", WRONG.values(), ids=WRONG)
def test_wrong_arrays_under_a_right_seal_are_refused(
    tmp_path: Path, change: Callable[[dict[str, Any]], object]
) -> None:
    path = _saved(tmp_path)
    arrays, meta = read_sealed(path)
    arrays = {name: array.copy() for name, array in arrays.items()}
    change(arrays)
    write_sealed(path, arrays, meta)
    with pytest.raises(FeedroundError, match="no road graph as feedround builds it"):
        load_graph(path)
