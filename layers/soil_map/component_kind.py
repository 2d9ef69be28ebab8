"""Whether a component is soil, open water, or other ground such as rock, pits and pavement."""

import re

# Names of components in areas that the survey did not map (value from memory, no source at hand).
NOT_MAPPED = ("notcom", "notpub", "no digital data available", "denied access", "access denied")

_WATER = re.compile(
    r"\b(water|lakes?|ponds?|reservoirs?|rivers?|streams?|canals?|lagoons?|bays?|ocean)\b"
)
# Where the survey does not say of what kind a component is, only these names decide.
_SURELY_WATER = re.compile(r"(open |census |fresh |salt |miscellaneous )?water([ ,].*)?")
_SURELY_NO_SOIL = re.compile(
    r"(urban land|rock outcrop|pits?|quarry|quarries|dumps?|badland|borrow pits?|beaches|gullied "
    r"land|made land|rubble land|mines?|landfill|riverwash|playas?)([ ,].*)?"
)


def component_kind(name: str | None, compkind: str | None, mukind: str | None) -> str:
    """``water``, ``not soil`` or ``soil``.

    Parameters
    ----------
    name, compkind, mukind : name and kind of the component, kind of its map unit, None where
        blank. A component of the kind "Miscellaneous area" is water by its name or where its map
        unit is a water body, else not soil; without a kind only plain names decide.
    """
    words = (name or "").lower()
    kind = (compkind or "").lower()
    if kind.startswith("miscellaneous"):
        in_water = "water" in (mukind or "").lower()
        return "water" if _WATER.search(words) or in_water else "not soil"
    if not kind:
        if _SURELY_WATER.fullmatch(words):
            return "water"
        return "not soil" if _SURELY_NO_SOIL.fullmatch(words) else "soil"
    return "soil"
