"""Every fault of a farm file in plain words, each with the line it stands on."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from layers.soil_grid_kinds import KINDS, UNITS, faults_of
from maps import farm_values as values
from maps.toml_text import Place
from suitability.conversions import M_PER_FT
from suitability.errors import listed

Fault = tuple[Place, str]

_SAME_DRILL_M = 0.1
_OPENING_BYTES = 4096  # a station's place stands in the preamble or the header of its file


def message(path: Path, faults: list[Fault], lines: Mapping[Place, int]) -> str:
    """One message of all faults, in the order of the file."""
    told = sorted({(_line(place, lines), _where(place, lines), words) for place, words in faults})
    return listed(
        f"{path} cannot be used",
        [f"{f'line {line}, ' if line else ''}{where}: {words}" for line, where, words in told],
        "Mend these lines; 'suitability new DIR' writes a farm file that explains every key.",
    )


def in_words(error: Mapping[str, Any], tables: Mapping[str, type[BaseModel]]) -> Fault:
    """Tell a fault that pydantic found in our words; ``tables`` are the known tables by name."""
    place: Place = tuple(error["loc"])
    kind = error["type"]
    if kind == "value_error":
        return place, str(error["ctx"]["error"])
    if kind == "missing":
        if place == ("fields",):
            return place, 'the table is missing; add [fields] and under it file = "your file"'
        return place, "is missing"
    if kind == "extra_forbidden":
        return place, _unknown(place, error["input"], tables)
    if kind in ("model_type", "dict_type", "tuple_type", "model_attributes_type"):
        return place, _not_a_table(place, error["input"])
    return place, f"{error['msg']}, got {values.shown(error['input'])}"


def _unknown(place: Place, value: Any, tables: Mapping[str, type[BaseModel]]) -> str:
    key = str(place[-1])
    if len(place) == 1:
        kind = "table" if isinstance(value, dict | list) else "key"
        home = [f"[{name}]" for name, table in tables.items() if key in table.model_fields]
        hint = f"it belongs under {' or '.join(home)}" if home else values.nearest(key, tables)
        return f"unknown {kind}; {hint}"
    top = str(place[0])
    known = set(tables[top].model_fields)
    if top == "fields" and len(place) > 2:
        known = set(tables["field"].model_fields)  # the names under [fields.columns]
    if top == "field" and isinstance(value, dict):
        return f'unknown table; an id with a dot stands in quotes: [field."{place[1]}.{key}"]'
    home = [f"[{n}]" for n, t in tables.items() if n != "field" and key in t.model_fields]
    if home and key not in ("file", "name"):
        return f"unknown key here; it belongs under {' or '.join(home)}"
    return f"unknown key; {values.nearest(key, sorted(known))}"


def _not_a_table(place: Place, value: Any) -> str:
    top = str(place[0])
    got = values.shown(value)
    if top == "field":
        if len(place) == 1:
            return f"must be tables, each named for one field, such as [field.7], got {got}"
        return f"what is known of a field stands under its own table, such as [field.7], got {got}"
    if top == "fields" and len(place) > 1:
        return f'must be a table: [fields.columns] and under it drained = "COLUMN", got {got}'
    return f'must be a table: write [{top}] and under it file = "..." or another key, got {got}'


def between(document: Mapping[str, Any], folder: Path) -> list[Fault]:
    """Faults of values that do not fit each other; ``document`` has weather as a list of tables."""
    faults: list[Fault] = []
    gap = document.get("gap")
    opens, closes = (_month_day(gap, name) for name in ("opens", "closes"))
    faults += _gap_order(("gap", "closes"), opens, closes)
    fields = document.get("field")
    for id_, table in fields.items() if isinstance(fields, dict) else ():
        own = [_month_day(table, name) for name in ("gap_opens", "gap_closes")]
        if any(own):
            key = "gap_closes" if own[1] else "gap_opens"
            faults += _gap_order(("field", id_, key), own[0] or opens, own[1] or closes)
    faults += _drill(document.get("wet_ground"))
    faults += _soil_grids(document.get("soil_grid"))
    return faults + _weather_places(document.get("weather"), folder)


def _month_day(table: Any, name: str) -> str | None:
    """Month-day of a key, None where it is absent or faulty (which is told elsewhere)."""
    if not isinstance(table, dict) or name not in table:
        return None
    try:
        return values.month_day(table[name])
    except ValueError:
        return None


def _gap_order(place: Place, opens: str | None, closes: str | None) -> list[Fault]:
    if opens is None or closes is None or closes > opens:
        return []
    return [
        (
            place,
            f"the gap closes ({closes}) before it opens ({opens}); give MM-DD of one year. Of a "
            "field that stands empty across New Year, enter the warm part: as opens the day from "
            'which it could be sown in spring or summer, such as "04-01", as closes the day of the '
            "same year by which it must be free",
        )
    ]


def _drill(table: Any) -> list[Fault]:
    """The drill's width in feet and in metres must be one width."""
    feet, metres = (
        (table.get("drill_ft"), table.get("drill_m")) if isinstance(table, dict) else (None, None)
    )
    if not isinstance(feet, int | float) or not isinstance(metres, int | float):
        return []
    if abs(feet * M_PER_FT - metres) <= _SAME_DRILL_M:
        return []
    words = f"{metres:g} m are not the {feet:g} ft of drill_ft; keep one of the two"
    return [(("wet_ground", "drill_m"), words)]


