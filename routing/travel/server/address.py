"""Read the address of a routing server, and refuse what is none or would give a secret away."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

from routing.domain.errors import FeedroundError

PORTS = {"http": 80, "https": 443}


@dataclass(frozen=True)
class Address:
    """Where a routing server listens. ``path`` begins with / or is empty, and never ends with one."""

    scheme: str
    host: str
    port: int
    path: str

    @property
    def shown(self) -> str:
        """The server as told to people: without its path, where keys are sometimes kept."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        port = "" if self.port == PORTS[self.scheme] else f":{self.port}"
        return f"{self.scheme}://{host}{port}"


def read_address(url: str) -> Address:
    """The parts of ``server_url``.

    Raises FeedroundError when it is no http or https address, or holds a password, a query or a
    fragment; the message repeats nothing of an address that holds one.
    """
    text = url.strip()
    if not text:
        raise _refused('no address is given: write one, such as server_url = "http://localhost:5000"')
    if set("@?#") & set(text):
        raise _refused(
            "the address holds a password, a key or a query: leave it out, and put what the server wants as "
            "its Authorization header into the environment variable FEEDROUND_SERVER_AUTH"
        )
    if any(c.isspace() or not c.isprintable() or c == "\\" for c in text):
        raise _refused("the address holds a blank or another character that no address has")
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise _refused(f"{text}: this is no address ({error})") from error
    return _checked(text, parts, port)


def _checked(text: str, parts: SplitResult, port: int | None) -> Address:
    if parts.scheme not in PORTS:
        raise _refused(f"{text}: the address begins with http:// or https://")
    try:
        host = parts.hostname or ""
        host = host if "[" in parts.netloc else host.encode("idna").decode("ascii")
    except UnicodeError as error:
        raise _refused(f"{text}: this is no name of a machine") from error
    if not host or port == 0:
        raise _refused(f"{text}: the address names no machine")
    if not parts.path.isascii():
        raise _refused(f"{text}: the path holds letters that no address has")
    return Address(parts.scheme, host, port or PORTS[parts.scheme], parts.path.rstrip("/"))


def _refused(wrong: str) -> FeedroundError:
    return FeedroundError(f"operation.toml [travel] server_url: {wrong}")
