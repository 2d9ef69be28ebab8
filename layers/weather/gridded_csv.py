"""One point of a daily grid as CSV: some lines about the place, then year, yday and units.

Years have 365 days: 29 February is there, 31 December of a leap year is not, and stays missing.
"""

import re
from pathlib import Path

import numpy as np

from layers.text_table import table_from_text
from layers.weather.header_names import measure_and_unit
from layers.weather.readings import LAYER, MEASURED, Layout, Readings, number_column, refuse
from layers.weather.readings import station_table as one_station
from layers.weather.table_layout import days_of
from suitability.conversions import M_PER_FT

_PREAMBLE_MOST = 40
_HEADER = re.compile(r"^\s*\"?year\"?\s*[,;\t]\s*\"?yday\"?\s*[,;\t]", re.IGNORECASE)
_NUMBER = r"\s*[:=]\s*([+-]?\d+(?:\.\d+)?)"
_J_PER_MJ = 1e6


def _header_line(text: str) -> int | None:
    for number, line in enumerate(text.split("\n", _PREAMBLE_MOST)[:_PREAMBLE_MOST]):
        if _HEADER.match(line):
            return number
    return None


def _matches(text: str) -> bool:
    return _header_line(text) is not None


def _stated(preamble: str, word: str) -> float:
    found = re.search(rf"\b{word}{_NUMBER}", preamble, re.IGNORECASE)
    return float(found[1]) if found else float("nan")


def _read(text: str, path: Path) -> Readings:
    lines = text.split("\n")
    header = _header_line(text) or 0
    preamble = "\n".join(lines[:header])
    # Blank lines in its place keep the numbers of the rows.
    table, notes = table_from_text("\n" * header + "\n".join(lines[header:]), path, layer=LAYER)
    stated = {str(column): measure_and_unit(str(column)) for column in table.columns}
    columns = {measure: column for column, (measure, _) in stated.items() if measure}
    units = {measure: unit for measure, unit in stated.values() if measure}
    days, more = days_of(
        table, {m: c for m, c in columns.items() if m in MEASURED}, path, header + 2
    )
    faults = [
        f"column {columns[m]!r} does not state a unit that is read here"
        for m in ("tmax", "tmin", "precip")
        if m in columns and (units[m] is None or str(units[m]).startswith("?"))
    ]
    if "tmax" in columns and "tmin" in columns and units["tmax"] != units["tmin"]:
        faults.append(f"{columns['tmax']!r} and {columns['tmin']!r} state different units")
    if units.get("solar") == "w_m2" and "daylight" in columns:
        # The grid gives the mean over the daylight, not over the whole day.
        column = columns["daylight"]
        daylight_s = number_column(table[column], column, faults, rows=days["row"])
        days["solar"] = days["solar"] * daylight_s / _J_PER_MJ
    elif units.get("solar") != "mj_m2_d":
        days["solar"] = np.nan
    refuse(path, faults, "Expected a header such as: year,yday,prcp (mm/day),tmax (deg c).")
    lat_deg, lon_deg = _stated(preamble, "latitude"), _stated(preamble, "longitude")
    elevation_m = _stated(preamble, "elevation")
    if re.search(r"elevation\s*[:=]\s*[\d.+-]+\s*(ft|feet)\b", preamble, re.IGNORECASE):
        elevation_m *= M_PER_FT
    placed = np.isfinite(lat_deg) and np.isfinite(lon_deg)
    station = f"grid {lat_deg:.4f} {lon_deg:.4f}" if placed else path.stem
    days["station"] = station
    return Readings(
        layout="point of a daily grid (CSV)",
        days=days,
        stations=one_station(station, None, lat_deg, lon_deg, elevation_m),
        temperature_unit=units.get("tmax") or units.get("tmin"),
        precip_unit=units.get("precip"),
        columns=columns,
        notes=(*notes, *more),
    )


GRIDDED_CSV = Layout("a point of a daily grid (CSV with year, yday)", _matches, _read)
