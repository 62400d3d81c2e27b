"""Make QR codes, once for both kinds of run sheet."""

from __future__ import annotations

import io
from functools import lru_cache

import segno


@lru_cache(maxsize=2048)
def _code(content: str) -> segno.QRCode:
    return segno.make(content, error="m", micro=False)


@lru_cache(maxsize=2048)
def qr_svg(content: str) -> str:
    """The code as an SVG element, quiet zone in."""
    out = io.BytesIO()
    _code(content).save(out, kind="svg", xmldecl=False, svgns=True, omitsize=True, border=4, light="#fff")
    return out.getvalue().decode("utf-8").strip()


@lru_cache(maxsize=2048)
def qr_png(content: str) -> bytes:
    """The code as a PNG picture, quiet zone in."""
    out = io.BytesIO()
    _code(content).save(out, kind="png", scale=4, border=4)
    return out.getvalue()
