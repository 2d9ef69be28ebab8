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


def patterns_svg() -> str:
    """An SVG without size that defines ``#fill-<name>`` for each fill and ``#fill-wet``."""
    found = [_pattern(name, swatch) for name, swatch in FILLS.items()]
    wet = (
        '<pattern id="fill-wet" width="6" height="6" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><rect width="6" height="6" fill="{colours.WATER_PAPER}"/>'
        f'<rect width="6" height="1.6" fill="{colours.WATER}"/></pattern>'
    )
    return (
        '<svg class="patterns" width="0" height="0" aria-hidden="true"><defs>'
        f"{''.join(found)}{wet}</defs></svg>"
    )


def swatch_svg(name: str) -> str:
    """A small square for the key, filled as the map is; also ``wet``, ``water`` and ``soil``."""
    fill, edge, dash = f"url(#fill-{name})", colours.INK, ""
    if name == "wet":
        edge = colours.WATER
    elif name == "water":
        fill = edge = colours.WATER
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
