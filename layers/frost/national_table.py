"""National tables of freeze dates by probability: plain text, a station a line, no header.

A line holds the station's id and its value with the letter of completeness glued to it, such as
``USW00094765        10/03R``. Which dates they are stands in the file's name
(``ann-tmin-prbfst-t28fp10.txt``), and where the stations lie in a list beside it
(``allstations.txt``: id, latitude, longitude, metres, state, name). Layouts from memory of the
1981-2010 normals, not checked in print.
"""

import re
from pathlib import Path
from typing import Any

from layers.files import read_text
from layers.frost import codes
from layers.frost.dates import month_day
from layers.frost.stated import LAYER, Stated, what_it_is
from layers.frost.station_rows import StationRows, station_table
from suitability.errors import InputError, listed
from suitability.notes import Note

NAME = "national table of freeze dates"
_ID = r"(?P<id>[A-Z]{2}[A-Z0-9][A-Z0-9]{8})"
_VALUE = r"(?P<value>\d{1,2}/\d{1,2}|-?\d{1,4}(?:\.0)?)(?P<flag>[A-Z]?)"
_LINE = re.compile(rf"{_ID}\s+{_VALUE}(?:\s.*)?")
_STATION = re.compile(
    rf"{_ID}\s+(-?\d{{1,2}}\.\d+)\s+(-?\d{{1,3}}\.\d+)\s+(-?\d+(?:\.\d+)?)(?:\s+(.*))?"
)
_LISTS = ("*stations*.txt", "*inventory*.txt")
_MOST_SHOWN = 6


def recognises(text: str) -> bool:
    """Whether the first line that is not empty is a station with its value."""
    first = next((line.strip() for line in text.split("\n", 50) if line.strip()), "")
    return _LINE.fullmatch(first) is not None and _STATION.fullmatch(first) is None


def read(text: str, source: Path, stated: Stated) -> StationRows:
    """Dates of every station in the file; the years behind them are not in it.

    Raises
    ------
    InputError : what the dates are is not stated; lines that are no station and value.
    """
    what = what_it_is(source, stated, needed=("event", "threshold_c", "prob_pct"))
    places, notes = _places(source)
    rows: list[dict[str, Any]] = []
    faults: list[str] = []
    flags: set[str] = set()
    for number, line in enumerate(text.split("\n"), 1):
        if not line.strip():
            continue
        match = _LINE.fullmatch(line.strip())
        if match is None:
            faults.append(f"line {number}: {line.strip()[:40]!r} is no station id and value")
            continue
        value, fault = _value(match["value"], what["event"])
        if fault:
            faults.append(f"line {number}: {fault}")
        elif value:
            flags.add(match["flag"])
            place = places.get(match["id"], {})
            rows.append({"station": match["id"], **place, **what, **value, "source": source.name})
    if faults:
        more = [f"and {len(faults) - _MOST_SHOWN} more"] if len(faults) > _MOST_SHOWN else []
        remedy = "Expected lines such as 'USW00094765  10/03R'. Download the file again."
        raise InputError(listed(f"{source} cannot be used", faults[:_MOST_SHOWN] + more, remedy))
    if stated.station is not None:
        rows = [r for r in rows if r["station"].upper() == stated.station.upper()] or rows
    words, weak = codes.completeness_words(flags)
    if words and len(rows) == 1:
        said = f"{source.name}: the record behind the freeze dates is {words}."
        notes.append(Note(LAYER, "caution" if weak else "info", said))
    return StationRows(station_table(rows), notes)


def _value(text: str, event: str) -> tuple[dict[str, Any], str]:
    """Columns of FROST, none for a special value: it does not tell why there is no date."""
    if codes.code_of(text) is not None:
        return {}, ""
    if event == "season":
        if "/" in text or not 0 <= float(text) <= 366:
            return {}, f"{text!r} is no length of a season; expected 0 to 366 days"
        return {"season_d": float(text)}, ""
    try:
        return {"date_mmdd": month_day(text)}, ""
    except ValueError as error:
        return {}, str(error)


def _places(source: Path) -> tuple[dict[str, dict[str, Any]], list[Note]]:
    """Places of the stations by id, from a list in the same folder."""
    for pattern in _LISTS:
        for path in sorted(source.parent.glob(pattern)):
            if path == source or not path.is_file():
                continue
            text, _ = read_text(path, layer=LAYER)
            places = {}
            for line in text.split("\n"):
                match = _STATION.fullmatch(line.strip())
                if match and abs(float(match[2])) <= 90 and abs(float(match[3])) <= 180:
                    height = float(match[4])
                    places[match["id"]] = {
                        "lat_deg": float(match[2]),
                        "lon_deg": float(match[3]),
                        "elevation_m": height if -450 <= height <= 6000 else None,
                        "name": (match[5] or "").strip()[:40] or None,
                    }
            if places:
                said = f"{source.name}: where its stations lie was read from {path.name}."
                return places, [Note(LAYER, "info", said)]
    return {}, []
