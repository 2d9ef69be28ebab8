"""The day from which each field's soil is warm and holding, as columns of the verdict table."""

import pandas as pd

from suitability.crop import Crop
from suitability.warm_soil import warm_dates, warm_odds, warm_rule

WARM_COLUMNS = ("soil_65f_held_p50", "soil_65f_held_p80")


def warm_columns(
    parts: pd.DataFrame, weather: pd.DataFrame, stations: pd.DataFrame, crop: Crop
) -> pd.DataFrame:
    """WARM_COLUMNS (MM-DD) by field_id, from the weather cell that most of its ground looks to.

    Fields without weather, and records of too few years, have no row or an empty cell.
    """
    if weather.empty:
        return pd.DataFrame(columns=list(WARM_COLUMNS), dtype=object)
    rule = warm_rule(crop)
    odds = warm_odds(warm_dates(weather, stations, rule), rule).set_index("weather_id")
    area = parts.dropna(subset="weather_id").groupby(["field_id", "weather_id"])["area_ha"].sum()
    main = area.reset_index().sort_values("area_ha").groupby("field_id").tail(1)
    return main.set_index("field_id")[["weather_id"]].join(odds, on="weather_id")[[*WARM_COLUMNS]]
