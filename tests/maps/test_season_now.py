"""``suitability now`` on two fields of the sample farm: this year's stations, log and odds."""

import json
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from layers.weather.reader import WeatherSource
from maps import season_now as season_now_module
from maps.farm_file import read_farm_file
from maps.season_now import FieldNow, season_now

pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

SAMPLE = Path(__file__).parents[2] / "sample_fields"
TODAY = date(2026, 6, 1)


@pytest.fixture
def folder(tmp_path):
    """F04 and F12 of the sample farm, about a mile apart, with soil and weather but no heights."""
    fields = json.loads((SAMPLE / "fields.geojson").read_text("utf-8"))
    fields["features"] = [
        f for f in fields["features"] if f["properties"]["field_id"] in ("F04", "F12")
    ]
    (tmp_path / "fields.geojson").write_text(json.dumps(fields), "utf-8")
    (tmp_path / "farm.toml").write_text(
        f'[fields]\nfile = "fields.geojson"\nid = "field_id"\n'
        f'[soil]\nfile = "{(SAMPLE / "soil_survey.gpkg").as_posix()}"\n'
        f'[weather]\nfile = "{(SAMPLE / "weather.csv").as_posix()}"\n'
        '[gap]\nopens = "05-15"\ncloses = "10-15"\n',
        "utf-8",
    )
    return tmp_path


def station(folder, name, lat, warmer_c=0.0, last="2026-05-31"):
    """This year so far as the last year of the record was, or warmer by so much."""
    table = pd.read_csv(SAMPLE / "weather.csv")
    table = table[table["DATE"].str.startswith("2025")]
    table = table.assign(DATE=table["DATE"].str.replace("2025", "2026"), STATION=name)
    table = table[table["DATE"] <= last].assign(LATITUDE=lat)
    table[["TMAX", "TMIN"]] += warmer_c
    table.to_csv(folder / f"{name}.csv", index=False)
    return WeatherSource(folder / f"{name}.csv")


def now(folder, *sources) -> dict[str, FieldNow]:
    season = season_now(read_farm_file(folder / "farm.toml"), sources, lambda _: None, TODAY)
    assert season.last == date(2026, 5, 31)
    return {field.field_id: field for field in season.fields}


def test_each_field_looks_to_its_own_station_and_the_log_takes_the_place_of_estimates(folder):
    sources = station(folder, "NORTH", 31.66), station(folder, "SOUTH", 31.60, warmer_c=3.0)
    (folder / "field_log.csv").write_text(
        "date,field_id,what,value,unit,lat_deg,lon_deg,note\n"
        "2026-05-30,F12,soil-temperature,86,F,,,\n"
        "2026-05-16,F04,sown,,,,,\n"
        "2026-05-24,F04,stand,5,plants/ft2,,,\n"
        "2025-05-24,F12,sown,,,,,last year\n",
        "utf-8",
    )
    told = now(folder, *sources)
    stand, bare = told["F04"], told["F12"]
    warmer = bare.estimate_c - stand.soil.mean_c
    assert 1 < warmer < 5, "three degrees in the air are about as much in the soil"
    assert bare.thermometer.value == pytest.approx((86 - 32) / 1.8)
    assert bare.soil.mean_c < bare.estimate_c
    assert bare.soil.held_years_in_ten == 10, "May is warm here even by that reading"
    assert bare.sown is None, "what was sown last year is not this year's"
    assert bare.next_week == "05-28" and bare.works_years_in_ten > 5
    assert bare.last_week > "06-30"
    assert (stand.sown, stand.stand_d) == (date(2026, 5, 16), 15)
    assert stand.plants_m2.value == pytest.approx(5 * 10.7639, rel=1e-4)
    # Common practice, no source: 1.5 to 2 ft at 30 days; 1.5 ft opens grazing.
    assert 15 < stand.stand.opens_d[1] <= 30
    assert 0 < stand.stand.height_m[1] < 0.46


def test_a_farm_without_a_log_has_no_lines_of_this_year(folder):
    farm = read_farm_file(folder / "farm.toml")
    log = season_now_module._log_of_year(farm, TODAY)
    assert len(log) == 0 and "field_id" in log
