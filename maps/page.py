"""The constant part of the map page: folium's map with Leaflet and our own script put inside.

Nothing of a user's enters here, because folium and branca render their own output as a template
once more. The page's security policy is taken from these constants before any data is added.
"""

import base64
import hashlib
import re
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import folium
from branca.element import Figure, MacroElement
from jinja2 import Template

from maps.leaflet_parts import leaflet_licence, leaflet_script, leaflet_style
from maps.online_imagery import HOST

_SCRIPTS = (
    "map_table.js",
    "map_detail.js",
    "map_weeks.js",
    "map_ground.js",
    "map_picture.js",
    "map_place.js",
)

# Until the page has started, or where it fails, the fixed drawing is shown instead of the map.
START = (
    'document.documentElement.classList.add("js");'
    'window.addEventListener("error",function(){'
    'document.documentElement.classList.remove("js")});'
)


@dataclass(frozen=True)
class Page:
    """Pieces of the page that are the same for every farm; all are trusted text of our own."""

    policy: str
    licence: str
    style: str
    start: str
    library: str
    map_div: str
    script: str


class FarmPage(MacroElement):
    """Our own map script as an element of the folium map, run after the map is made."""

    def __init__(self, code: str) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # branca is not typed
        self._name = "FarmPage"
        # branca renders the result of this template as a template again: raw keeps it as it is.
        self.code = "{% raw %}" + code + "{% endraw %}"
        self._template = Template("{% macro script(this, kwargs) %}{{ this.code }}{% endmacro %}")


@lru_cache
def constant_page(*, online: bool = False) -> Page:
    """Render folium once, without any data, and take the hashes of what it may run.

    ``online`` : the page may show pictures of the one host of ``maps.online_imagery``; else it can
    reach nothing at all.
    """
    farm_map = folium.Map(
        location=(0, 0),
        tiles=None,
        zoom_control=False,
        attribution_control=False,
        zoom_snap=0.1,
        zoom_delta=0.5,
        scroll_wheel_zoom=False,
        box_zoom=False,
    )
    farm_map._id = "farm"  # a name of its own each time would change the page and its hashes
    # Everything folium would load from the web; Leaflet is put inside instead, the rest is unused.
    farm_map.default_js = []
    farm_map.default_css = []
    own = "".join(
        _plain_script(_template(name))
        for name in (*_SCRIPTS, *(("map_online.js",) if online else ()), "map.js")
    )
    farm_map.add_child(FarmPage(own))
    figure = Figure()
    figure.add_child(farm_map)
    figure.render()
    style = _plain_style(leaflet_style(online=online) + _template("map.css"))
    library = leaflet_script(online=online)
    script = _plain_script(figure.script.render().strip())
    return Page(
        policy=_policy([START, library, script], [style], online=online),
        licence=leaflet_licence(),
        style=style,
        start=START,
        library=library,
        map_div=figure.html.render().strip(),
        script=script,
    )


def _policy(scripts: list[str], styles: list[str], *, online: bool) -> str:
    return "; ".join(
        [
            "default-src 'none'",
            "script-src " + " ".join(map(_hash, scripts)),
            "style-src " + " ".join(map(_hash, styles)),
            "img-src data:" + (f" {HOST}" if online else ""),
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def _template(name: str) -> str:
    return (files("maps") / "templates" / name).read_text("utf-8").replace("\r\n", "\n")


def _plain_script(text: str) -> str:
    """The same code without remarks, and without blanks that tell a browser nothing.

    Our scripts have text in double quotes only, remarks on lines of their own, and no blank in a
    pattern; a test holds that.
    """
    bare = re.sub(r"^\s*//.*$", "", text, flags=re.M)
    close = re.sub(r'("(?:[^"\\\n]|\\.)*")|[ \t]*([=,;:{}()?&|<>])[ \t]*', r"\1\2", bare)
    return re.sub(r"(?<=[;{,(])\n\s*|^\s+", "", close, flags=re.M)


def _plain_style(text: str) -> str:
    """The same style without remarks, and without blanks that tell a browser nothing."""
    bare = re.sub(r"/\*.*?\*/", "", text, flags=re.S)
    close = re.sub(r"[ \t]*([{};,])[ \t]*|(?<=[\w-]:)[ \t]+", r"\1", bare)
    return re.sub(r";?\n*}", "}", re.sub(r"(?<=[;{,}])\s+|^\s+", "", close, flags=re.M)) + "\n"
