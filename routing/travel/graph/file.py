"""Make a road graph from an extract or a built file, and write built files."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from routing.domain.errors import FeedroundError
from routing.travel.graph.build import build_graph
from routing.travel.graph.cache import cache_folder, key_of
from routing.travel.graph.fits import misfit
from routing.travel.graph.graph import RoadGraph
from routing.travel.graph.sealed_file import (
    DamagedFile,
    file_digest,
    is_sealed,
    read_sealed,
    write_sealed,
)
from routing.travel.osm.credit import credit_of
from routing.travel.osm.read import ENDINGS, Say, read_extract, say_nothing
from routing.travel.osm.roads import RoadTags

FORMAT = 2
"""Of built files; one more whenever arrays change their meaning."""

_DELTAS = ("x", "y")
_ARRAYS = (
    "first", "last", "tail", "head", "facts", "roads", "length_m", "node_delay", "node_closed",
    "node_dry_only", "no_turn", "no_way", "no_way_start",
)  # fmt: skip
_SMALL = {"first": np.int32, "last": np.int32, "tail": np.int32, "head": np.int32, "facts": np.int32}


def graph_from_extract(path: Path, attribution: str | None = None, say: Say = say_nothing) -> RoadGraph:
    """Read an extract and build its graph. Raises FeedroundError when that cannot be done.

    ``attribution``: whose data it is; None: as the extract says.
    """
    raw = read_extract(path, say)
    say("joining roads", len(raw.way_id), None)
    digest = file_digest(path)
    meta = {"source": path.name, "digest": digest, "attribution": attribution or credit_of(path)}
    return build_graph(raw, meta)


def save_graph(graph: RoadGraph, path: Path) -> None:
    """Write a built file, whole or not at all. Raises FeedroundError when the folder cannot be written."""
    arrays: dict[str, Any] = {name: getattr(graph, name) for name in _ARRAYS}
    arrays |= {name: arrays[name].astype(kind) for name, kind in _SMALL.items()}
    # Differences from point to point are small numbers, which compress to a third.
    arrays |= {name: np.diff(getattr(graph, name), prepend=np.int32(0)) for name in _DELTAS}
    meta = {**graph.meta, "format": FORMAT, "columns": list(RoadTags._fields)}
    try:
        write_sealed(path, arrays, meta)
    except OSError as error:
        raise FeedroundError(
            f"{path}: cannot write there ({error.strerror}): choose another --out"
        ) from error


def load_graph(path: Path) -> RoadGraph:
    """A graph from a built file. Raises FeedroundError when it is damaged or of another version."""
    try:
        arrays, meta = read_sealed(path)
    except DamagedFile as error:
        raise FeedroundError(f"{error}: build it again with feedround roads") from error
    if meta.get("format") != FORMAT or meta.get("columns") != list(RoadTags._fields):
        raise FeedroundError(
            f"{path}: it was built by another version of feedround: build it again with feedround roads"
        )
    try:
        wide = {name: arrays[name].astype(np.int64) for name in _SMALL}
        points = {name: np.cumsum(arrays[name], dtype=np.int32) for name in _DELTAS}
        graph = RoadGraph(**{**{n: arrays[n] for n in _ARRAYS}, **wide, **points}, meta=meta)
        wrong = misfit(graph)
    except (KeyError, TypeError, ValueError) as error:
        wrong = str(error)
    if wrong:
        raise FeedroundError(
            f"{path}: no road graph as feedround builds it ({wrong}): build it again with feedround roads"
        )
    meta["digest"] = file_digest(path)
    return graph


def open_graph(path: Path) -> RoadGraph:
    """The graph of a built file or, slower, of an extract. Raises FeedroundError when it is neither."""
    if not path.is_file():
        raise FeedroundError(f"{path}: there is no such file: name a road graph or an OpenStreetMap extract")
    if is_sealed(path):
        return load_graph(path)
    if not path.name.lower().endswith(ENDINGS):
        raise FeedroundError(
            f"{path}: this is neither a road graph nor an OpenStreetMap extract ({', '.join(ENDINGS)}): "
            "build the graph again with feedround roads, or name an extract"
        )
    return _recalled(path)


def _recalled(path: Path) -> RoadGraph:
    """The graph of an extract: the one built on an earlier day, when neither file nor code has changed."""
    folder = cache_folder()
    if folder is None:
        return graph_from_extract(path)
    digest = file_digest(path)
    kept = folder / f"{key_of(('graph', digest, path.name))}.table"
    if kept.is_file():
        with contextlib.suppress(FeedroundError):
            return replace(graph := load_graph(kept), meta={**graph.meta, "digest": digest})
    graph = graph_from_extract(path)
    with contextlib.suppress(OSError, FeedroundError):
        save_graph(graph, kept)
    return graph
