"""Whether heights are metres or feet: as the file says, as no other unit can be, or as stated."""

from dataclasses import dataclass

from suitability.conversions import M_PER_FT
from suitability.errors import InputError
from suitability.notes import Note

LAYER = "elevation"
# No field lies lower or higher [m]; the contract's range of heights (``columns.STATIONS``).
LOWEST_M, HIGHEST_M = -450.0, 6000.0
_CURE = 'Write vertical_unit = "m" or vertical_unit = "ft" under [elevation] in farm.toml.'

_METRES = {
    **dict.fromkeys(("m", "metre", "meter", "metres", "meters"), 1.0),
    **dict.fromkeys(("dm", "decimetre", "decimeter", "decimetres", "decimeters"), 0.1),
    **dict.fromkeys(("cm", "centimetre", "centimeter", "centimetres", "centimeters"), 0.01),
    **dict.fromkeys(("ft", "foot", "feet", "international foot", "international feet"), M_PER_FT),
    **dict.fromkeys(
        ("us-ft", "us ft", "ftus", "us survey foot", "us survey feet", "foot_us", "sft"),
        1200 / 3937,
    ),
}


@dataclass(frozen=True)
class VerticalUnit:
    """Unit of a file's heights: its name, how many metres it is, and how it is known."""

    name: str
    metres: float
    why: str


def vertical_unit(
    source: str, stated: str | None, said: tuple[str, str], low: float, high: float
) -> tuple[VerticalUnit, list[Note]]:
    """Unit of heights.

    Parameters
    ----------
    source : name of the file, for messages.
    stated : "m" or "ft" as the farm file has it, or None. It overrides what the file says.
    said : the file's own word for its unit, and where it stands; empty words if none.
    low, high : lowest and highest of the heights as stored.

    Raises
    ------
    InputError : nothing says it and both readings are possible; a unit not known here; heights
        that cannot be on earth.
    """
    word, place = said
    own = _METRES.get(word.lower().replace("_", " ").strip(), _METRES.get(word.lower()))
    notes = []
    if stated is not None:
        unit = VerticalUnit(stated, _METRES[stated], "as the farm file states")
        if own is not None and abs(own / unit.metres - 1) > 1e-3:
            text = f"{source} calls its heights {word!r} ({place}); they were read as {stated}, as "
            notes.append(Note(LAYER, "caution", f"{text}the farm file states."))
    elif own is not None:
        unit = VerticalUnit(word, own, f"as {place} states")
    elif word:
        raise InputError(
            f"{source}: the unit of its heights, {word!r} ({place}), is not known here. Expected "
            f"metres or feet. {_CURE}"
        )
    else:
        unit = _by_range(source, low, high)
    if low * unit.metres < LOWEST_M or high * unit.metres > HIGHEST_M:
        raise InputError(
            f"{source}: its heights run from {low:.4g} to {high:.4g}; read as {unit.name} "
            f"({unit.why}) that is {low * unit.metres:.4g} to {high * unit.metres:.4g} m above the "
            f"sea. Expected {LOWEST_M:g} to {HIGHEST_M:g} m. Give a raster of heights, or another "
            "vertical_unit under [elevation] in farm.toml."
        )
    return unit, notes


def _by_range(source: str, low: float, high: float) -> VerticalUnit:
    possible = [
        name
        for name in ("m", "ft")
        if low * _METRES[name] >= LOWEST_M and high * _METRES[name] <= HIGHEST_M
    ]
    if len(possible) == 1:
        other = "m" if possible[0] == "ft" else "ft"
        why = f"heights of {low:.4g} to {high:.4g} are not possible in {other}"
        return VerticalUnit(possible[0], _METRES[possible[0]], why)
    if not possible:
        raise InputError(
            f"{source}: its numbers run from {low:.4g} to {high:.4g}, which no ground does in "
            "metres or in feet. Expected heights above the sea. Give a raster of heights."
        )
    as_metres = f"{low / M_PER_FT:.4g} to {high / M_PER_FT:.4g} ft"
    as_feet = f"{low * M_PER_FT:.4g} to {high * M_PER_FT:.4g} m"
    raise InputError(
        f"{source} does not say whether its heights are metres or feet. Here they run from "
        f"{low:.4g} to {high:.4g}: as metres that is {as_metres} above the sea, as feet {as_feet}. "
        f"Expected the right one, which the height of a nearby town tells. {_CURE}"
    )
