"""Soil by rasters where no survey is: one soil for each such field, in the tables of a survey."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd
import shapely

from layers.crs import check_crs
from layers.overlay import Overlay
from layers.raster_lattice import Lattice
from layers.soil_grid_kinds import KINDS, SoilGrid, check_asked
from layers.soil_grid_tables import (
    CLASS_SHARES,
    VALUES,
    grid_components,
    grid_horizons,
    grid_months,
    grid_pieces,
)
from layers.soil_grid_values import (
    LAYER,
    LEAST_COVER_PCT,
    field_classes,
    field_values,
    grid_lattice,
)
from suitability.errors import InputError, listed
from suitability.notes import Note

NAME = LAYER
# Less than this between survey and outline is how finely either was drawn, not ground to judge.
_GAP_PCT = 1.0


@dataclass(frozen=True)
class SoilGridsRead:
    """Ground without a survey, as rasters describe it.

    ``pieces`` are as ``Overlay.pieces``, one a field, its mukey ``grid-<field_id>``. The tables
    keep the contracts of ``suitability.columns``.
    """

    pieces: gpd.GeoDataFrame
    components: pd.DataFrame
    horizons: pd.DataFrame
    months: pd.DataFrame
    notes: tuple[Note, ...]


def read_soil_grids(
    grids: Sequence[SoilGrid], fields: gpd.GeoDataFrame, cut: Overlay
) -> SoilGridsRead:
    """Read soil properties for the ground of each field that no survey covers.

    Parameters
    ----------
    grids : what the user states of each raster.
    fields : FIELDS table with geometry. cut : the soil survey laid over them, or nothing.

    Raises
    ------
    InputError : a raster that cannot be used, unit or depth not stated, values that the stated
        unit cannot give, shares of sand, silt and clay that do not add up. CrsError : no CRS.

    Notes
    -----
    Numbers are means over the cells, each by its share inside; a property that covers less than
    ``LEAST_COVER_PCT`` of the ground stays unknown. Drainage classes are not averaged: each makes a
    soil of its own with its share. Where two of sand, silt and clay are known the third is what is
    left of 100; three are scaled to 100, because a texture class asks for it.
    """
    check_asked(grids)
    bare = _bare_ground(fields, cut)
    values, shares, notes = _read_all(grids, bare)
    known = set(values["field_id"]) | set(shares["field_id"])
    ids = [i for i in bare["field_id"] if i in known]
    beside = tuple(i for i in bare["field_id"] if i not in known)
    if beside:
        text = (
            f"{_counted(len(beside))} without a soil survey: outside the soil grids too, not known."
        )
        notes.append(Note(LAYER, "warning", text, beside))
    components = grid_components(ids, shares)
    if ids:
        notes += _worth(ids, values)
    return SoilGridsRead(
        grid_pieces(bare, ids),
        components,
        grid_horizons(components, values),
        grid_months(components, values),
        tuple(notes),
    )


def _bare_ground(fields: gpd.GeoDataFrame, cut: Overlay) -> gpd.GeoDataFrame:
    """Field_id, area_ha and shape of the ground no survey covers."""
    surveyed = {
        field_id: shapely.union_all(shapes.to_numpy())
        for field_id, shapes in cut.pieces.groupby("field_id")["geometry"]
    }
    rows = []
    for field_id, area_ha, whole in zip(
        fields["field_id"], fields["area_ha"], fields.geometry, strict=True
    ):
        shape = whole.difference(surveyed[field_id]) if field_id in surveyed else whole
        share = shape.area / whole.area
        if share * 100 > _GAP_PCT:
            rows.append((field_id, area_ha * share, shape))
    table = pd.DataFrame(rows, columns=["field_id", "area_ha", "geometry"])
    return gpd.GeoDataFrame(table, geometry="geometry", crs=fields.crs)


def _read_all(
    grids: Sequence[SoilGrid], bare: gpd.GeoDataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, list[Note]]:
    """Numbers by field, shares of drainage classes by field, and notes; all faults at once."""
    values = [pd.DataFrame(columns=list(VALUES))]
    shares = pd.DataFrame(columns=list(CLASS_SHARES))
    notes: list[Note] = []
    faults: list[str] = []
    for grid in grids:
        lattice, said = grid_lattice(grid)
        notes += said
        if grid.what == "drainage_class":
            shares, strangers = field_classes(grid, lattice, bare)
            if strangers:
                shown = ", ".join(f"{number:g}" for number in strangers[:8])
                faults.append(f"{grid.path.name}: its numbers {shown} stand for no class")
            nothing = not len(shares) and not strangers
        else:
            table = field_values(grid, lattice, bare)
            faults += _range_faults(grid, table)
            notes += _cover_notes(grid, table["cover_pct"])
            means = table.loc[table["cover_pct"] >= LEAST_COVER_PCT, "mean"].dropna()
            nothing = not len(table)
            if len(means):
                notes.append(_range_note(grid, means))
                values.append(_rows(grid, means))
        if nothing and len(bare):
            _check_place(lattice)
    if faults:
        remedy = (
            "Mend unit, scale or classes under [[soil_grid]] in farm.toml; scale is what one step "
            "of the stored numbers is worth in that unit. A number that stands for nothing must be "
            "declared as no data in the file."
        )
        raise InputError(listed("The soil grids cannot be used", faults, remedy))
    return pd.concat(values, ignore_index=True).astype({"value": float}), shares, notes


def _rows(grid: SoilGrid, means: "pd.Series[float]") -> pd.DataFrame:
    depths = [float("nan") if cm is None else cm for cm in (grid.from_cm, grid.to_cm)]
    return pd.DataFrame(
        {
            "field_id": means.index,
            "property": grid.what,
            "from_cm": depths[0],
            "to_cm": depths[1],
            "value": means.to_numpy(),
        }
    )


def _range_faults(grid: SoilGrid, table: pd.DataFrame) -> list[str]:
    kind = KINDS[grid.what]
    low, high = table["min"].min(), table["max"].max()
    if not len(table) or (low >= kind.low and high <= kind.high):
        return []
    return [
        f"{grid.path.name}: its {grid.title}, stated in {grid.unit}, runs from {low:.4g} to "
        f"{high:.4g} {kind.unit} in the fields; expected {kind.low:g} to {kind.high:g}. Is it in "
        f"another unit ({', '.join(kind.units)}) or scale?"
    ]


def _range_note(grid: SoilGrid, means: "pd.Series[float]") -> Note:
    unit = KINDS[grid.what].unit
    span = f"{means.min():.3g} to {means.max():.3g}{'' if unit == 'ph' else f' {unit}'}"
    text = f"{grid.title} from {grid.path.name}: {span} in {_counted(len(means))}."
    return Note(LAYER, "info", text, tuple(means.index))


def _cover_notes(grid: SoilGrid, cover_pct: "pd.Series[float]") -> list[Note]:
    thin = tuple(cover_pct.index[cover_pct < LEAST_COVER_PCT])
    if not thin:
        return []
    text = (
        f"{grid.path.name} covers less than {LEAST_COVER_PCT:g} % of {_counted(len(thin))}; the "
        f"{grid.title} there is not known."
    )
    return [Note(LAYER, "caution", text, thin)]


def _worth(ids: Sequence[str], values: pd.DataFrame) -> list[Note]:
    text = (
        f"In {_counted(len(ids))} the soil where no survey is comes from rasters: means of an "
        "area, without the wet or stony spots within. A soil test and a spade tell more."
    )
    notes = [Note(LAYER, "caution", text, tuple(ids))]
    wet = values.loc[values["property"] == "water_table", "field_id"]
    if len(wet):
        text = (
            "The raster of the depth to water has one depth for the whole year; it was taken for "
            "every month. In a wet season water stands higher."
        )
        notes.append(Note(LAYER, "caution", text, tuple(wet)))
    return notes


def _check_place(lattice: Lattice) -> None:
    """No field lies on it: a CRS that cannot be is the likelier reason."""
    box = gpd.GeoDataFrame(geometry=[shapely.box(*lattice.bounds)], crs=lattice.crs)
    box.attrs["source"] = str(lattice.path)
    check_crs(box)


def _counted(count: int) -> str:
    return "1 field" if count == 1 else f"{count} fields"
