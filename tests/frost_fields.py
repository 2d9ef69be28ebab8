"""Two small fields in southern Georgia, as the readers of freeze dates ask for them."""

import geopandas as gpd
import pandas as pd
from shapely.geometry import box

from suitability.freeze_odds import threshold_of_f

CRS = "EPSG:32617"
LON, LAT = -83.75, 31.65
# Field a spans x 100 to 300, b 300 to 500, both y 0 to 200, from this corner.
X0, Y0 = 239_000.0, 3_505_000.0


def two_fields():
    frame = gpd.GeoDataFrame(
        {"field_id": ["a", "b"], "lat_deg": LAT, "lon_deg": LON},
        geometry=[
            box(X0 + 100, Y0, X0 + 300, Y0 + 200),
            box(X0 + 300, Y0, X0 + 500, Y0 + 200),
        ],
        crs=CRS,
    )
    frame["gap_opens"], frame["gap_closes"] = "05-15", "10-15"
    return frame


def value(frost, field_id, event, threshold_f, prob, column="date_mmdd"):
    """The one value of these keys; KeyError where there is no such row."""
    keys = ["field_id", "event", "threshold_c", "prob_pct"]
    found = frost.set_index(keys)[column].loc[(field_id, event, threshold_of_f(threshold_f), prob)]
    return None if pd.isna(found) else found
