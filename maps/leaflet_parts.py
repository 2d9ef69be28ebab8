"""Leaflet as the page carries it: the released file, checked, without the parts the page has not.

A third of the library draws what never comes here: pop-ups, tiles, canvas, files of its own format.
It would be a third of every page that is mailed, so it is cut out where the release itself divides.
"""

import hashlib
import re
from importlib import metadata
from typing import NamedTuple

from suitability.errors import SuitabilityError

# Leaflet 1.9.4 as released: any other bytes are refused.
LEAFLET_WHEEL = "django-js-lib-leaflet"
LEAFLET_SHA256 = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
}


class _Cut(NamedTuple):
    """Text from ``first`` up to ``after``, which stays, becomes ``instead``."""

    what: str
    first: str
    after: str
    instead: str = ""


_CUTS = (
    _Cut("the list of layers", 'B.extend({options:{collapsed:!0,position:"topright"', "),qe=", "0"),
    _Cut("GeoJSON", "wi=ci.extend({", 'Ei=o.extend({options:{opacity:1,alt:""'),
    _Cut("video and SVG overlays", ",ki=Ei.extend({", ";var Ai=o.extend({"),
    _Cut("pop-ups and tooltips", "Ai=o.extend({", "di.extend({options:{iconSize:", "Ri=("),
    _Cut("canvas", ",Fi=Wi.extend({", ";function Ui(t)"),
    _Cut("VML of old browsers", "var Vi=function(){", "Gi=Wi.extend({_initContainer", "var qi=ct,"),
    _Cut("GeoJSON's helpers", "wi.geometryToLayer=", "A.mergeOptions({boxZoom:!0})"),
)
_TILES = _Cut("tiles", "Ni=o.extend({options:{tileSize:", "Wi=o.extend({options:{padding:")
# What the release would hand out of them.
_NAMES = "Canvas|DivOverlay|GeoJSON|Popup|SVGOverlay|Tooltip|VideoOverlay|geoJSON|geoJson"
_TILE_NAMES = "GridLayer|TileLayer|tileLayer"

# Parts of the style that the page has not.
_UNUSED_STYLE = re.compile(
    r"popup|tooltip|attribution|control-layers|control-zoom|leaflet-bar|overlay-image|vml|lvml|"
    r"shadow|zoom-box|crosshair|draggable|div-icon|canvas|marker-pane img|container a$"
)
# What browsers read that run none of the page's script; others have the same line without it.
_OLD_BROWSERS = re.compile(r"^-(ms|moz)-|[ :]-(moz|webkit)-|^-webkit-(transform|transition)")


def leaflet_script(*, online: bool) -> str:
    """The library; with tiles only where the page may show pictures from the internet."""
    text = _released("leaflet.js").replace("//# sourceMappingURL=leaflet.js.map", "").strip()
    for cut in _CUTS if online else (*_CUTS, _TILES):
        start, end = _only(text, cut.first, cut.what), _only(text, cut.after, cut.what)
        text = text[:start] + cut.instead + text[end:]
    names = _NAMES if online else f"{_NAMES}|{_TILE_NAMES}"
    return re.sub(rf"(?<=,)t\.(?:{names})=\w+,", "", text)


def leaflet_style(*, online: bool) -> str:
    """Leaflet's style without pictures, and without what the page does not use."""
    plain = re.sub(r"/\*.*?\*/", "", _released("leaflet.css"), flags=re.S)
    rules = []
    for names, body in re.findall(r"([^{}]+)\{([^{}]*)\}", plain):
        used = [
            name
            for name in map(str.strip, names.split(","))
            if not _UNUSED_STYLE.search(name) and (online or "tile" not in name)
        ]
        lines = [
            line
            for line in map(str.strip, body.split(";"))
            if line and "url(" not in line and not _OLD_BROWSERS.search(line)
        ]
        if used and lines:
            rules.append(f"{','.join(used)}{{{';'.join(lines)}}}")
    return "\n".join(rules) + "\n"


def leaflet_licence() -> str:
    """The library's licence, which asks to stay with it, as the text of an HTML comment."""
    found = [f for f in metadata.files(LEAFLET_WHEEL) or [] if f.name == "LICENSE"]
    # Two hyphens would end the comment that holds it.
    return found[0].read_text("utf-8").replace("--", "- -").strip() if found else ""


def _released(name: str) -> str:
    found = [f for f in metadata.files(LEAFLET_WHEEL) or [] if f.name == name]
    data = found[0].read_binary() if found else b""
    if hashlib.sha256(data).hexdigest() != LEAFLET_SHA256[name]:
        raise SuitabilityError(
            f"{name} of the package {LEAFLET_WHEEL} is not the released Leaflet 1.9.4. "
            f"Install it again: pip install --force-reinstall {LEAFLET_WHEEL}==1.9.4.1"
        )
    return data.decode("utf-8").replace("\r\n", "\n")


def _only(text: str, piece: str, what: str) -> int:
    """Where a piece stands that must stand once."""
    if text.count(piece) != 1:
        raise SuitabilityError(f"Leaflet's {what} cannot be told apart in this release.")
    return text.index(piece)
