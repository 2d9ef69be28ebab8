"""Heights of fields beside that of a station near by: feet read as metres show there."""

import numpy as np
import pandas as pd

from layers.weather.places import distance_km
from layers.weather.readings import LAYER
from suitability.conversions import M_PER_FT
from suitability.notes import Note

NEAR_KM = 10.0
# Judgement: what differs by more so near by is a mountain side, or a slip.
MOST_M = 150.0
# Feet in a metre, and how far off the ground itself may bring the two; below so few metres of
# difference the ratio tells nothing.
_OFF_FRAC, _LEAST_M = 0.15, 30.0


def beside_stations(
    fields: pd.DataFrame, stations: pd.DataFrame, field_elevation_m: "pd.Series[float]"
) -> list[Note]:
    """Cautions on fields whose height cannot well be beside that of the nearest station.

    Parameters
    ----------
    fields : ``field_id``, ``lat_deg``, ``lon_deg``. stations : STATIONS table.
    field_elevation_m : by field_id [m], NaN where not known.
    """
    known = stations[stations["elevation_m"].notna()]
    if known.empty:
        return []
    rows = []
    for row in fields[["field_id", "lat_deg", "lon_deg"]].itertuples(index=False):
        km = distance_km(
            known["lat_deg"].to_numpy(), known["lon_deg"].to_numpy(), row.lat_deg, row.lon_deg
        )
        nearest = int(np.argmin(km))
        height_m = float(field_elevation_m.get(row.field_id, np.nan))
        if km[nearest] <= NEAR_KM and not np.isnan(height_m):
            station = known.iloc[nearest]
            told = (row.field_id, station["weather_id"], height_m, float(station["elevation_m"]))
            rows.append((*told, float(km[nearest])))
    table = pd.DataFrame(rows, columns=["field_id", "station", "field_m", "station_m", "km"])
    apart = (table["field_m"] - table["station_m"]).abs()
    high, low = (table[["field_m", "station_m"]].agg(end, axis=1) for end in ("max", "min"))
    ratio = (high / low.where(low > 0)) * M_PER_FT
    feet = ratio.between(1 / (1 + _OFF_FRAC), 1 + _OFF_FRAC) & (apart > _LEAST_M)
    notes = []
    for station, own in table[feet | (apart > MOST_M)].groupby("station", sort=True):
        as_feet = bool(feet[own.index].any())
        why = "about as far apart as feet and metres" if as_feet else "much for so short a way"
        text = (
            f"By the heights of the ground {len(own)} of {len(fields)} fields lie about "
            f"{own['field_m'].mean():.0f} m above the sea, and station {station}, "
            f"{own['km'].min():.0f} km away, at {own['station_m'].iloc[0]:.0f} m: {why}. Check "
            "vertical_unit under [elevation] and the height of the station; depths of hollows, "
            "slopes and temperatures rest on them."
        )
        notes.append(Note(LAYER, "caution", text, tuple(map(str, own["field_id"]))))
    return notes
