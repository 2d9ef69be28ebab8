"""Soil properties by field as the tables of a survey: one map unit and soil a field."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.soil_grid_kinds import KINDS
from suitability.columns import TABLES
from suitability.contract import check, empty, names
from suitability.errors import InputError, listed

VALUES = ("field_id", "property", "from_cm", "to_cm", "value")
CLASS_SHARES = ("field_id", "drainage_class", "share_pct")
SOIL_NAME = "soil grid"
_TEXTURE = ["sand_pct", "silt_pct", "clay_pct"]
_SUM_PCT = (90.0, 110.0)  # modelled shares do not add up to 100 exactly; beyond this is a unit
_WHOLE_PCT = 99.0


def map_unit(field_id: object) -> str:
    """Key of the map unit that stands for the grids in a field."""
    return f"grid-{field_id}"


def grid_pieces(bare: gpd.GeoDataFrame, ids: Sequence[str]) -> gpd.GeoDataFrame:
    """The ground of these fields as pieces of a soil map (``Overlay.pieces``)."""
    here = bare[bare["field_id"].isin(ids)].reset_index(drop=True)
    here["mukey"] = [map_unit(i) for i in here["field_id"]]
    here["musym"], here["muname"] = "grid", SOIL_NAME
    return here[["field_id", "mukey", "musym", "muname", "area_ha", "geometry"]]


def grid_components(ids: Sequence[str], shares: pd.DataFrame) -> pd.DataFrame:
    """COMPONENTS: a soil for each drainage class of a field, else one of unknown drainage."""
    rows = []
    for field_id in ids:
        mukey = map_unit(field_id)
        here = shares[shares["field_id"] == field_id]
        found = list(zip(here["drainage_class"], here["share_pct"], strict=True))
        rest = 100.0 - sum(share for _, share in found)
        if rest > 100 - _WHOLE_PCT:
            found.append((None, rest))
        for number, (name, share) in enumerate(found):
            cokey = mukey if len(found) == 1 else f"{mukey}-{number + 1}"
            rows.append((cokey, mukey, name, 100.0 if len(found) == 1 else share))
    table = empty(TABLES["components"])
    keys = pd.DataFrame(rows, columns=["cokey", "mukey", "drainage_class", "comppct_pct"])
    table = keys.reindex(columns=names(TABLES["components"])).astype(
        {c: t for c, t in table.dtypes.items() if t == "float64"}
    )
    table["compname"], table["kind"], table["major"] = SOIL_NAME, "soil", True
    return check(table, TABLES["components"], "The soil grids")


def grid_horizons(components: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """HORIZONS of these soils.

    Parameters
    ----------
    values : columns VALUES, in the units of the contract.

    Raises
    ------
    InputError : sand, silt and clay that do not add up.
    """
    deep = values[values["from_cm"].notna()]
    edges = np.unique(deep[["from_cm", "to_cm"]].to_numpy(float))
    layers = pd.DataFrame({"top_cm": edges[:-1], "bottom_cm": edges[1:]})
    parts = deep.merge(layers, how="cross")
    inside = (parts["from_cm"] <= parts["top_cm"]) & (parts["to_cm"] >= parts["bottom_cm"])
    parts = parts[inside]
    columns = {name: kind.column for name, kind in KINDS.items() if kind.of_a_depth}
    wide = parts.assign(column=parts["property"].map(columns)).pivot(
        index=["field_id", "top_cm", "bottom_cm"], columns="column", values="value"
    )
    wide = _texture_to_100(wide.reindex(columns=list(columns.values())).astype(float))
    table = wide.reset_index()
    table["mukey"] = _map_units(table["field_id"])
    table = components[["cokey", "mukey"]].merge(table, on="mukey")
    keys = zip(table["cokey"], table["top_cm"], strict=True)
    table["chkey"] = pd.Series([f"{cokey}-{top:g}" for cokey, top in keys], dtype=object)
    blank = empty(TABLES["horizons"])
    table = table.reindex(columns=list(blank)).astype(
        {c: t for c, t in blank.dtypes.items() if t == "float64"}
    )
    return check(table, TABLES["horizons"], "The soil grids")


def grid_months(components: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """MONTHS of these soils: the one depth to water of a raster, in every month."""
    depth = values[values["property"] == "water_table"]
    depth = depth.assign(mukey=_map_units(depth["field_id"]))
    table = components[["cokey", "mukey"]].merge(depth, on="mukey")
    table = table.rename(columns={"value": "water_table_cm"})
    table = table.merge(pd.DataFrame({"month": range(1, 13)}), how="cross")
    blank = empty(TABLES["months"])
    table = table.reindex(columns=list(blank)).astype(
        {c: t for c, t in blank.dtypes.items() if t == "float64"}
    )
    return check(table, TABLES["months"], "The soil grids")


def _map_units(field_ids: "pd.Series[str]") -> "pd.Series[str]":
    return field_ids.map(map_unit).astype(object)


def _texture_to_100(wide: pd.DataFrame) -> pd.DataFrame:
    """Sand, silt and clay that add up to 100; the third where two are known."""
    shares = wide[_TEXTURE]
    n_known, total = shares.notna().sum(axis=1), shares.sum(axis=1)
    wrong = ((n_known == 3) & ~total.between(*_SUM_PCT)) | ((n_known == 2) & (total > _SUM_PCT[1]))
    if wrong.any():
        faults = [
            f"field {field_id}, {top:g}-{bottom:g} cm: sand, silt and clay add up to {pct:.4g} pct"
            for (field_id, top, bottom), pct in total[wrong].head(5).items()
        ]
        remedy = (
            f"Expected {_SUM_PCT[0]:g} to {_SUM_PCT[1]:g} pct. One of them is in another unit or "
            "scale: mend [[soil_grid]] in farm.toml."
        )
        raise InputError(listed("The soil grids cannot be used", faults, remedy))
    filled = shares.apply(lambda share: share.fillna((100 - total).clip(lower=0)))
    filled = filled.where(n_known >= 2, shares)
    scaled = filled.mul(100 / filled.sum(axis=1), axis=0).where(n_known >= 2, shares)
    return wide.assign(**{name: scaled[name] for name in _TEXTURE})
