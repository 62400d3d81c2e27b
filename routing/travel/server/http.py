"""Ask a routing server over HTTP: one answer within a time, retried when the failure may pass."""

from __future__ import annotations

import http.client
import json
import os
import socket
import ssl
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, NoReturn

from routing.domain.errors import FeedroundError
from routing.travel.server.address import Address

AUTH_VARIABLE = "FEEDROUND_SERVER_AUTH"
"""Environment variable sent as the Authorization header, to the named server alone."""

PAUSES_S = (0.5, 2.0)
"""Pauses before the second and the third try; estimate."""

LONGEST_PAUSE_S = 10.0
"""The longest Retry-After that is waited for."""

MOST_BYTES = 32 * 2**20
"""A table of 100 x 100 takes 0.2 MB; what is larger than this is not one."""

PASSING = frozenset({408, 425, 429, 500, 502, 503, 504})
"""Status codes worth another try: RFC 9110, RFC 6585 and RFC 8470."""


class ServerError(FeedroundError):
    """A routing server that cannot be used: what it did, and what to do about it.

    ``code`` is the server's own word for its error, where it gave one; ``passing``: it may work the
    next time.
    """

    def __init__(self, text: str, code: str = "", *, passing: bool = False, pause_s: float = 0.0) -> None:
        self.code, self.passing, self.pause_s = code, passing, pause_s
        super().__init__(text)


