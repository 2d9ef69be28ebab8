"""Wet ground by sowing week: how often each spot is too wet, and how much of a field is."""

from dataclasses import dataclass

import pandas as pd

from suitability.contract import Column

_KEYS = (
    Column("field_id", "field", "text", required=True, key=True),
    Column("sow_date", "first day of the sowing week, MM-DD", "text", required=True, key=True),
)
WET_SPOT_WEEKS: tuple[Column, ...] = (
    _KEYS[0],
    Column("wet_id", "wet ground, as in WET_GROUND", "text", required=True, key=True),
    _KEYS[1],
    Column("years_in_ten", "years in ten too wet if sown then", "number", "years/10", 0, 10),
)
WET_FIELD_WEEKS: tuple[Column, ...] = (
    *_KEYS,
    Column("wet_ha", "ground too wet if sown then", "number", "ha", 0, 1e6),
)


@dataclass(frozen=True)
class WetWeeks:
    """The same fields sown in every week of their gaps.

    ``spots`` (WET_SPOT_WEEKS): the shape of a spot is that of the recommended week, and its years
    in ten are the mean over those cells that made it wet ground then, so that in the recommended
    week it has the odds of ``WET_GROUND``. Spots without odds there (a mark, the survey alone) have
    none in any week and no row.

    ``fields`` (WET_FIELD_WEEKS): all ground of a field that would be drawn as wet were that week
    the recommended one, also where no spot is drawn now.

    ``least_years_in_ten`` : from these odds on ground is too wet.
    """

    spots: pd.DataFrame
    fields: pd.DataFrame
    least_years_in_ten: float
