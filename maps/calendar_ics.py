"""The days of the plan as calendar.ics, for a phone or computer (RFC 5545)."""

import hashlib
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from maps.assessment import Assessment
from maps.legend import Legend
from maps.reader import legend_of, words_of
from maps.shown_names import shown
from maps.words import Words
from suitability.feed import CAUTIONS

_MOST_OCTETS = 75  # of a line, without its end (RFC 5545, 3.1)
_PRODUCT = "-//summer-gap-fields//plan//EN"


def write_calendar(assessment: Assessment, path: Path) -> bool:
    """Write one all-day entry for each day of the plan; see ``calendar_text``.

    Where the plan sows nothing no file is written, one of an earlier plan is taken away, and the
    answer is false.
    """
    table = assessment.calendar
    if table is None or not table["sown"].any():
        path.unlink(missing_ok=True)
        return False
    path.write_bytes(calendar_text(assessment).encode())
    return True


def calendar_text(assessment: Assessment) -> str:
    """Give the calendar of the fields that the plan sows.

    Each entry stands on the usual day, the sowing on its whole week; the spread is in its text.
    The year is that of the next sowing week to come.
    """
    words, legend = words_of(assessment), legend_of(assessment)
    made = date.fromisoformat(assessment.provenance.made_on)
    names = assessment.fields.set_index("field_id")["name"]
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{_PRODUCT}", "CALSCALE:GREGORIAN"]
    table = assessment.calendar
    own = table[table["sown"]] if table is not None else None
    for field_id, days in own.groupby("field_id", sort=False) if own is not None else ():
        week = days["sow_date"].iloc[0]
        name = names.get(field_id)
        called = shown(name) if isinstance(name, str) and name else shown(field_id)
        for row in days.itertuples(index=False):
            day = week if row.event == "sow" else row.usual_mmdd
            first = _day_in_season(day, week, row.event == "soil_warm", made)
            n_days = 7 if row.event == "sow" else 1
            title = f"{called}: {words(f'plan.event_short.{row.event}')}"
            note = _note(row, words, legend)
            key = f"{assessment.farm.name}|{field_id}|{row.event}|{first:%Y}"
            lines += [
                "BEGIN:VEVENT",
                f"UID:{hashlib.sha256(key.encode()).hexdigest()[:32]}@summer-gap-fields",
                f"DTSTAMP:{datetime(made.year, made.month, made.day):%Y%m%dT%H%M%SZ}",
                f"DTSTART;VALUE=DATE:{first:%Y%m%d}",
                f"DTEND;VALUE=DATE:{first + timedelta(days=n_days):%Y%m%d}",
                f"SUMMARY:{_escaped(title)}",
                *([f"DESCRIPTION:{_escaped(note)}"] if note else []),
                "TRANSP:TRANSPARENT",
                "END:VEVENT",
            ]
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _note(row: Any, words: Words, legend: Legend) -> str:
    """What stands under an entry: its spread, and what to mind where stock or a mower go in."""
    early, usual, late = (legend.day(d) for d in (row.early_mmdd, row.usual_mmdd, row.late_mmdd))
    told = []
    if row.event == "soil_warm":
        told.append(words("plan.ics_warm", early=usual, late=late or usual))
    elif row.event == "sow":  # its entry is the week, so the usual day is told
        told.append(words("plan.ics_sow", usual=usual, early=early, late=late))
    elif early and late and early != late:
        told.append(words("plan.ics_spread", early=early, late=late))
    if row.event == "feed_opens":
        told += [words(f"plan.caution.{code}") for code in CAUTIONS]
    return " ".join(told)


def _day_in_season(mmdd: str, week: str, before: bool, made: date) -> date:
    """The day in the season whose sowing week comes next; ``before``: it may precede the sowing."""
    sowing = date.fromisoformat(f"{made.year}-{week}")
    if sowing + timedelta(days=6) < made:
        sowing = sowing.replace(year=made.year + 1)
    found = date.fromisoformat(f"{sowing.year}-{'02-28' if mmdd == '02-29' else mmdd}")
    return found.replace(year=found.year + 1) if found < sowing and not before else found


def _escaped(text: str) -> str:
    """Text of RFC 5545, 3.3.11; letters that steer are dropped."""
    plain = "".join(c for c in text.replace("\r\n", "\n") if c == "\n" or c.isprintable())
    for letter in ("\\", ";", ","):
        plain = plain.replace(letter, f"\\{letter}")
    return plain.replace("\n", "\\n")


def _folded(line: str) -> str:
    """A line in pieces of at most 75 octets, no letter cut; pieces go on after a blank."""
    pieces: list[str] = []
    piece = ""
    for letter in line:
        most = _MOST_OCTETS - (1 if pieces else 0)
        if len((piece + letter).encode()) > most:
            pieces.append(piece)
            piece = ""
        piece += letter
    return "\r\n ".join([*pieces, piece])
