"""Parts of fields by map unit, soil and ground position, out of counted cells."""

from collections.abc import Sequence

import geopandas as gpd
import pandas as pd

from layers.parts import parts_of_fields
from layers.soil_map.combine import component_shares
from suitability.columns import POSITIONS, UNSURVEYED

OPEN_WATER = "open water"  # cokey of level water that heights show where the survey has a soil
_KEYS = ["field_id", "mukey", "cokey", "position"]


def unit_shares(components: pd.DataFrame, placed: pd.DataFrame | None = None) -> pd.DataFrame:
    """What each map unit is made of, and what is left of it where nothing was placed.

    Parameters
    ----------
    components : COMPONENTS table.
    placed : table of ``placing.placed``; None where nothing was.

    Returns
    -------
    Table with mukey, cokey, share_frac (as listed), rest_frac (of the unit's ground without placed
    cells), looked_for (a soil that could have been placed).

    Notes
    -----
    Open water and other ground share a unit only where it has no soil at all.
    """
    soils = component_shares(components)
    other = components[~components["mukey"].isin(soils.dropna()["mukey"])]
    shares = pd.concat([soils, component_shares(other, kinds=("water", "not soil"))])
    shares = shares.dropna(subset="share_frac")[["mukey", "cokey", "share_frac"]]
    if placed is None or not len(placed):
        return shares.assign(rest_frac=shares["share_frac"], looked_for=False)
    shares = shares.merge(placed.drop(columns="share_frac"), on=["mukey", "cokey"], how="left")
    shares["looked_for"] = shares["placed_m2"].notna()
    placed_frac = (shares["placed_m2"] / shares["unit_m2"]).fillna(0.0)
    rest = (shares["share_frac"] - placed_frac).clip(lower=0.0)
    rest = rest.where(rest > 1e-9, 0.0)
    total = rest.groupby(shares["mukey"]).transform("sum")
    shares["rest_frac"] = (rest / total).where(total > 0, shares["share_frac"])
    return shares[["mukey", "cokey", "share_frac", "rest_frac", "looked_for"]]


def ground_parts(
    fields: gpd.GeoDataFrame,
    pieces: pd.DataFrame,
    counted: pd.DataFrame,
    shares: pd.DataFrame,
    lists: tuple[Sequence[str], Sequence[str], Sequence[str]],
    weather_id: "pd.Series[str] | None" = None,
) -> pd.DataFrame:
    """The PARTS table with positions; the parts of a field add up to its area.

    Parameters
    ----------
    fields : FIELDS table. pieces : field_id, mukey, area_ha of the soil map laid over them.
    counted : cells of the fields (``ground_cells.counted``).
    shares : ``unit_shares``. lists : field ids, mukeys and cokeys that ``counted`` counts in.
    weather_id : weather cell by field_id.

    Notes
    -----
    A cell with a placed soil counts to that soil at its position. Any other ground of a unit is
    shared among what is left of the unit's soils, at its position; but a soil that could not be
    placed is ``unplaced``. Ground without heights is shared as the survey lists, all ``unplaced``.
    Level water on other soils has the cokey ``open water``.
    """
    pieces = pd.concat([pieces[["field_id", "mukey", "area_ha"]], _rest(fields, pieces)])
    ground = _named(counted, *lists)
    total = ground.groupby(["field_id", "mukey"])["m2"].transform("sum")
    ground["frac"] = ground["m2"] / total
    ground = pieces.merge(ground.drop(columns="m2"), on=["field_id", "mukey"], how="left")
    # Pieces that no cell's centre lies in, or beside all heights.
    ground = ground.fillna({"frac": 1.0, "state": "no heights", "position": "unplaced"})
    ground["area_ha"] = ground["area_ha"] * ground["frac"]
    sure = ground[ground["cokey"].notna()]
    mixed = ground[ground["cokey"].isna()].drop(columns="cokey")
    mixed = mixed.merge(shares, on="mukey", how="left").fillna({"cokey": UNSURVEYED})
    known = mixed["state"] == "dry"
    frac = mixed["rest_frac"].where(known, mixed["share_frac"]).fillna(1.0)
    mixed["area_ha"] = mixed["area_ha"] * frac
    hidden = mixed["looked_for"].eq(True).fillna(False) | ~known
    mixed["position"] = mixed["position"].mask(hidden.astype(bool), "unplaced")
    both = pd.concat([sure[[*_KEYS, "area_ha"]], mixed[[*_KEYS, "area_ha"]]])
    both["area_ha"] = both["area_ha"].astype(float)
    parts = both[both["area_ha"] > 0].groupby(_KEYS, as_index=False)["area_ha"].sum()
    return parts_of_fields(parts, fields, weather_id)


def _named(
    counted: pd.DataFrame, field_ids: Sequence[str], mukeys: Sequence[str], cokeys: Sequence[str]
) -> pd.DataFrame:
    """Counted cells with keys for numbers; cokey is None where it is not known which soil."""
    soil = dict(enumerate(cokeys))
    table = pd.DataFrame(
        {
            "field_id": counted["field"].map(dict(enumerate(field_ids))).astype(object),
            "mukey": counted["unit"].map(dict(enumerate(mukeys))).astype(object),
            "cokey": counted["component"].map(soil).astype(object),
            "position": counted["position"].map(dict(enumerate(POSITIONS))).astype(object),
            "state": counted["state"].astype(object),
            "m2": counted["m2"],
        }
    )
    table["mukey"] = table["mukey"].where(table["mukey"].notna(), UNSURVEYED)
    table["cokey"] = table["cokey"].where(table["cokey"].notna(), None)
    return table


def _rest(fields: gpd.GeoDataFrame, pieces: pd.DataFrame) -> pd.DataFrame:
    """Ground of fields that no piece covers; less than a millionth of a field is rounding."""
    area = fields.set_index("field_id")["area_ha"]
    rest = area - pieces.groupby("field_id")["area_ha"].sum().reindex(area.index).fillna(0.0)
    rest = rest[rest > area * 1e-6]
    columns = {"field_id": rest.index, "mukey": UNSURVEYED, "area_ha": rest.to_numpy()}
    return pd.DataFrame(columns)
