"""Reads a soil survey, whatever the layout of its files.

A new layout is one module with a ``LAYOUT``, and one line in ``LAYOUTS``.
"""

import dataclasses
from pathlib import Path

from layers.files import local_path, unzipped, vector_layers
from layers.soil_map import csv_tables, database, export_folder
from layers.soil_map.survey import Layout, SoilSurvey
from layers.soil_map.translate import soil_survey
from suitability.errors import InputError, SuitabilityError, listed

LAYOUTS: tuple[Layout, ...] = (export_folder.LAYOUT, database.LAYOUT, csv_tables.LAYOUT)


def read_soil_survey(path: Path) -> SoilSurvey:
    """A soil survey from a folder, zip, database or vector file.

    Parameters
    ----------
    path : where one of ``LAYOUTS`` lies; a folder or zip may hold it one folder deep.

    Raises
    ------
    InputError : no survey there, more than one, or one that lacks what ties map and tables.
    ColumnError : values outside their plausible range, with all of them listed.
    """
    path = local_path(path)
    if path.suffix.lower() != ".zip" or path.is_dir():
        return _read(path, path)
    with unzipped(path) as folder:
        try:
            survey = _read(folder, path)
        except SuitabilityError as error:
            # The folder is gone when the message is read.
            said = (
                str(error).replace(f"{folder}/", f"{path.name}: ").replace(str(folder), str(path))
            )
            raise type(error)(said) from error
    return dataclasses.replace(survey, files=(path,))


def _read(path: Path, shown: Path) -> SoilSurvey:
    for places in ([path], _folders(path)):
        for layout in LAYOUTS:
            found = sorted({at for place in places if (at := layout.find(place)) is not None})
            if len(found) > 1:
                raise InputError(
                    f"{shown} holds several soil surveys: {', '.join(p.name for p in found)}. "
                    "Expected one. Give the path of the one to use."
                )
            if found:
                raw = layout.read(found[0])
                if found[0] == path:
                    raw = dataclasses.replace(raw, name=shown.name)
                return soil_survey(raw, layout.name)
    raise InputError(
        listed(
            f"{shown} holds no soil survey that is read here; {_holds(path)}. Expected one of",
            [layout.looks_like for layout in LAYOUTS],
            "Give the path of one of these.",
        )
    )


def _folders(path: Path) -> list[Path]:
    return sorted(e for e in path.iterdir() if e.is_dir()) if path.is_dir() else []


def _holds(path: Path) -> str:
    if path.suffix.lower() in (".gpkg", ".gdb", ".shp"):
        return f"layers found: {', '.join(vector_layers(path))}"
    if path.is_dir():
        names = sorted(entry.name for entry in path.iterdir() if not entry.name.startswith("."))
        return f"found {', '.join(names[:12]) or 'nothing'}{', ...' if len(names) > 12 else ''}"
    return "a single file, and no survey tables beside it"
