"""Drive a headless browser as a reader would: real keys, any window, dark or on paper; without a network.

Commands of the DevTools protocol go through two pipes, so that no port is opened and no library is needed.
"""

from __future__ import annotations

import base64
import itertools
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.support.browser import BROWSER, FLAGS

KEYS = {
    "Tab": 9,
    "Enter": 13,
    "Escape": 27,
    "ArrowLeft": 37,
    "ArrowUp": 38,
    "ArrowRight": 39,
    "ArrowDown": 40,
}
PATIENCE_S = 90


class Page:
    """One open page."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back = to, back
        self._numbers = itertools.count(1)
        self._read = b""
        self._session = ""

    def start(self) -> None:
        """Attach to a fresh tab."""
        target = self._send("Target.createTarget", {"url": "about:blank"})["targetId"]
        found = self._send("Target.attachToTarget", {"targetId": target, "flatten": True})
        self._session = found["sessionId"]
        self._send("Page.enable")

    def open(self, file: Path, width: int, height: int, *, dark: bool = False, scale: float = 1.0) -> None:
        """Open a file in a window of a size; ``scale`` device pixels to a CSS pixel."""
        self.resize(width, height, scale)
        self.media("", dark=dark)
        self._send("Page.navigate", {"url": file.resolve().as_uri()})
        for _ in range(400):
            if self.ask("document.readyState === 'complete' && document.documentElement.dataset.ready"):
                return
            time.sleep(0.05)
        raise AssertionError(f"{file}: the page did not get ready")

    def resize(self, width: int, height: int, scale: float = 1.0) -> None:
        """Give the window another size."""
        size = {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": False}
        self._send("Emulation.setDeviceMetricsOverride", size)

    def media(self, kind: str, *, dark: bool = False) -> None:
        """Pretend to be paper (``print``), or a reader who wants the dark scheme."""
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        still = {"name": "prefers-reduced-motion", "value": "reduce"}
        self._send("Emulation.setEmulatedMedia", {"media": kind, "features": [scheme, still]})

    def ask(self, expression: str) -> Any:
        """The value of a JavaScript expression, awaited where it is a promise."""
        asked = {"expression": expression, "returnByValue": True, "awaitPromise": True}
        found = self._send("Runtime.evaluate", asked)
        if "exceptionDetails" in found:
            raise AssertionError(found["exceptionDetails"].get("exception", {}).get("description", found))
        return found["result"].get("value")

    def press(self, key: str, *, shift: bool = False) -> None:
        """Press a key as a hand would."""
        code = KEYS.get(key, ord(key.upper()[0]))
        event: dict[str, Any] = {"key": key, "code": key, "windowsVirtualKeyCode": code}
        event["modifiers"] = 8 if shift else 0
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        self._send("Input.dispatchKeyEvent", {**event, "type": "keyDown", **({"text": text} if text else {})})
        self._send("Input.dispatchKeyEvent", {**event, "type": "keyUp"})

    def picture(self, saved: Path | None = None) -> bytes:
        """What is seen, as PNG."""
        data = base64.b64decode(self._send("Page.captureScreenshot", {"format": "png"})["data"])
        if saved is not None:
            saved.write_bytes(data)
        return data

    def printed(self, saved: Path) -> None:
        """The page as it prints, as PDF."""
        found = self._send("Page.printToPDF", {"printBackground": True, "preferCSSPageSize": True})
        saved.write_bytes(base64.b64decode(found["data"]))

    def _send(self, method: str, params: dict[str, Any] | None = None) -> Any:
        number = next(self._numbers)
        message: dict[str, Any] = {"id": number, "method": method, "params": params or {}}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        until = time.monotonic() + PATIENCE_S
        while True:
            answer = self._next(until)
            if answer.get("id") == number:
                if "error" in answer:
                    raise AssertionError(f"{method}: {answer['error']}")
                return answer["result"]

    def _next(self, until: float) -> Any:
        while b"\0" not in self._read:
            if not select.select([self._back], [], [], max(0.0, until - time.monotonic()))[0]:
                raise AssertionError("the browser does not answer")
            self._read += os.read(self._back, 1 << 20)
        message, self._read = self._read.split(b"\0", 1)
        return json.loads(message)


@contextmanager
def chromium() -> Iterator[Page]:
    """A browser for as long as it is needed."""
    their_in, to = os.pipe()
    back, their_out = os.pipe()
    profile = tempfile.mkdtemp()

    def pipes() -> None:
        os.dup2(their_in, 103)
        os.dup2(their_out, 104)
        os.dup2(103, 3)
        os.dup2(104, 4)

    command = [str(BROWSER), *FLAGS, "--remote-debugging-pipe", f"--user-data-dir={profile}"]
    process = subprocess.Popen(
        command, preexec_fn=pipes, close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    os.close(their_in)
    os.close(their_out)
    try:
        page = Page(to, back)
        page.start()
        yield page
    finally:
        process.terminate()
        process.wait(timeout=20)
        os.close(to)
        os.close(back)
        shutil.rmtree(profile, ignore_errors=True)
