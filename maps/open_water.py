"""Open water within the fields, as the soil survey maps it: drawn as water, never as sowable."""

import geopandas as gpd

from maps.assessment import Assessment


def open_water(assessment: Assessment) -> gpd.GeoDataFrame:
    """The pieces of ``soil_parts`` whose map unit is nothing but water.

    Water that the survey names only as a share of a map unit has no place and cannot be drawn; it
    still leaves the sowable acres.
    """
    kinds = assessment.components.groupby("mukey")["kind"].agg(lambda kind: set(kind) == {"water"})
    units = set(kinds.index[kinds.astype(bool)])
    return assessment.soil_parts[assessment.soil_parts["mukey"].isin(units)]
