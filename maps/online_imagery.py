"""The one source of pictures that a page may ask on the internet, where farm.toml switches it on.

Imagery of the U.S. Geological Survey's National Map, a work of the US government and so free to use
with credit (terms, address and finest zoom as remembered; it was not tried live). Of the United
States only.
"""

from typing import Any

from maps.words import Words

HOST = "https://basemap.nationalmap.gov"
_PATH = "/arcgis/rest/services/USGSImageryOnly/MapServer/tile/{z}/{y}/{x}"
_FINEST_ZOOM = 16  # finer pictures are not there for all of the country; this one is enlarged


def page_online(words: Words) -> dict[str, Any]:
    """What the page and its script need of it."""
    return {
        "url": HOST + _PATH,
        "finest": _FINEST_ZOOM,
        **{name: words(f"ground.online_{name}") for name in ("tick", "hint", "credit", "failed")},
    }
