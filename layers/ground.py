"""From heights and soil map to parts with ground positions, and the cells they came from."""

from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from layers import ground_notes as remarks
from layers.ground_cells import GroundCells, counted, ground_cells
from layers.ground_parts import OPEN_WATER, ground_parts, unit_shares
from layers.inclusions import inclusions
from layers.overlay import Overlay
from layers.placing import placed
from layers.shaped_ground import ShapedGround
from suitability.columns import COMPONENTS, UNSURVEYED
from suitability.contract import names
from suitability.notes import Note


@dataclass(frozen=True)
class GroundRead:
    """Parts of the farm by ground position, and the ground cell by cell.

    ``parts`` : PARTS table. ``components`` : the COMPONENTS table, with ``open water`` added
    where heights show level water on other units.
    ``cells`` : one entry a group of fields; their numbers count in ``field_ids``, ``mukeys`` and
    ``cokeys``. A cell with a component is of the part (field, unit, component, position). A cell
    without is of all parts of its field, unit and position together, and of those parts of the unit
    that are ``unplaced``, in proportion to their area.
    ``placed`` : one row an inclusion in reach: mukey, cokey, share_frac, unit_m2, placed_m2.
    """

    parts: pd.DataFrame
    components: pd.DataFrame
    cells: tuple[GroundCells, ...]
    field_ids: tuple[str, ...]
    mukeys: tuple[str, ...]
    cokeys: tuple[str, ...]
    placed: pd.DataFrame
    notes: tuple[Note, ...]


def ground_of(
    fields: gpd.GeoDataFrame,
    cut: Overlay,
    map_units: gpd.GeoDataFrame | None,
    components: pd.DataFrame,
    shaped: ShapedGround,
    *,
    weather_id: "pd.Series[str] | None" = None,
) -> GroundRead:
    """Tell high ground from low, place the lesser soils, and divide the fields into parts.

    Parameters
    ----------
    fields : FIELDS table with geometry. cut : soil map and soil grids laid over them.
    map_units : the whole soil map with mukey and geometry, so that units are ranked beyond the
        fields; None without a survey.
    components : COMPONENTS of survey and soil grids. shaped : of ``shaped_ground``, none of it
        without heights. weather_id : weather cell by field_id.

    Notes
    -----
    Without heights nothing is placed, and the parts are those of ``layers.parts``.
    """
    units = _units(cut, map_units)
    field_ids = tuple(fields["field_id"])
    mukeys = tuple(sorted(set(units["mukey"])))
    cokeys = (OPEN_WATER, *components["cokey"])
    water_units = _water_units(components)
    laid = [
        ground_cells(shape, fields, units, mukeys, water_units, 0, ids)
        for shape, ids in zip(shaped.shapes, shaped.field_ids, strict=True)
    ]
    wanted = inclusions(components)
    cells, table = placed(laid, mukeys, cokeys, wanted)
    parts = ground_parts(
        fields,
        pd.DataFrame(cut.pieces.drop(columns="geometry")),
        counted(cells),
        unit_shares(components, table),
        (field_ids, mukeys, cokeys),
        weather_id,
    )
    notes = [
        *shaped.notes,
        *remarks.on_water(parts),
        *remarks.on_inclusions(parts, wanted, components, bool(shaped.shapes)),
    ]
    if (parts["cokey"] == OPEN_WATER).any():
        components = _with_open_water(components)
    return GroundRead(parts, components, cells, field_ids, mukeys, cokeys, table, tuple(notes))


def _units(cut: Overlay, map_units: gpd.GeoDataFrame | None) -> gpd.GeoDataFrame:
    """The soil map, with the pieces within fields on top: soil grids are only there."""
    pieces = cut.pieces[["mukey", "geometry"]]
    if map_units is None:
        return pieces
    whole = map_units[["mukey", "geometry"]].to_crs(pieces.crs)
    return gpd.GeoDataFrame(pd.concat([whole, pieces], ignore_index=True), crs=pieces.crs)


def _water_units(components: pd.DataFrame) -> frozenset[str]:
    """Map units without any soil that are mostly open water."""
    shares = unit_shares(components).merge(components[["cokey", "kind"]], on="cokey")
    water = shares[shares["kind"] == "water"].groupby("mukey")["share_frac"].sum()
    return frozenset(water.index[water >= 0.5])


def _with_open_water(components: pd.DataFrame) -> pd.DataFrame:
    row = dict.fromkeys(names(COMPONENTS))
    row |= {"cokey": OPEN_WATER, "mukey": UNSURVEYED, "compname": "Open water", "kind": "water"}
    extra = pd.DataFrame([row]).astype(
        {c.name: "float64" for c in COMPONENTS if c.kind == "number"}
    )
    return pd.concat([components, extra], ignore_index=True)