@dataclass(frozen=True)
class Asker:
    """How a server is asked: its address, the seconds one answer may take, and how to pause."""

    address: Address
    timeout_s: float = 30.0
    pauses_s: tuple[float, ...] = PAUSES_S
    most_bytes: int = MOST_BYTES
    sleep: Callable[[float], None] = field(default=time.sleep, repr=False)

    def get(self, path: str) -> Any:
        """The JSON that answers a GET of a path below the address. Raises ServerError."""
        return self._ask("GET", path, None)

    def post(self, path: str, question: Any) -> Any:
        """The JSON that answers a POST of JSON to a path below the address. Raises ServerError."""
        return self._ask("POST", path, json.dumps(question, separators=(",", ":")).encode("ascii"))

    def fault(self, text: str, code: str = "", *, passing: bool = False, pause_s: float = 0.0) -> ServerError:
        """An error that names the server, without secrets and control characters."""
        secret = os.environ.get(AUTH_VARIABLE, "").strip()
        for part in sorted({secret, *secret.split()}, key=len, reverse=True):
            if len(part) > 6:
                text = text.replace(part, "***")
        clean = "".join(c if c.isprintable() else " " for c in text)
        return ServerError(
            f"routing server {self.address.shown}: {clean}", code, passing=passing, pause_s=pause_s
        )

    def _ask(self, method: str, path: str, body: bytes | None) -> Any:
        tries = len(self.pauses_s) + 1
        for k in range(tries):
            try:
                return self._once(method, path, body)
            except ServerError as error:
                if not error.passing:
                    raise
                if k + 1 == tries:
                    raise ServerError(f"{error} (tried {tries} times)", error.code, passing=True) from error
                self.sleep(max(self.pauses_s[k], error.pause_s))
        raise AssertionError("unreachable")

    def _once(self, method: str, path: str, body: bytes | None) -> Any:
        connection = self._connection()
        late = threading.Event()
        try:
            connection.connect()
            watch = threading.Timer(self.timeout_s, _cut, (connection.sock, late))
            watch.daemon = True
            watch.start()
            try:
                connection.request(method, self.address.path + path, body, self._headers(body))
                response = connection.getresponse()
                content = response.read(self.most_bytes + 1)
            finally:
                watch.cancel()
        except (OSError, http.client.HTTPException, ValueError) as error:
            self._failed(error, late.is_set())
        finally:
            connection.close()
        if late.is_set():
            self._failed(TimeoutError(), True)
        if response.length and len(content) <= self.most_bytes:
            self._failed(http.client.IncompleteRead(content), False)
        return self._read(response, content)

    def _connection(self) -> http.client.HTTPConnection:
        """A connection straight to the server: no proxy, no redirect, so that places go nowhere else."""
        host, port = self.address.host, self.address.port
        if self.address.scheme == "https":
            context = ssl.create_default_context()
            return http.client.HTTPSConnection(host, port, timeout=self.timeout_s, context=context)
        return http.client.HTTPConnection(host, port, timeout=self.timeout_s)

    def _headers(self, body: bytes | None) -> dict[str, str]:
        headers = {"Accept": "application/json", "User-Agent": "feedround", "Connection": "close"}
        if body is not None:
            headers["Content-Type"] = "application/json"
        secret = os.environ.get(AUTH_VARIABLE, "").strip()
        if secret:
            if not (secret.isascii() and secret.isprintable()):
                raise self.fault(f"the environment variable {AUTH_VARIABLE} holds no plain text")
            headers["Authorization"] = secret
        return headers

    def _failed(self, error: Exception, late: bool) -> NoReturn:
        """Say why no answer came."""
        if late or isinstance(error, TimeoutError):
            text = (
                f"no answer within {self.timeout_s:g} s (server_timeout_s): is it busy, or server_url wrong?"
            )
            raise self.fault(text, passing=True) from error
        if isinstance(error, http.client.IncompleteRead):
            raise self.fault("it stopped in the middle of its answer", passing=True) from error
        if isinstance(error, ssl.SSLCertVerificationError):
            raise self.fault(f"its certificate is not trusted ({error.verify_message})") from error
        if isinstance(error, ssl.SSLError):
            raise self.fault(
                "no secure connection: does it speak https? Try http:// in server_url"
            ) from error
        if isinstance(error, socket.gaierror):
            raise self.fault("no such host: check server_url", passing=True) from error
        if isinstance(error, ConnectionRefusedError):
            raise self.fault(
                "nothing is listening there: is it running, on that port?", passing=True
            ) from error
        if isinstance(error, http.client.RemoteDisconnected | ConnectionError):
            raise self.fault("it closed the connection without a whole answer", passing=True) from error
        if isinstance(error, http.client.HTTPException | ValueError):
            raise self.fault("it does not speak HTTP: check the port in server_url") from error
        raise self.fault(f"it cannot be reached ({error.strerror or error})", passing=True) from error  # type: ignore[attr-defined]

    def _read(self, response: http.client.HTTPResponse, content: bytes) -> Any:
        """The JSON of an answer; of an error as well, where the server explains it in JSON."""
        status = response.status
        passing = status in PASSING
        if 300 <= status < 400:
            raise self.fault(
                "it sends us on to another address, which is not followed: places are told to the server "
                "that you name and no other. Check server_url (http or https?)"
            )
        if status in (401, 403):
            raise self.fault(f"it requires a key (status {status}): set {AUTH_VARIABLE}")
        if len(content) > self.most_bytes:
            raise self.fault(f"its answer is larger than {self.most_bytes // 2**20} MB, which no table is")
        kind = (response.headers.get_content_type() or "").lower()
        if "json" not in kind:
            page = "a web page" if "html" in kind else f"{kind or 'something without a type'}"
            raise self.fault(
                f"it answers with {page}, not with JSON (status {status}): is server_url the routing server?",
                passing=passing,
                pause_s=_pause_s(response),
            )
        answer = self._decoded(content)
        if status >= 400 and not _explains(answer):
            raise self.fault(f"it refuses with status {status} and no reason", passing=passing)
        if passing:
            raise self.fault(
                f"it reports an error (status {status})", passing=True, pause_s=_pause_s(response)
            )
        return answer

    def _decoded(self, content: bytes) -> Any:
        try:
            return json.loads(content, parse_constant=_no_number)
        except _NotANumber as error:
            raise self.fault(f"its answer holds {error} in place of a number") from error
        except (ValueError, RecursionError) as error:
            text = "its answer is not JSON: truncated, or changed on the way"
            raise self.fault(text, passing=True) from error


class _NotANumber(ValueError):
    pass


def _no_number(word: str) -> NoReturn:
    raise _NotANumber(word)


def _cut(sock: socket.socket, late: threading.Event) -> None:
    """End a connection that takes too long as a whole, however often it sends a little."""
    late.set()
    try:
        sock.shutdown(socket.SHUT_RDWR)
    except OSError:
        return


def _explains(answer: Any) -> bool:
    return isinstance(answer, dict) and any(
        key in answer for key in ("code", "message", "error", "error_code")
    )


def _pause_s(response: http.client.HTTPResponse) -> float:
    """Seconds a server asks us to wait (RFC 9110, Retry-After as a number), within reason."""
    text = response.headers.get("Retry-After", "")
    return min(float(text), LONGEST_PAUSE_S) if text.isdecimal() else 0.0