def _soil_grids(grids: Any) -> list[Fault]:
    """Unit, depths and classes that a soil grid lacks, or that do not fit its property."""
    faults: list[Fault] = []
    for index, table in enumerate(grids if isinstance(grids, list) else ()):
        what = table.get("property") if isinstance(table, dict) else None
        what = what.strip().lower() if isinstance(what, str) else None
        if what not in KINDS:
            continue
        unit, depths = table.get("unit"), [table.get(key) for key in ("from_cm", "to_cm")]
        unit = unit.strip().lower() if isinstance(unit, str) else unit
        # A value that is none, or no unit at all, is told elsewhere.
        known_unit = unit if unit is None or unit in UNITS else next(iter(KINDS[what].units), None)
        top, bottom = (d if d is None or type(d) in (int, float) else float("nan") for d in depths)
        found = faults_of(what, known_unit, top, bottom, table.get("classes"))
        faults += [(("soil_grid", index, key), words) for key, words in found.items()]
    return faults


def _weather_places(weather: Any, folder: Path) -> list[Fault]:
    faults: list[Fault] = []
    placeless: list[Fault] = []
    for index, table in enumerate(weather if isinstance(weather, list) else ()):
        if not isinstance(table, dict):
            continue
        given = [key for key in ("lat", "lon") if key in table]
        if len(given) == 1:
            other = {"lat": "lon", "lon": "lat"}[given[0]]
            faults.append((("weather", index, given[0]), f"{other} is missing; give both, degrees"))
        elif not given and isinstance(table.get("file"), str):
            if not _names_a_latitude(folder / table["file"]):
                words = (
                    "does not say where its station lies; with several weather files give each "
                    "its lat, lon (degrees) and elevation_m under its own [[weather]]"
                )
                placeless.append((("weather", index, "file"), f"{table['file']!r} {words}"))
    return faults + (placeless if len(placeless) > 1 else [])


def _names_a_latitude(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            opening = file.read(_OPENING_BYTES)
    except (OSError, ValueError):
        return True  # that it cannot be opened is told elsewhere
    return b"lat" in opening.replace(b"\0", b"").lower()


def _line(place: Place, lines: Mapping[Place, int]) -> int:
    """Line of a place, or of the nearest thing around it; 0 where none is known."""
    while place:
        by_name = tuple(part for part in place if not isinstance(part, int))
        for known in (place, by_name):
            if known in lines:
                return lines[known]
        place = place[:-1]
    return 0


def _where(place: Place, lines: Mapping[Place, int]) -> str:
    """Name a place as it is written in the file, such as ``[field.7] drained``."""
    parts = list(place)
    if len(parts) == 1:
        return f"[{parts[0]}]"
    if parts[0] in ("weather", "soil_grid") and isinstance(parts[1], int):
        several = (parts[0], 1) in lines
        table = f"[[{parts[0]}]] number {parts[1] + 1}" if several else f"[{parts[0]}]"
        rest = parts[2:]
    elif parts[:2] == ["plan", "herd"] and len(parts) > 2:
        table, rest = f"[[plan.herd]] number {int(parts[2]) + 1}", parts[3:]
    elif parts[0] == "field" or parts[:2] == ["fields", "columns"]:
        table, rest = f"[{parts[0]}.{parts[1]}]", parts[2:]
    else:
        table, rest = f"[{parts[0]}]", parts[1:]
    return " ".join([table, *(str(part) for part in rest)])
