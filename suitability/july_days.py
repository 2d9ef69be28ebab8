"""Days of a frost season as numbers: 1 July is 0, 30 June is 364; 29 February counts as the 28th.

From July on, a first freeze in January comes after one in December, as it does in the field.
"""

from datetime import date, timedelta

_START = date(2001, 7, 1)  # a season without a leap day
DAYS = 365
YEAR_END = 183  # 31 December


def july_day(mmdd: str) -> int:
    """Days from 1 July to a month and day, MM-DD.

    >>> july_day("07-01"), july_day("12-31"), july_day("01-02"), july_day("06-30")
    (0, 183, 185, 364)
    """
    month, day = (int(part) for part in mmdd.split("-"))
    if month == 2:
        day = min(day, 28)
    return (date(2001 if month >= 7 else 2002, month, day) - _START).days


def mmdd_of(july_day: int) -> str:
    """Month and day, MM-DD, that lies so many days after 1 July.

    >>> mmdd_of(183), mmdd_of(243)
    ('12-31', '03-01')
    """
    return (_START + timedelta(days=july_day % DAYS)).strftime("%m-%d")
