"""How much of a rain runs off, by the curve number and the wetness of the topsoil."""

from suitability.compiled import inlined
from suitability.soil_column import (
    CAPACITY,
    PER_TOP_AVAILABLE,
    PER_TOP_DRAINABLE,
    RETENTION_DRY,
    RETENTION_FULL,
    RETENTION_MEAN,
    RETENTION_WET,
    WILTING,
    Numbers,
    Six,
)


@inlined
def runoff_mm(rain_mm: float, retention_mm: float) -> float:
    """Runoff of a day's rain [mm] by the curve number equation; initial loss is 0.2 S.

    References
    ----------
    NEH 630 chapter 10, equation 10-11; S = 25400 / CN - 254.

    >>> round(float(runoff_mm(75.0, 25400 / 78 - 254)), 2)
    27.82
    """
    beyond = max(0.0, rain_mm - 0.2 * retention_mm)
    return beyond * beyond / (beyond + retention_mm)


@inlined
def retention_now_mm(water: Six, soil: tuple[Six, ...], ground: Numbers) -> float:
    """Retention [mm]: dry at wilting, mean halfway, wet at field capacity, least at saturation.

    Of 0-30 cm, straight between these; NEH 630 gives the three conditions, the path between them
    is ours.
    """
    now = water[0] + water[1] + water[2]
    wilting = soil[WILTING][0] + soil[WILTING][1] + soil[WILTING][2]
    capacity = soil[CAPACITY][0] + soil[CAPACITY][1] + soil[CAPACITY][2]
    wet = 2.0 * max(0.0, now - wilting) * ground[PER_TOP_AVAILABLE]
    full = max(0.0, now - capacity) * ground[PER_TOP_DRAINABLE]
    dry_side = ground[RETENTION_DRY] + wet * (ground[RETENTION_MEAN] - ground[RETENTION_DRY])
    wet_side = ground[RETENTION_MEAN] + min(1.0, wet - 1.0) * (
        ground[RETENTION_WET] - ground[RETENTION_MEAN]
    )
    wet_side += full * (ground[RETENTION_FULL] - ground[RETENTION_WET])
    return dry_side if wet <= 1.0 else wet_side
