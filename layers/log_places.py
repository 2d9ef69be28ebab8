"""Whether a place in the field log lies in the field that the line names."""

import geopandas as gpd
import pandas as pd

from layers.crs import LONLAT, to_working

REACH_M = 100.0  # a phone's place may be that far off, and a wet spot lie at the edge


def away_m(lat_deg: float, lon_deg: float, fields: gpd.GeoDataFrame, field_id: str) -> float:
    """Distance of a place from a field of the FIELDS table [m]; 0 within it."""
    point = gpd.GeoDataFrame(geometry=gpd.points_from_xy([lon_deg], [lat_deg]), crs=LONLAT)
    ground = fields.set_index("field_id").geometry[field_id]
    return float(to_working(point, fields.crs).geometry.iloc[0].distance(ground))


def in_their_fields(log: pd.DataFrame, fields: gpd.GeoDataFrame) -> "pd.Series[bool]":
    """False for each line whose place lies farther than ``REACH_M`` from the field it names."""
    known = set(fields["field_id"])
    return pd.Series(
        [
            row.lat_deg != row.lat_deg
            or row.field_id not in known
            or away_m(row.lat_deg, row.lon_deg, fields, row.field_id) <= REACH_M
            for row in log.itertuples(index=False)
        ],
        index=log.index,
        dtype=bool,
    )
