"""Which rows of a boundary file are fields, and what was mended or left out, said in Notes."""

from collections.abc import Sequence

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from layers.crs import LONLAT
from layers.field_names import some_of
from layers.outlines import (
    CLOSED_WITHIN_M,
    SLIVER_HA,
    SLIVER_WIDTH_M,
    Outline,
    area_ha,
    duplicates,
    is_sliver,
    outline,
    overlaps,
)
from suitability.errors import InputError, listed
from suitability.notes import Note

NAME = "fields"


def sound_fields(
    rows: pd.DataFrame, shapes: Sequence[BaseGeometry | None], source: str
) -> tuple[gpd.GeoDataFrame, list[Note]]:
    """Rows that are fields, with sound polygons in longitude and latitude; Notes on the others.

    Parameters
    ----------
    rows : with ``field_id`` and ``label`` (what messages call the row), one a shape.
    shapes : in longitude and latitude [deg].
    source : name of the file, for messages.

    Raises
    ------
    InputError : an open line in a file of lines; no field left, with the reasons.
    """
    outlines = [outline(shape) for shape in shapes]
    _refuse_open_lines(outlines, rows["label"].tolist(), source)
    frame = gpd.GeoDataFrame(
        rows.assign(outline=pd.Series(outlines, index=rows.index, dtype=object)),
        geometry=[o.shape for o in outlines],
        crs=LONLAT,
    )
    trouble = pd.Series([o.trouble for o in outlines], index=frame.index)
    notes = [
        *_left_out(frame[trouble == "empty"], "no shape, or one without area"),
        *_left_out(frame[trouble == "not an area"], "points, not outlines"),
        *_left_out(frame[trouble == "open line"], "open lines, not outlines"),
    ]
    frame = frame[trouble == ""]
    sliver = pd.Series([is_sliver(s) for s in frame.geometry], index=frame.index, dtype=bool)
    notes += _left_out(
        frame[sliver],
        f"slivers, smaller than {SLIVER_HA:g} ha or narrower than {SLIVER_WIDTH_M:g} m",
    )
    frame = frame[~sliver]
    frame, duplicate_notes = _without_duplicates(frame)
    notes += duplicate_notes
    if not len(frame):
        reasons = [note.text for note in notes]
        raise InputError(
            listed(
                f"{source}: no field is left (rows in the file: {len(rows)})",
                reasons,
                "Expected polygons, or lines that close. Mend the outlines and export again.",
            )
        )
    notes += _repair_notes(frame) + _line_notes(frame) + _dropped_notes(frame)
    return frame.drop(columns="outline"), notes


def overlap_notes(working: gpd.GeoDataFrame) -> list[Note]:
    """One Note on all pairs of fields that share ground; ``working`` is in a metre CRS."""
    pairs = overlaps(working)
    if not pairs:
        return []
    ids = working["field_id"].tolist()
    said = [f"{ids[a]!r} and {ids[b]!r} ({ha:.3g} ha)" for a, b, ha in pairs]
    words = f"Fields overlap; that ground is counted in both: {some_of(said)}."
    touched = sorted({i for a, b, _ in pairs for i in (a, b)})
    return [Note(NAME, "warning", words, tuple(ids[i] for i in touched))]


def _refuse_open_lines(outlines: list[Outline], labels: list[str], source: str) -> None:
    """Refuse a file of lines with an open one: a track not walked to its end hides a field."""
    if any(not o.was_line and o.shape is not None for o in outlines):
        return
    faults = [
        f"{label}: its ends lie {o.gap_m:.0f} m apart"
        for label, o in zip(labels, outlines, strict=True)
        if o.trouble == "open line"
    ]
    if faults:
        raise InputError(
            listed(
                f"{source}: open tracks or lines are no fields",
                faults,
                f"Expected at least 3 points and ends within {CLOSED_WITHIN_M:g} m of each other. "
                "Walk back to where you began, or draw the outline closed.",
            )
        )


def _without_duplicates(frame: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, list[Note]]:
    again = duplicates(frame)
    if not again:
        return frame, []
    labels, ids = frame["label"].tolist(), frame["field_id"].tolist()
    said = [f"{labels[second]} repeats {labels[first]}" for second, first in again.items()]
    note = Note(
        NAME,
        "warning",
        f"{_rows(len(again))} left out, the same outline stands twice: {some_of(said)}.",
        tuple(dict.fromkeys(ids[first] for first in again.values())),
    )
    keep = [position for position in range(len(frame)) if position not in again]
    return frame.iloc[keep], [note]


def _left_out(frame: gpd.GeoDataFrame, why: str) -> list[Note]:
    if not len(frame):
        return []
    return [
        Note(
            NAME,
            "warning",
            f"{_rows(len(frame))} left out ({why}): {some_of(frame['label'].tolist())}.",
        )
    ]


def _repair_notes(frame: gpd.GeoDataFrame) -> list[Note]:
    notes = []
    for row in frame.itertuples():
        before_ha = row.outline.area_before_ha
        if before_ha is not None:
            after_ha = area_ha(row.geometry)
            words = f"{row.label}: the outline crosses itself or laps over and was repaired; "
            if f"{before_ha:.3f}" == f"{after_ha:.3f}":
                words += f"its area stayed {after_ha:.3f} ha."
            else:
                words += f"its area went from {before_ha:.3f} ha to {after_ha:.3f} ha. "
                words += "Look at it on the map."
            notes.append(Note(NAME, "warning", words, (str(row.field_id),)))
    return notes


def _line_notes(frame: gpd.GeoDataFrame) -> list[Note]:
    lines = frame[[o.was_line for o in frame["outline"]]]
    if not len(lines):
        return []
    said = [f"{row.label} (ends {row.outline.gap_m:.0f} m apart)" for row in lines.itertuples()]
    words = f"Closed lines or tracks were taken as the outlines of fields: {some_of(said)}."
    return [Note(NAME, "info", words, tuple(lines["field_id"]))]


def _dropped_notes(frame: gpd.GeoDataFrame) -> list[Note]:
    mixed = frame[[bool(o.dropped) for o in frame["outline"]]]
    if not len(mixed):
        return []
    said = [f"{row.label} ({row.outline.dropped})" for row in mixed.itertuples()]
    words = f"Points or lines beside an outline were left aside: {some_of(said)}."
    return [Note(NAME, "info", words, tuple(mixed["field_id"]))]


def _rows(count: int) -> str:
    return "1 row was" if count == 1 else f"{count} rows were"
