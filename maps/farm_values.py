"""How one value of a farm file is read: paths, days, numbers, words; each fault in plain words."""

import datetime
import re
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationInfo

from layers.local_path import local_file, local_path
from suitability.columns import DRAINAGE_CLASSES
from suitability.contract import Column
from suitability.errors import InputError

Read = Callable[[Any], Any]

FIRST_YEAR, LAST_YEAR = 1950, 2100  # years a date of a grower can plausibly have

_MONTH_DAY = re.compile(r"^(\d{2})-(\d{2})$")


def nearest(word: str, known: Iterable[str]) -> str:
    """Hint at the known word nearest to this one, else all known words."""
    by_lower = {k.lower(): k for k in known}
    close = get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    if close:
        return f"did you mean {by_lower[close[0]]!r}?"
    return f"known here: {', '.join(by_lower.values())}"


def text(value: Any) -> str:
    """Text that is not empty, without blanks around it."""
    if not isinstance(value, str):
        raise ValueError(f"must be text in quotes, got {shown(value)}")
    if not value.strip():
        raise ValueError("is empty; give a text or take the line out")
    return value.strip()


def choice(*allowed: str) -> Read:
    """One of these words, in capitals or not."""

    def read(value: Any) -> str:
        word = text(value).lower()
        if word not in allowed:
            raise ValueError(f"{shown(value)} is not one of {', '.join(allowed)}")
        return word

    return read


def number(low: float, high: float, unit: str) -> Read:
    """Read a number between two plausible bounds, inclusive."""
    span = f"a number from {low:g} to {high:g}" + (f" {unit}" if unit else "")

    def read(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"must be {span}, without quotes, got {shown(value)}")
        if not low <= value <= high:  # not-a-number fails this too
            got = f"{value:g} {unit}".strip()
            raise ValueError(f"must be {span}, got {got}; is it in another unit?")
        return float(value)

    return read


def flag(value: Any) -> bool:
    """Read true or false."""
    if not isinstance(value, bool):
        raise ValueError(f"must be true or false, without quotes, got {shown(value)}")
    return value


def state(value: Any) -> str:
    """Two letters, or nothing."""
    if value == "":
        return ""
    word = text(value).upper()
    if not re.fullmatch("[A-Z]{2}", word):
        raise ValueError(f"must be the two letters of a state, such as GA, got {shown(value)}")
    return word


def month_day(value: Any) -> str:
    """Day of every year as MM-DD; of a full date the year is left aside."""
    if isinstance(value, datetime.date):
        value = f"{value.month:02d}-{value.day:02d}"
    match = _MONTH_DAY.match(value.strip()) if isinstance(value, str) else None
    if not match:
        raise ValueError(f'must be month-day, MM-DD, such as "05-15", got {shown(value)}')
    month, day = int(match[1]), int(match[2])
    if (month, day) == (2, 29):
        raise ValueError('"02-29" is not a day of every year; write "02-28" or "03-01"')
    try:
        datetime.date(2001, month, day)
    except ValueError:
        raise ValueError(
            f'there is no month-day "{value.strip()}"; the month stands first, such as "05-15"'
        ) from None
    return f"{month:02d}-{day:02d}"


def day(value: Any) -> datetime.date:
    """Date, written with or without quotes as YYYY-MM-DD."""
    if isinstance(value, datetime.datetime):
        value = value.date()
    if isinstance(value, str):
        try:
            value = datetime.datetime.strptime(value.strip(), "%Y-%m-%d").date()
        except ValueError:
            raise ValueError(
                f"must be a date, YYYY-MM-DD, such as 2025-03-01, got {shown(value)}"
            ) from None
    if not isinstance(value, datetime.date):
        raise ValueError(f"must be a date, YYYY-MM-DD, such as 2025-03-01, got {shown(value)}")
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise ValueError(f"{value} is not between the years {FIRST_YEAR} and {LAST_YEAR}")
    return value


def knowledge(column: Column) -> Read:
    """How a value of this declared column is read."""
    if column.kind == "number":
        return number(column.low, column.high, column.unit)
    if column.kind == "flag":
        return flag
    if column.kind == "date":
        return day
    if column.meaning.endswith("MM-DD"):
        return month_day
    return choice(*column.allowed) if column.allowed else text


def path_to(*, folder_ok: bool) -> Callable[[Any, ValidationInfo], Path]:
    """Read the name, relative to the farm file, of a local file, or of a folder if allowed."""

    def read(value: Any, info: ValidationInfo) -> Path:
        folder = info.context["folder"] if info.context else Path.cwd()
        return _existing(text(value), folder, folder_ok=folder_ok)

    return read


def paths(value: Any, info: ValidationInfo) -> tuple[Path, ...]:
    """One name or a list of names of local files or folders, relative to the farm file."""
    read = path_to(folder_ok=True)
    if not isinstance(value, list):
        return (read(value, info),)
    if not value:
        raise ValueError("is an empty list; give the name of a file or folder")
    return tuple(read(name, info) for name in value)


def classes(value: Any) -> dict[float, str]:
    """Which number of a raster stands for which drainage class, as { 1 = "well" }."""
    if not isinstance(value, dict) or not value:
        raise ValueError(f'must be written as {{ 1 = "well", 2 = "poorly" }}, got {shown(value)}')
    named = choice(*DRAINAGE_CLASSES)
    result = {}
    for number, name in value.items():
        try:
            result[float(number)] = named(name)
        except ValueError as error:
            wrong = str(error) if str(error).startswith(shown(name)) else "must be a number"
            raise ValueError(f"{number} = {shown(name)}: {wrong}") from None
    return result


def _existing(name: str, folder: Path, *, folder_ok: bool) -> Path:
    if any(ord(letter) < 32 for letter in name):
        raise ValueError(
            f"{name!r} holds a control letter; in paths write / instead of \\, "
            "or put the path in single quotes"
        )
    # Joined as text, so that the slashes of a web address stay and are recognised.
    full = name if Path(name).is_absolute() else f"{folder}/{name}"
    try:
        found = local_path(full)
        return found if folder_ok and found.is_dir() else local_file(full)
    except InputError as error:
        raise ValueError(str(error)) from None


def shown(value: Any) -> str:
    """Show a value as it may stand in a message: short, on one line."""
    words = {True: "true", False: "false"}.get(value) if isinstance(value, bool) else None
    if words is None:
        quiet = isinstance(value, datetime.date | datetime.time | int | float)
        words = str(value) if quiet else repr(value)
    return words if len(words) <= 60 else f"{words[:57]}..."
