"""The colours and patterns of map, drawing and report; the same four steps everywhere.

Blue is for water and wet ground only. No answer hangs on colour alone: each step has its own
pattern too. ``tests/maps/test_colours.py`` holds the distances for colour-blind eyes and grey
print.
"""

from dataclasses import dataclass
from typing import Literal

Pattern = Literal["plain", "dots", "stripes", "blank"]


@dataclass(frozen=True)
class Swatch:
    """How one answer is filled: the ground colour, the pattern on it and the pattern's colour.

    ``dots`` are small and wide apart, ``stripes`` thick and rising to the right; ``blank`` is
    ground nobody has judged: bare paper with a dashed edge.
    """

    fill: str
    pattern: Pattern
    mark: str


# Thick green crop, thin crop, bare earth, bare paper.
VERDICT: dict[str, Swatch] = {
    "sow": Swatch("#2B6033", "plain", "#2B6033"),
    "sow with care": Swatch("#BFC04F", "dots", "#3A3B12"),
    "leave out": Swatch("#AE7784", "stripes", "#FFFFFF"),
    "not known": Swatch("#FFFFFF", "blank", "#FFFFFF"),
}

# One quality of a field, from harmless to the one that rules it out: S1, S2, S3, N.
# S3 and N share a step: a reader is told "high" or "too short" for both.
_HARD = Swatch("#4F2D12", "stripes", "#C79A62")
RATING: dict[str, Swatch] = {
    "S1": Swatch("#D2B77C", "plain", "#D2B77C"),
    "S2": Swatch("#A86F2C", "dots", "#FFFFFF"),
    "S3": _HARD,
    "N": _HARD,
    "": VERDICT["not known"],
}

# Years in ten that a sowing week works, by the crop file's limits: good, fair, poor, fewer.
YEARS: dict[str, Swatch] = {
    "y3": Swatch("#45561A", "plain", "#45561A"),
    "y2": Swatch("#7E8A34", "dots", "#FFFFFF"),
    "y1": Swatch("#C3BB74", "stripes", "#6B6320"),
    "y0": Swatch("#F1EAD3", "plain", "#F1EAD3"),
}

WATER_PAPER = "#E3EEF8"  # under the hatch of wet ground
WATER = "#0B4F8A"  # hatch and edge of wet ground; water itself

INK = "#111111"  # words and field edges
PAPER = "#FFFFFF"
QUIET = "#4A4A46"  # lesser words; still 8:1 on paper
RULE = "#8A8A82"  # lines that part things
SOIL_EDGE = "#6B4A2B"  # thin outline of the survey's map units
