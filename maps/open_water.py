"""Open water within the fields: drawn as water, never as ground to sow."""

import geopandas as gpd
import pandas as pd

from maps.assessment import Assessment
from maps.remembered import remembered

COLUMNS = ["field_id", "area_ha", "geometry"]


@remembered
def open_water(assessment: Assessment) -> gpd.GeoDataFrame:
    """Map units that are nothing but water, and level water that the heights show besides.

    Water that the survey names only as a share of a map unit has no place and cannot be drawn; it
    still leaves the sowable acres.
    """
    kinds = assessment.components.groupby("mukey")["kind"].agg(lambda kind: set(kind) == {"water"})
    units = set(kinds.index[kinds.astype(bool)])
    mapped = assessment.soil_parts.loc[assessment.soil_parts["mukey"].isin(units), COLUMNS]
    level = assessment.level_water
    if level is None or level.empty:
        return mapped
    return level[COLUMNS] if mapped.empty else pd.concat([mapped, level[COLUMNS]])
