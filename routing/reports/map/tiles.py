"""Name the server of map pictures that a map may switch on; without one, nothing is ever fetched."""

from __future__ import annotations

import string
from dataclasses import dataclass
from urllib.parse import urlsplit

from routing.domain.errors import FeedroundError

PLACES = ("{z}", "{x}", "{y}")
EXAMPLE = "https://tiles.example.org/{z}/{x}/{y}.png"
HOST_LETTERS = frozenset(string.ascii_letters + string.digits + ".-:[]")
PATH_LETTERS = frozenset(string.ascii_letters + string.digits + "-._~/?=&%+,:@!$*{}")


@dataclass(frozen=True)
class TileServer:
    """A server of square map pictures. ``template`` is its address with {z}, {x} and {y} in it.

    ``credit`` is the text its owner asks to see on the map. ``origin`` is what the page may fetch from.
    """

    template: str
    credit: str
    origin: str


def tile_server(template: str | None, credit: str | None) -> TileServer | None:
    """The server that a user named, None where none is.

    Raises FeedroundError when the address cannot be one, or when its owner is not credited.
    """
    if template is None:
        if credit is not None:
            raise FeedroundError("--tiles-credit: no --tiles given: name the server, or leave the credit out")
        return None
    text, credit = template.strip(), " ".join((credit or "").split())
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise _refused(text, f"this is no address ({error})") from error
    if parts.scheme not in ("http", "https") or not parts.hostname or not set(parts.netloc) <= HOST_LETTERS:
        raise _refused(text, "it begins with http:// or https:// and one plain host, without a password")
    rest = text.split("://", 1)[1].removeprefix(parts.netloc)
    if not set(rest) <= PATH_LETTERS:
        raise _refused(text, "it holds a letter that no address has")
    if any(rest.count(place) != 1 for place in PLACES) or rest.count("{") != len(PLACES):
        raise _refused(text, "{z}, {x} and {y} stand in its path, each once, and nothing else in braces")
    if not credit:
        raise FeedroundError(
            "--tiles-credit: the owner of the pictures is not credited: give the text that the owner asks for"
        )
    origin = f"{parts.scheme}://{parts.hostname if port is None else parts.netloc}"
    return TileServer(text, credit, origin if "[" not in parts.netloc else f"{parts.scheme}://{parts.netloc}")


def _refused(text: str, wanted: str) -> FeedroundError:
    # Nothing is repeated of an address that may hold a password.
    shown = "" if "@" in text else f"{text}: "
    return FeedroundError(f"--tiles: {shown}{wanted}, as {EXAMPLE}")
