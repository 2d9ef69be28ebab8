"""The calendar of sowing weeks: one grid of 7 days for every field."""

from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache

_YEAR = 2001  # a year without a leap day stands for all


@lru_cache
def week_grid() -> tuple[str, ...]:
    """First day of each sowing week of a year, MM-DD: 1 January and every seventh day after."""
    first = date(_YEAR, 1, 1)
    return tuple((first + timedelta(days=7 * i)).strftime("%m-%d") for i in range(52))


@lru_cache
def weeks_in(opens_mmdd: str, closes_mmdd: str) -> tuple[str, ...]:
    """Sowing weeks that begin inside a gap, from its opening up to the day before it closes.

    >>> weeks_in("05-10", "06-01")
    ('05-14', '05-21', '05-28')
    """
    if opens_mmdd < closes_mmdd:
        return tuple(w for w in week_grid() if opens_mmdd <= w < closes_mmdd)
    late = tuple(w for w in week_grid() if w >= opens_mmdd)
    return (*late, *(w for w in week_grid() if w < closes_mmdd))


def weeks_of(gaps: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Every sowing week of any of these gaps, in the order of the year."""
    return tuple(sorted({week for opens, closes in gaps for week in weeks_in(opens, closes)}))
