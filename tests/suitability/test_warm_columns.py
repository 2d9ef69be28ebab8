"""The day from which a field is warm, from the weather of most of its ground."""

import engine_farm as ef
import pandas as pd

from suitability.columns import STATIONS
from suitability.contract import empty
from suitability.crop import load_crop
from suitability.warm_columns import WARM_COLUMNS, warm_columns

CROP = load_crop("sunn_hemp")


def stations(*ids):
    table = empty(STATIONS).reindex(range(len(ids)))
    return table.assign(weather_id=list(ids), lat_deg=31.0, lon_deg=-84.0)


def two_places():
    """``w``, and ``cold``, which is 4 degrees colder every day."""
    warm = ef.weather(12)
    cold = warm.assign(weather_id="cold")
    cold[["tmax_c", "tmin_c"]] -= 4.0
    return pd.concat([warm, cold], ignore_index=True)


def parts(*rows):
    return pd.DataFrame(list(rows), columns=["field_id", "weather_id", "area_ha"])


def test_a_field_takes_the_weather_of_most_of_its_ground():
    ground = parts(
        ("A", "w", 1.0), ("B", "cold", 1.0), ("C", "w", 2.0), ("C", "cold", 1.5), ("C", "cold", 1.0)
    )
    found = warm_columns(ground, two_places(), stations("w", "cold"), CROP)
    assert tuple(found) == WARM_COLUMNS
    p80 = found["soil_65f_held_p80"]
    assert p80["C"] == p80["B"] > p80["A"], "1.5 + 1.0 ha look to the colder place"
    assert (found["soil_65f_held_p80"] >= found["soil_65f_held_p50"]).all()


def test_without_weather_there_is_no_day():
    empty_weather = two_places().iloc[:0]
    assert warm_columns(parts(("A", "w", 1.0)), empty_weather, stations("w"), CROP).empty
    ground = parts(("A", "w", 1.0), ("B", None, 1.0))
    found = warm_columns(ground, two_places(), stations("w", "cold"), CROP)
    assert found.index.tolist() == ["A"]


def test_a_short_record_gives_no_day():
    found = warm_columns(parts(("A", "w", 1.0)), ef.weather(5), stations("w"), CROP)
    assert found.loc["A"].isna().all()
