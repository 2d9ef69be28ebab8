"""The survey's own export: ``spatial/soilmu_a_*.shp`` beside ``tabular/*.txt`` without headers."""

import csv
import io
from pathlib import Path

import geopandas as gpd
import pandas as pd

from layers.files import open_vector, read_text
from layers.soil_map.expected import TABLES, lower_columns
from layers.soil_map.survey import LAYER, Layout, RawSurvey, remarks
from suitability.errors import CrsError, InputError, listed
from suitability.notes import Note

# Position of what is needed in the rows of the two tables that describe all others.
_TABLE, _FILE = 0, 4
_COLUMN_TABLE, _COLUMN_ORDER, _COLUMN_NAME = 0, 1, 2


def find(path: Path) -> Path | None:
    """The folder that holds ``spatial`` and ``tabular``; path may be it, or one of these two."""
    inside = path if path.is_dir() else path.parent
    if inside.name.lower() in ("spatial", "tabular"):
        path, inside = inside.parent, inside.parent
    if path != inside or _folder(inside, "tabular") is None:
        return None
    return inside if _folder(inside, "spatial") is not None else None


def read(path: Path) -> RawSurvey:
    """Map and tables of the export; InputError where one of its files is missing or uneven."""
    spatial, tabular = _folder(path, "spatial"), _folder(path, "tabular")
    if spatial is None or tabular is None:
        raise InputError(f"{path}: expected the folders spatial and tabular of a survey export.")
    maps = _maps(spatial)
    opened = [open_vector(shape) for shape in maps]
    notes = [note for o, m in zip(opened, maps, strict=True) for note in remarks(o, m.name)]
    columns = _columns(tabular)
    files, tables, where = list(maps), {}, {"mupolygon": ", ".join(m.name for m in maps)}
    by_name = {entry.name.lower(): entry for entry in tabular.iterdir() if entry.is_file()}
    file_names = _file_names(tabular)
    for table in TABLES:
        file = by_name.get(f"{file_names.get(table, table)}.txt")
        if file is None or table not in columns:
            continue
        tables[table], more = _rows(file, columns[table])
        notes += more
        where[table] = f"tabular/{file.name}"
        files.append(file)
    return RawSurvey(path.name, _one_map(opened, maps), tables, where, tuple(files), tuple(notes))


LAYOUT = Layout(
    "survey export",
    "the survey's own export: a folder or zip with spatial/soilmu_a_*.shp and tabular/*.txt",
    find,
    read,
)


def _folder(parent: Path, name: str) -> Path | None:
    if not parent.is_dir():
        return None
    return next((e for e in parent.iterdir() if e.is_dir() and e.name.lower() == name), None)


def _maps(spatial: Path) -> list[Path]:
    shapes = sorted(entry for entry in spatial.iterdir() if entry.suffix.lower() == ".shp")
    maps = [entry for entry in shapes if entry.name.lower().startswith("soilmu_a")]
    if not maps:
        found = ", ".join(entry.name for entry in shapes) or "no shapefile"
        raise InputError(
            f"{spatial}: the map of the survey is missing. Expected soilmu_a_*.shp, found {found}. "
            "Export the survey again with its map units."
        )
    return maps


def _one_map(opened: list[gpd.GeoDataFrame], maps: list[Path]) -> gpd.GeoDataFrame:
    first = opened[0]
    other = [m.name for o, m in zip(opened, maps, strict=True) if o.crs != first.crs]
    if other:
        raise CrsError(
            f"{maps[0].parent}: {', '.join(other)} is in another coordinate reference system than "
            f"{maps[0].name}. Expected the same for all maps of one survey. Keep one of them."
        )
    parts = [lower_columns(table) for table in opened]
    return gpd.GeoDataFrame(pd.concat(parts, ignore_index=True), crs=first.crs)


def _columns(tabular: Path) -> dict[str, list[str]]:
    """Table -> its columns in order, as mstabcol.txt lists them."""
    listing: dict[str, dict[int, str]] = {}
    for row in _described(tabular, "mstabcol.txt", _COLUMN_NAME):
        if row[_COLUMN_ORDER].strip().isdigit():
            table = listing.setdefault(row[_COLUMN_TABLE].strip().lower(), {})
            table[int(row[_COLUMN_ORDER])] = row[_COLUMN_NAME].strip().lower()
    return {table: [names[i] for i in sorted(names)] for table, names in listing.items()}


def _file_names(tabular: Path) -> dict[str, str]:
    """Table -> name of its file without .txt, as mstab.txt lists them (component -> comp)."""
    rows = _described(tabular, "mstab.txt", _FILE)
    return {row[_TABLE].strip().lower(): row[_FILE].strip().lower() for row in rows}


def _described(tabular: Path, name: str, last: int) -> list[list[str]]:
    path = next((e for e in tabular.iterdir() if e.name.lower() == name), None)
    if path is None:
        raise InputError(
            f"{tabular}: {name} is missing. It names the files and columns of the tables, which "
            "have no header. Copy the whole folder tabular of the export."
        )
    return [row for row in _parsed(path)[0] if len(row) > last]


def _rows(path: Path, columns: list[str]) -> tuple[pd.DataFrame, list[Note]]:
    parsed, notes = _parsed(path)
    rows = [row for row in parsed if row]
    uneven = [(i, len(row)) for i, row in enumerate(rows, 1) if len(row) != len(columns)]
    if uneven:
        faults = [f"row {i} has {count} values" for i, count in uneven[:5]]
        if len(uneven) > 5:
            faults.append(f"and {len(uneven) - 5} more rows")
        remedy = (
            f"Expected {len(columns)} values between | in each row, as mstabcol.txt lists them. "
            "Copy the table again from the export it came with."
        )
        raise InputError(listed(f"{path.parent.name}/{path.name} cannot be read", faults, remedy))
    table = pd.DataFrame(rows, columns=columns, dtype=object)
    return table.where(table != "", None), notes


def _parsed(path: Path) -> tuple[list[list[str]], list[Note]]:
    # A table without rows is an empty file here, which is no fault.
    if not path.stat().st_size:
        return [], []
    text, notes = read_text(path, layer=LAYER)
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter="|", strict=True)
        return list(rows), notes
    except csv.Error as error:
        raise InputError(
            f"{path.parent.name}/{path.name} cannot be read as a table ({error}). Expected values "
            "between |, text in quotes. Copy it again from the export it came with."
        ) from error
