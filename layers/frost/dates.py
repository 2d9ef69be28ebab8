"""A day of the year as people write it, read to MM-DD; days in order of a July-to-June season."""

import datetime as dt
import re

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NUMBERS = re.compile(r"(?:\d{4}[-/])?(\d{1,2})[-/](\d{1,2})")
_AMERICAN = re.compile(r"(\d{1,2})/(\d{1,2})/\d{4}")
_NAMED = re.compile(r"([A-Za-z]{3,9})\.?[ -](\d{1,2})|(\d{1,2})[ -]([A-Za-z]{3,9})\.?")


def month_day(text: str) -> str:
    """MM-DD of ``MM-DD``, ``M/D``, ``YYYY-MM-DD``, ``M/D/YYYY``, ``Nov 13`` or ``13 Nov``.

    Raises
    ------
    ValueError : no such day; the words say what was expected.

    >>> month_day(" 11/3"), month_day("2020-04-01"), month_day("13 November")
    ('11-03', '04-01', '11-13')
    """
    text = text.strip()
    if match := _NUMBERS.fullmatch(text) or _AMERICAN.fullmatch(text):
        month, day = int(match[1]), int(match[2])
    elif match := _NAMED.fullmatch(text):
        name = (match[1] or match[4]).lower()[:3]
        month = _MONTHS.index(name) + 1 if name in _MONTHS else 0
        day = int(match[2] or match[3])
    else:
        raise ValueError(f"{text[:40]!r} is no month and day; expected MM-DD, such as 11-13")
    try:
        dt.date(2000, month, day)
    except ValueError:
        raise ValueError(
            f"there is no month-day {text!r}; the month stands first, such as 11-13"
        ) from None
    return f"{month:02d}-{day:02d}"
