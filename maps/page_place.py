"""The words and units with which the page tells a reader where they stand."""

from typing import Any

from maps.legend import Legend
from maps.words import Words
from suitability.conversions import M_PER_FT

_M_PER_MILE = 1609.344
_DIRECTIONS = "north northeast east southeast south southwest west northwest".split()
_SENTENCES = "button waiting inside outside denied unknown slow".split()


def page_place(words: Words, legend: Legend) -> dict[str, Any]:
    """What the page's script needs: sentences, directions clockwise from north, units in metres."""
    us = legend.units == "us"
    near, far = ("feet", "miles") if us else ("metres", "kilometres")
    sentences = words.sentences
    return {
        **{name: sentences[f"place.{name}"] for name in _SENTENCES},
        "directions": [sentences[f"place.direction.{name}"] for name in _DIRECTIONS],
        "near": sentences[f"drawing.{near}"],
        "far": sentences[f"drawing.{far}"],
        "near_m": M_PER_FT if us else 1.0,
        "far_m": _M_PER_MILE if us else 1000.0,
        "far_from_m": _M_PER_MILE / 4 if us else 500.0,
    }
