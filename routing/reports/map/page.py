"""Build one HTML page that needs nothing but itself: scripts, styles and signs stand in the file."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any

import folium
import jinja2
from markupsafe import Markup

from routing.reports.words.truck_style import LOOKS

OWN_SCRIPTS = ("geometry.js", "marks.js", "labels.js", "scene.js", "tiles.js", "day.js")


@cache
def asset(name: str) -> str:
    """The text of a file of assets/."""
    return files("routing.reports.map").joinpath("assets", name).read_text(encoding="utf-8")


@cache
def leaflet_js() -> str:
    """Leaflet as published, with its licence, without the addresses it never needs here."""
    code = asset("leaflet.js").replace("https://leafletjs.com", "")
    code = re.sub(r"^//# sourceMappingURL=.*$", "", code, flags=re.MULTILINE)
    return f"/*\n{asset('leaflet-LICENSE.txt')}*/\n{code}"


@cache
def stylesheet() -> str:
    """Leaflet's styles without pictures and addresses, our own, then the colours of trucks in lists."""
    css = re.sub(r"/\*.*?\*/", "", asset("leaflet.css"), flags=re.DOTALL)
    css = re.sub(r"[\w-]+:\s*url\([^)]*\);?", "", css)
    dark = _swatches("dark")
    scheme = f'@media (prefers-color-scheme: dark) {{ :root:not([data-theme="light"]) {{ {dark} }} }}'
    return f'{css}{asset("map.css")}{_swatches("light")}{scheme} :root[data-theme="dark"] {{ {dark} }}'


def _swatches(scheme: str) -> str:
    """``.c0 { fill: ... }`` for every colour a truck may have."""
    return " ".join(f".c{i} {{ fill: {color}; }}" for i, color in enumerate(LOOKS[scheme]["trucks"]))


def folium_parts() -> tuple[str, str]:
    """The map as folium writes it, without tiles: (its element, its script).

    The ids are set, where folium would draw them at random: the same plan gives the same file.
    """
    day = folium.Map(
        tiles=None,
        location=(0.0, 0.0),
        prefer_canvas=True,
        control_scale=True,
        zoom_control=False,
        keyboard=False,
        attribution_control=False,
        zoom_snap=0.25,
        zoom_delta=0.5,
        min_zoom=3,
        max_zoom=18,
        world_copy_jump=False,
    )
    day._id = "day"
    day.default_js, day.default_css = [], []
    figure: Any = day.get_root()
    for child in figure._children.values():
        child.render()
    return figure.html.render(), figure.script.render()


def scripts(folium_script: str) -> list[str]:
    """The scripts of the page in order."""
    own = "\n".join(asset(name) for name in OWN_SCRIPTS)
    return [leaflet_js(), f"{folium_script}\n{own}"]


def policy(page_scripts: Sequence[str], pictures_from: str = "") -> str:
    """A content security policy: only these scripts run, and nothing is fetched from anywhere.

    ``pictures_from``: the one origin that pictures may come from, where the user named one.
    """
    digests = (hashlib.sha256(script.encode()).digest() for script in page_scripts)
    allowed = " ".join(f"'sha256-{base64.b64encode(digest).decode()}'" for digest in digests)
    pictures = " ".join(part for part in ("data:", pictures_from) if part)
    return f"default-src 'none'; style-src 'unsafe-inline'; img-src {pictures}; script-src {allowed}"


def script_json(value: Any) -> Markup:
    """JSON that cannot close the script element it stands in, nor open a comment."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)


def render(template: str, **values: Any) -> str:
    """Fill a template of assets/; every value is escaped unless it is ``Markup``."""
    loader = jinja2.FunctionLoader(asset)
    environment = jinja2.Environment(
        loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True
    )
    return environment.get_template(template).render(**values)
