"""Wet ground as shapes: what the odds or the survey call too wet, drawn where it lies."""

import geopandas as gpd
import pandas as pd

from suitability.columns import WET_GROUND
from suitability.contract import check, names


def wet_ground_of_units(pieces: gpd.GeoDataFrame, wet_units: pd.DataFrame) -> gpd.GeoDataFrame:
    """Wet ground along the borders of the soil map.

    Parameters
    ----------
    pieces : one row a field and map unit with area_ha and geometry (``layers.overlay``).
    wet_units : field_id, mukey, cause and compname of the units too wet to sow.

    Returns
    -------
    WET_GROUND table with geometry; years in ten are not known by survey rule.
    """
    drawn = pieces.merge(wet_units, on=["field_id", "mukey"], validate="1:1")
    number = drawn.groupby("field_id").cumcount() + 1
    drawn["wet_id"] = [f"{f}-wet-{n}" for f, n in zip(drawn["field_id"], number, strict=True)]
    drawn["years_in_ten"] = float("nan")
    table = drawn[[*names(WET_GROUND), "geometry"]]
    check(pd.DataFrame(table.drop(columns="geometry")), WET_GROUND, "The table of wet ground")
    return gpd.GeoDataFrame(table, geometry="geometry", crs=pieces.crs)
