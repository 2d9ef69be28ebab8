"""A farm's weather from file to parts: cells of fields, and the seasons that count."""

import geopandas as gpd
import pandas as pd
from shapely.geometry import box
from weather_files import PLACE, daily_csv, record

from layers.overlay import nothing_surveyed
from layers.parts import build_parts
from layers.weather.field_weather import field_weather
from layers.weather.reader import WeatherSource
from suitability.columns import COMPONENTS, PARTS, WEATHER
from suitability.contract import empty, names

FIELDS = pd.DataFrame(
    {
        "field_id": ["near", "far"],
        "lat_deg": [31.5, 35.5],
        "lon_deg": -84.0,
        "gap_opens": ["05-15", None],
        "gap_closes": ["09-30", "10-15"],
    }
)


def test_fields_get_their_cell_and_the_seasons_are_told(tmp_path):
    days = record()
    hole = days["date"].between("2002-06-01", "2002-06-20")
    source = WeatherSource(daily_csv(tmp_path / "w.csv", days[~hole]))
    height_m = pd.Series({"near": 180.0, "far": 60.0})
    got = field_weather([source], FIELDS, height_m)
    assert got.weather_id.to_dict() == {"near": "USW00000001+120m", "far": None}
    assert got.weather["weather_id"].unique().tolist() == ["USW00000001+120m"]
    said = [n.text for n in got.notes]
    assert any(
        "Station USW00000001: 2 of 3 seasons 05-15 to 10-15 are whole. More than 4 days in a row "
        "or a tenth of all days lack in 2002: of these only sowings count" in text
        for text in said
    )
    shapes = [box(0, 0, 100, 100), box(200, 0, 300, 100)]
    fields = gpd.GeoDataFrame(FIELDS.assign(area_ha=1.0, drained=None), geometry=shapes, crs=32617)
    parts = build_parts(fields, nothing_surveyed(fields), empty(COMPONENTS), got.weather_id)
    assert list(parts.columns) == names(PARTS)
    by_field = parts.set_index("field_id")["weather_id"]
    assert by_field["near"] == "USW00000001+120m" and pd.isna(by_field["far"])


def test_without_a_weather_file_nothing_is_known_and_that_is_said():
    got = field_weather([], FIELDS)
    assert got.weather_id.isna().all() and list(got.weather_id.index) == ["near", "far"]
    assert list(got.weather.columns) == names(WEATHER) and got.weather.empty
    (note,) = got.notes
    assert note.level == "caution" and "nothing is counted in years of ten" in note.text


def test_a_farm_that_states_no_gap_counts_whole_years(tmp_path):
    source = WeatherSource(daily_csv(tmp_path / "w.csv", record()))
    fields = FIELDS.assign(gap_opens=None, gap_closes=None, lat_deg=PLACE[0])
    got = field_weather([source], fields)
    assert any("3 of 3 seasons 01-01 to 12-31 are whole." in n.text for n in got.notes)
