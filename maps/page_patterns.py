"""The fill patterns of the map and its key, as one hidden SVG that both refer to by name."""

from maps import colours
from maps.colours import Swatch

FILLS: dict[str, Swatch] = {
    "sow": colours.VERDICT["sow"],
    "care": colours.VERDICT["sow with care"],
    "out": colours.VERDICT["leave out"],
    "unknown": colours.VERDICT["not known"],
    "low": colours.RATING["S1"],
    "mid": colours.RATING["S2"],
    "high": colours.RATING["N"],
    **colours.YEARS,
}

# Lines on wet ground, falling to the right: spacing and thickness; rising ones too; dots instead.
# The more years it is too wet, the darker: maps/wet_by_week.py names the steps.
_WET = {
    "wet0": (14, 1, False, False),
    "wet": (6, 2, False, False),
    "wet2": (6, 2.9, True, False),
    "wetu": (7, 2.4, False, True),
}


def patterns_svg() -> str:
    """An SVG without size that defines ``#fill-<name>`` for each fill, those of wet ground too."""
    found = [_pattern(name, swatch) for name, swatch in FILLS.items()]
    found += [_wet(name, *lines) for name, lines in _WET.items()] + [_water()]
    return (
        '<svg class="patterns" width="0" height="0" aria-hidden="true"><defs>'
        f"{''.join(found)}</defs></svg>"
    )


def swatch_svg(name: str) -> str:
    """A small square for the key, filled as the map is; also wet ground, ``water``, ``soil``."""
    fill, edge, dash = f"url(#fill-{name})", colours.INK, ""
    if name in _WET:
        edge = colours.WATER
        dash = ' stroke-dasharray="4 4"' if name == "wet0" else ""
    elif name == "water":
        edge = colours.WATER
    elif name == "soil":
        fill, edge = "none", colours.SOIL_EDGE
    elif FILLS[name].pattern == "blank":
        dash = ' stroke-dasharray="5 3"'
    return (
        '<svg class="swatch" viewBox="0 0 34 24" width="34" height="24" aria-hidden="true">'
        f'<rect x="1" y="1" width="32" height="22" fill="{fill}" stroke="{edge}"'
        f' stroke-width="1.6"{dash}/></svg>'
    )


def _pattern(name: str, swatch: Swatch) -> str:
    mark, turn, size = "", "", 11
    if swatch.pattern == "dots":
        mark = "".join(
            f'<circle cx="{x}" cy="{y}" r="1.5" fill="{swatch.mark}"/>'
            for x, y in ((2.75, 2.75), (8.25, 8.25))
        )
    elif swatch.pattern == "stripes":
        turn, size = ' patternTransform="rotate(-45)"', 9
        mark = f'<rect width="{size}" height="3" fill="{swatch.mark}"/>'
    return (
        f'<pattern id="fill-{name}" width="{size}" height="{size}" patternUnits="userSpaceOnUse"'
        f'{turn}><rect width="{size}" height="{size}" fill="{swatch.fill}"/>{mark}</pattern>'
    )


def _water() -> str:
    """Water with short level lines: dark ground that is sown has none, also where all is grey."""
    return (
        '<pattern id="fill-water" width="12" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="12" height="8" fill="{colours.WATER}"/>'
        f'<path d="M1 2h6M7 6h5M0 6h1" stroke="{colours.WATER_PAPER}" stroke-width="1.3"/>'
        "</pattern>"
    )


def _wet(name: str, size: int, line: float, crossed: bool, dotted: bool) -> str:
    box = f'width="{size}" height='
    mark = f'<rect {box}"{line}" fill="{colours.WATER}"/>'
    if crossed:
        mark += f'<rect width="{line}" height="{size}" fill="{colours.WATER}"/>'
    if dotted:
        mark = f'<circle cx="3" cy="3" r="{line / 2}" fill="{colours.WATER}"/>'
    return (
        f'<pattern id="fill-{name}" {box}"{size}" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><rect {box}"{size}" fill="{colours.WATER_PAPER}"/>'
        f"{mark}</pattern>"
    )
