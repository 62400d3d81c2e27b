"""Build the road graph of a county once, and say what is in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from routing.domain.errors import FeedroundError
from routing.files.writing.staged import refuse_input_name
from routing.reports.words.format import plural
from routing.travel.graph.arcs import Vehicle, passable, reachable
from routing.travel.graph.file import graph_from_extract, save_graph
from routing.travel.graph.graph import DEGREE, RoadGraph
from routing.travel.graph.sealed_file import is_sealed
from routing.travel.osm.read import ENDINGS, Say
from routing.travel.osm.roads import KINDS

LIMITS = ("max_kg", "max_rating_kg", "max_height_cm", "max_length_cm", "max_width_cm", "max_axle_kg")


def build_roads(extract: Path, out: Path, attribution: str | None, say: Say) -> dict[str, Any]:
    """Read an extract, write its graph to ``out``, and tell what it holds.

    Raises FeedroundError when the extract cannot be read, holds no roads, or ``out`` cannot be written;
    then nothing is left behind.
    """
    if out.name.lower().endswith(ENDINGS):
        raise FeedroundError(f"{out}: this names an extract: name the graph like county.roads")
    refuse_input_name(out)
    if out.exists() and not is_sealed(out):
        raise FeedroundError(f"{out}: this is not a road graph: move it away, or choose another --out")
    if not out.parent.is_dir():
        raise FeedroundError(f"{out.parent}: no such folder: create it, or choose another --out")
    graph = graph_from_extract(extract, attribution, say)
    say("writing", graph.edges, None)
    save_graph(graph, out)
    return {"file": str(out), "bytes": out.stat().st_size, **summary(graph)}


def summary(graph: RoadGraph) -> dict[str, Any]:
    """What a road graph holds, in plain values."""
    kind = graph.fact("kind")
    metres = np.bincount(kind, weights=graph.length_m, minlength=len(KINDS))
    joined = reachable(graph, passable(graph, Vehicle(), wet=False), wet=False)
    limited = [graph.fact(name) > 0 for name in LIMITS]
    lon, lat = graph.x * DEGREE, graph.y * DEGREE
    return {
        "source": graph.meta["source"],
        "attribution": graph.meta["attribution"],
        "junctions": graph.nodes,
        "stretches": graph.edges,
        "km": round(float(graph.length_m.sum()) / 1000, 1),
        "km_connected": round(float(graph.length_m[joined].sum()) / 1000, 1),
        "km_by_kind": {name: round(float(m) / 1000, 1) for name, m in zip(KINDS, metres, strict=True) if m},
        "stretches_with_limits": int(np.logical_or.reduce(limited).sum()),
        "forbidden_turns": len(graph.no_turn) + len(graph.no_way_start) - 1,
        "points_with_delay": int((graph.node_delay > 0).sum()),
        "barriers": int(graph.node_closed.sum()),
        "skipped": graph.meta["skipped"],
        "strict": graph.meta["strict"],
        "bounds": [round(float(v), 5) for v in (lat.min(), lon.min(), lat.max(), lon.max())],
    }


def summary_lines(built: dict[str, Any]) -> list[str]:
    """The same for a reader."""
    kinds = ", ".join(f"{name.replace('_', ' ')} {km:,.0f}" for name, km in built["km_by_kind"].items())
    south, west, north, east = built["bounds"]
    lines = [
        f"Road graph: {built['file']} ({_size(built['bytes'])})",
        f"From:       {built['source']}, {south} to {north} north, {west} to {east} east",
        f"Roads:      {built['km']:,.0f} km in {built['stretches']:,} stretches between "
        f"{built['junctions']:,} points; {built['km_connected']:,.0f} km of them connect",
        f"Kinds, km:  {kinds}",
        f"Rules:      {plural(built['forbidden_turns'], 'forbidden turn')}, "
        f"{plural(built['stretches_with_limits'], 'stretch', 'stretches')} with limits of weight or size, "
        f"{built['points_with_delay']:,} gates, lights and fords, {plural(built['barriers'], 'barrier')}",
    ]
    lines += [f"Left out:   {count} x {why}" for why, count in built["skipped"].items()]
    lines += [f"Strict:     {count} x {what}" for what, count in built["strict"].items()]
    return [*lines, f"Licence:    {built['attribution']}"]


def _size(size: int) -> str:
    """``1.2 MB``, or ``38 kB``."""
    return f"{size / 1e6:.1f} MB" if size >= 100_000 else f"{size / 1e3:.0f} kB"
