"""Get travel from a routing server that the user names, or the estimate where he says so and it fails."""

from __future__ import annotations

from dataclasses import replace

from routing.domain.errors import FeedroundError
from routing.domain.operation import Operation
from routing.domain.travel import Travel
from routing.travel.server.address import read_address
from routing.travel.server.http import Asker, ServerError
from routing.travel.server.matrix import road_travel
from routing.travel.server.osrm import OsrmServer
from routing.travel.server.valhalla import ValhallaServer
from routing.travel.straight.straight import straight_travel


def server_travel(operation: Operation) -> Travel:
    """Travel between all depots and yards, asked of the server at ``travel.server_url``.

    Raises FeedroundError when the address is none, and ServerError when the server fails and
    ``travel.server_fallback`` is not straight; then the estimate stands in and says why.
    """
    source = server_source(operation)
    opening = f"Roads, from the routing server {source.asker.address.shown}"
    try:
        return road_travel(source, operation, "server", opening)
    except ServerError as error:
        if operation.travel.server_fallback != "straight":
            advice = 'or set server_fallback = "straight" to go on with estimates, or method = "straight"'
            raise ServerError(f"{error}. Nothing is planned: fix it, {advice}", error.code) from error
        estimate = straight_travel(operation)
        note = f"{estimate.provenance.note} The server was asked and failed: {error}."
        return replace(estimate, provenance=replace(estimate.provenance, note=note))


def server_source(operation: Operation) -> OsrmServer | ValhallaServer:
    """The server of an operation, by the interface it speaks; nothing is asked of it yet."""
    settings = operation.travel
    if not settings.server_url.strip():
        raise FeedroundError(
            'operation.toml [travel] method = "server": there is no server_url: write the address of the '
            'server (server_url = "http://localhost:5000"), or set method = "straight"'
        )
    asker = Asker(read_address(settings.server_url), settings.server_timeout_s)
    if settings.server_kind == "valhalla":
        return ValhallaServer(asker, settings.server_profile)
    return OsrmServer(asker, settings.server_profile)
