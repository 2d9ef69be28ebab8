"""Which fields there are: their outlines, names, sizes, and what the grower knows of them."""

from collections.abc import Mapping
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from layers.crs import LONLAT, shift_note, to_lonlat, to_working, working_crs
from layers.field_names import row_labels, text_columns, texts_of, unique_ids
from layers.files import open_vector
from layers.knowledge import knowledge_columns_of, read_knowledge
from layers.outlines import area_ha
from layers.sound_fields import NAME, overlap_notes, sound_fields
from suitability.columns import FIELDS
from suitability.contract import check, names
from suitability.errors import InputError, listed
from suitability.notes import Note


def read_fields(
    path: str | Path,
    *,
    layer: str | None = None,
    id_column: str | None = None,
    name_column: str | None = None,
    owner_column: str | None = None,
    knowledge_columns: Mapping[str, str] | None = None,
) -> tuple[gpd.GeoDataFrame, list[Note]]:
    """Fields of a boundary file in the farm's metre CRS, and all that was noticed on the way.

    Parameters
    ----------
    path : vector file; polygons, or closed lines such as a track walked round a field.
    layer : its layer; may be left out where only one can be meant.
    id_column, name_column, owner_column : columns of the file; left out, columns called
        ``field_id``, ``name`` and ``owner`` count, in capitals or not, and no other is guessed.
    knowledge_columns : contract name of ``suitability.columns.KNOWLEDGE`` -> column of the file;
        a column that bears exactly a contract name counts without.

    Returns
    -------
    GeoDataFrame with the columns ``suitability.columns.FIELDS`` and ``geometry`` (Polygon or
    MultiPolygon), rows in the order of the file; Notes. Texts are letter for letter as in the
    file. ``area_ha`` is geodesic, holes subtracted.

    Raises
    ------
    InputError : a file that cannot be read, a column that is not there, values of the grower that
        cannot be used (all of them at once), an open track, no field left.
    CrsError : see ``layers.crs.check_crs``.
    """
    frame = open_vector(path, layer).reset_index(drop=True)
    source = str(path)
    if not len(frame):
        raise InputError(f"{source} holds no field. Expected outlines. Export it again.")
    columns, known_columns = _columns(
        frame,
        {"field_id": id_column, "name": name_column, "owner": owner_column},
        knowledge_columns,
    )
    texts = {key: texts_of(frame, column) for key, column in columns.items()}
    labels = row_labels(texts["name"])
    known, faults = read_knowledge(frame, known_columns, labels)
    if faults:
        raise InputError(
            listed(f"{source}: values cannot be used", faults, "Mend or empty these values.")
        )
    ids, id_notes = unique_ids(texts["field_id"], columns["field_id"], NAME)
    _refuse_odd_corners(frame, labels, source)
    lonlat = to_lonlat(frame).geometry.to_numpy()
    has_shape = any(shape is not None and not shape.is_empty for shape in lonlat)
    notes = [
        _read_note(frame, columns, known_columns),
        *(_remark(frame, remark) for remark in frame.attrs["remarks"]),
        *(shift_note(frame, NAME) if has_shape else []),
        *id_notes,
    ]
    fields = pd.DataFrame(
        {key: pd.Series(values, dtype=object) for key, values in {**texts, "field_id": ids}.items()}
    )
    fields = pd.concat([fields, known], axis=1).assign(label=labels)
    sound, shape_notes = sound_fields(fields, lonlat, source)
    working = to_working(sound, working_crs([sound]))
    working = working.set_geometry(working.make_valid(method="structure", keep_collapsed=False))
    inside = working.representative_point().to_crs(LONLAT)
    working = working.assign(
        area_ha=[area_ha(shape) for shape in sound.geometry], lat_deg=inside.y, lon_deg=inside.x
    )
    notes += shape_notes + overlap_notes(working)
    working = working[[*names(FIELDS), "geometry"]].reset_index(drop=True)
    check(working, FIELDS, f"fields of {source}")
    return working, notes


def _refuse_odd_corners(frame: gpd.GeoDataFrame, labels: list[str], source: str) -> None:
    """Refuse outlines with a corner that is no place: nobody knows what ground they enclose."""
    faults = []
    for label, shape in zip(labels, frame.geometry, strict=True):
        corners = shapely.get_coordinates(shape)
        odd = np.flatnonzero(~np.isfinite(corners).all(axis=1))
        if len(odd):
            faults.append(
                f"{label}: {len(odd)} of {len(corners)}, the first is corner {odd[0] + 1}"
            )
    if faults:
        raise InputError(
            listed(
                f"{source}: outlines with corners whose x or y is no number",
                faults,
                "Expected two finite coordinates for every corner. Draw these outlines again, or "
                "mend them where they were made, and export again.",
            )
        )


def _columns(
    frame: gpd.GeoDataFrame,
    given: Mapping[str, str | None],
    knowledge_columns: Mapping[str, str] | None,
) -> tuple[dict[str, str | None], dict[str, str]]:
    """File columns for id, name and owner, and for what the grower knows; else one InputError."""
    columns, faults = text_columns(frame, given)
    known_columns, more = knowledge_columns_of(frame, knowledge_columns)
    if faults or more:
        there = ", ".join(str(c) for c in frame.columns if c != frame.geometry.name)
        raise InputError(
            listed(
                f"{frame.attrs['source']}: columns that were named cannot be used",
                faults + more,
                f"The file's columns are: {there or 'none'}. Name one of these.",
            )
        )
    return columns, known_columns


def _read_note(
    frame: gpd.GeoDataFrame,
    columns: Mapping[str, str | None],
    known_columns: Mapping[str, str],
) -> Note:
    used = [f"{wanted} from column {column!r}" for wanted, column in columns.items() if column]
    used += [f"{wanted} from column {column!r}" for wanted, column in known_columns.items()]
    lacking = [wanted for wanted, column in columns.items() if column is None]
    words = (
        f"{Path(frame.attrs['source']).name}: layer {frame.attrs['layer']!r} "
        f"({frame.attrs['kind']}, {frame.crs.name}), rows: {len(frame)}"
    )
    words += f"; {', '.join(used)}" if used else ""
    words += f"; no column for {', '.join(lacking)}" if lacking else ""
    return Note(NAME, "info", f"{words}.")


def _remark(frame: gpd.GeoDataFrame, remark: str) -> Note:
    name = Path(frame.attrs["source"]).name
    return Note(NAME, "caution", f"{name}: the reading library remarked: {remark}")
