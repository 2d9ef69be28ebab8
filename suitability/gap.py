"""The gap: the time a field stands empty, from MM-DD to MM-DD, also across a new year."""

from datetime import date
from functools import lru_cache

_YEAR = 2001  # any year without a leap day: a gap is counted on the calendar, not in a season


@lru_cache(maxsize=4096)  # the same weeks and closes are asked for every soil of a farm
def gap_days(opens_mmdd: str, closes_mmdd: str) -> int:
    """Days from the opening to the closing of a gap.

    >>> gap_days("05-15", "09-15"), gap_days("11-01", "02-01")
    (123, 92)
    """
    opens, closes = _day(opens_mmdd), _day(closes_mmdd)
    if closes <= opens:
        closes = closes.replace(year=_YEAR + 1)
    return (closes - opens).days


def gap_months(opens_mmdd: str, closes_mmdd: str) -> tuple[int, ...]:
    """Months that the gap touches, in its own order.

    >>> gap_months("05-15", "09-01"), gap_months("11-20", "01-10")
    ((5, 6, 7, 8, 9), (11, 12, 1))
    """
    first, last = int(opens_mmdd[:2]), int(closes_mmdd[:2])
    closes = last if closes_mmdd > opens_mmdd else last + 12
    return tuple((month - 1) % 12 + 1 for month in range(first, closes + 1))


def _day(mmdd: str) -> date:
    month, day = (int(part) for part in mmdd.split("-"))
    return date(_YEAR, month, min(day, 28) if month == 2 else day)
