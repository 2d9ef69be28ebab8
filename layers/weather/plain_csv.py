"""Any table with a date and columns such as ``tmax_c``, ``tmin (F)``, ``rain_in``."""

from pathlib import Path

import numpy as np

from layers.text_table import table_from_text
from layers.weather.header_names import measure_and_unit
from layers.weather.readings import LAYER, MEASURED, Layout, Readings, refuse
from layers.weather.table_layout import days_of, has_days, stations_of
from suitability.notes import Note

_TEMPERATURE = ("tmax", "tmin")
_EXPECTED = (
    "Expected a header such as: date,tmax_c,tmin_c,precip_mm or date,tmax (F),tmin (F),rain (in). "
    "Rename the columns."
)


def _cells(text: str) -> list[str]:
    line = text.lstrip("\n").split("\n", 1)[0]
    for delimiter in ";\t|":
        line = line.replace(delimiter, ",")
    return [cell.strip().strip('"') for cell in line.split(",")]


def _matches(text: str) -> bool:
    cells = _cells(text)
    return has_days(cells) and any(measure_and_unit(cell)[0] in MEASURED for cell in cells)


def _read(text: str, path: Path) -> Readings:
    table, notes = table_from_text(text, path, layer=LAYER)
    columns: dict[str, str] = {}
    units: dict[str, str | None] = {}
    faults = []
    for column in map(str, table.columns):
        measure, unit = measure_and_unit(column)
        if measure not in MEASURED:
            continue
        if unit is not None and unit.startswith("?"):
            faults.append(f"column {column!r}: the unit {unit[1:]!r} is not read here")
        elif measure in columns:
            faults.append(f"columns {columns[measure]!r} and {column!r} are the same measure")
        columns.setdefault(measure, column)
        units.setdefault(measure, unit)
    stated = {units[m] for m in _TEMPERATURE if units.get(m)}
    if len(stated) > 1:
        faults.append(f"columns {columns['tmax']!r} and {columns['tmin']!r} state different units")
    refuse(path, faults, _EXPECTED)
    days, more = days_of(table, columns, path, first_row=2)
    if units.get("solar") != "mj_m2_d":
        days["solar"] = np.nan
        if "solar" in columns:
            text = f"{path.name}: {columns['solar']!r} is not in MJ/m2 a day and was left aside."
            more.append(Note(LAYER, "info", text))
    stations, about_places = stations_of(table, days, path)
    return Readings(
        layout="daily table (CSV)",
        days=days,
        stations=stations,
        temperature_unit=next(iter(stated), None),
        precip_unit=units.get("precip"),
        columns=columns,
        notes=(*notes, *more, *about_places),
    )


PLAIN_CSV = Layout("a table with a date and columns such as tmax_c or rain (in)", _matches, _read)
