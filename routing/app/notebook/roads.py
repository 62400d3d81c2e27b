"""The road graph of an operation, or of a map extract, as a networkx graph."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from routing.app.notebook.operation import ReadOperation
from routing.domain.errors import FeedroundError
from routing.domain.road_settings import RoadSettings
from routing.travel.choose import beside
from routing.travel.graph.file import open_graph
from routing.travel.graph.look import networkx_graph

if TYPE_CHECKING:
    import networkx as nx


def road_graph(source: ReadOperation | str | Path) -> nx.MultiDiGraph[int]:
    """The roads that drives are found on, for a look, a plot or an analysis.

    Parameters
    ----------
    source
        An operation whose settings name an extract; or a map extract (.osm.pbf, .osm, .osm.bz2) or a graph
        that ``feedround roads`` built.

    Returns
    -------
    networkx.MultiDiGraph
        ``graph["crs"]`` is EPSG:4326; nodes have ``x``, ``y`` in degrees, arcs ``length_m``, ``drive_s``,
        ``kind``, ``connected``, the limits posted and ``geometry``. Street names are not kept.

    Raises
    ------
    FeedroundError
        Where the operation names no extract, or the file is not there or cannot be read.
    """
    if not isinstance(source, ReadOperation):
        return networkx_graph(open_graph(Path(source)), RoadSettings())
    operation = source.operation
    path = beside(operation.travel.extract, source.path)
    if path is None:
        raise FeedroundError(
            "operation.toml [travel] names no extract: name one, or give road_graph the path of a map extract"
        )
    return networkx_graph(open_graph(path), operation.roads)
