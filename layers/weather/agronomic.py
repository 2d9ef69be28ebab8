"""Weather files of crop models: a site line under ``@ INSI LAT LONG ELEV``, days under ``@DATE``.

Columns end where their names end. Dates are YYYYDDD or YYDDD, -99 is missing; temperature in C,
rain in mm, radiation in MJ/m2/d, by the convention of these files.
"""

import datetime as dt
import re
from pathlib import Path

import numpy as np
import pandas as pd

from layers.weather.dates import days_of_year
from layers.weather.readings import LAYER, Layout, Readings, number_column, refuse, station_table
from suitability.notes import Note

_MEASURES = {"tmax": "TMAX", "tmin": "TMIN", "precip": "RAIN", "solar": "SRAD"}
_DATE_HEADER = re.compile(r"^@\s*(DATE|YRDAY|YEARDOY)\b", re.MULTILINE)
_EXPECTED = (
    "Expected a line '@DATE SRAD TMAX TMIN RAIN' and one line a day under it, dated YYYYDDD or "
    "YYDDD, -99 for missing."
)
_FAULTS_SHOWN = 5


def _matches(text: str) -> bool:
    return _DATE_HEADER.search(text) is not None


def _read(text: str, path: Path) -> Readings:
    faults: list[str] = []
    site: dict[str, str] = {}
    records: list[dict[str, str]] = []
    names: list[tuple[str, int]] = []
    for number, raw in enumerate(text.split("\n"), 1):
        line = raw.rstrip("\x1a \t").expandtabs()
        if not line.strip() or line[0] in "!*$":
            continue
        if line.startswith("@"):
            names = [
                (m[0].upper(), m.end()) for m in re.finditer(r"\S+", line.replace("@", " ", 1))
            ]
            continue
        values = _cut(line, names)
        # Columns left out at the end are common, but not those that every such file has.
        if values is None or _ends_early(line, values, names):
            faults.append(f"line {number} does not fit under its header: {line[:40]!r}")
        elif names[0][0] in ("DATE", "YRDAY", "YEARDOY"):
            records.append({**values, "DATE": values[names[0][0]], "row": str(number)})
        elif not site:
            site = values
    if faults:
        refuse(path, _some(faults), f"{_EXPECTED} The file may be cut short: copy it again.")
    if not records:
        refuse(path, ["no day stands under its @DATE line"], _EXPECTED)
    table = pd.DataFrame(records)
    rows = table["row"].astype(int)
    dates, notes = _dates(table["DATE"], rows, path)
    days = pd.DataFrame({"station": site.get("INSI") or path.stem, "row": rows, "date": dates})
    measures = {m: name for m, name in _MEASURES.items() if name in table.columns}
    for measure in _MEASURES:
        days[measure] = (
            number_column(table[measures[measure]], measures[measure], faults, rows=rows)
            if measure in measures
            else np.nan
        )
    days["solar"] = days["solar"].where(days["solar"] >= 0)
    place = [_site_number(site, key, faults) for key in ("LAT", "LONG", "ELEV")]
    refuse(path, faults, _EXPECTED)
    return Readings(
        layout="crop-model weather file",
        days=days,
        stations=station_table(str(days["station"].iloc[0]), None, *place),
        temperature_unit="c",
        precip_unit="mm",
        columns=measures,
        notes=tuple(notes),
    )


def _cut(line: str, names: list[tuple[str, int]]) -> dict[str, str] | None:
    """Values under their names: parted by blanks where that fits, else by where the names end."""
    if not names:
        return None
    parts = line.split()
    if len(parts) == len(names):
        return {name: part for (name, _), part in zip(names, parts, strict=True)}
    values, start = {}, 0
    for name, end in names:
        values[name] = line[start:end].strip()
        start = end
    if line[start:].strip() or any(" " in value for value in values.values()):
        return None
    return values if values[names[0][0]] else None


def _ends_early(line: str, values: dict[str, str], names: list[tuple[str, int]]) -> bool:
    needed = [end for name, end in names if name in ("TMAX", "TMIN", "RAIN")]
    short = bool(needed) and len(line) < max(needed)
    return short and len(line.split()) < len(names) and "" in values.values()


def _dates(texts: pd.Series, rows: pd.Series, path: Path) -> tuple[pd.Series, list[Note]]:
    found = texts.str.extract(r"^(\d{4}|\d{2})(\d{3})$")
    year, doy = found[0].astype(float), found[1].astype(float)
    short = found[0].str.len() == 2
    this_year = dt.date.today().year % 100
    year = year.mask(short, year + np.where(year <= this_year, 2000, 1900))
    dates = days_of_year(year, doy)
    odd = dates.isna()
    if odd.any():
        shown = [f"line {rows[i]}: no day in {texts[i][:20]!r}" for i in texts.index[odd]]
        refuse(path, _some(shown), _EXPECTED)
    if not short.any():
        return dates, []
    text = (
        f"{path.name}: years of two digits were read as {dates[short].dt.year.min()} to "
        f"{dates[short].dt.year.max()}."
    )
    return dates, [Note(LAYER, "info", text)]


def _site_number(site: dict[str, str], key: str, faults: list[str]) -> float:
    text = site.get(key, "")
    try:
        number = float(text) if text else float("nan")
    except ValueError:
        faults.append(f"the site line has no number for {key}: {text!r}")
        return float("nan")
    return float("nan") if number in (-99.0, -999.0) or np.isinf(number) else number


def _some(faults: list[str]) -> list[str]:
    more = len(faults) - _FAULTS_SHOWN
    return faults[:_FAULTS_SHOWN] + ([f"and {more} more lines"] if more > 0 else [])


AGRONOMIC = Layout("a crop-model weather file (@DATE)", _matches, _read)
