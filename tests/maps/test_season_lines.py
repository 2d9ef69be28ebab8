"""``suitability now`` in sentences: what the log says takes the place of estimates."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from maps.cli import suitability
from maps.legend import Legend
from maps.season_lines import season_lines
from maps.season_now import FieldNow, SeasonNow, Seen
from maps.words import load_words
from suitability.crop import load_crop
from suitability.feed_window import WindowRule
from suitability.stand_now import StandNow
from suitability.this_season import SoilNow

CROP = load_crop("sunn_hemp")
WARM = SoilNow(20.0, 10.0, "04-20", "05-01")
_NAN = (float("nan"),) * 3
SPROUT = StandNow(
    opens_d=(20.0, 24.0, 30.0),
    closes_d=(50.0, 54.0, 56.0),
    height_m=(0.1, 0.2, 0.3),
    carried_height_m=_NAN,
    dry_matter_kg_ha=(100.0, 200.0, 300.0),
    up_years_in_ten=9.0,
)
BARE = FieldNow(
    field_id="7",
    name="",
    soil=WARM,
    thermometer=None,
    estimate_c=float("nan"),
    next_week="05-07",
    works_years_in_ten=9.0,
    last_week="07-02",
    wait_week=None,
    wait_years_in_ten=float("nan"),
    sown=None,
    stand_d=0,
    stand=None,
    emerged=None,
    plants_m2=None,
    seeds_m2=110.0,
    height_m=None,
)
SOWN = replace(BARE, sown=date(2026, 5, 1), stand_d=15, stand=SPROUT)
SAMPLE = Path(__file__).parents[2] / "sample_fields"


def _told(field, units="us"):
    rule = WindowRule(45.0, 0.4572, 56.0, 9.0)
    season = SeasonNow(date(2026, 5, 16), rule, CROP, (field,))
    return " ".join(season_lines(season, load_words(), Legend(units)))


def test_warm_soil_and_time():
    text = _told(BARE)
    assert "68 F" in text and "an estimate, 3 F either way" in text
    assert "warm enough and holding." in text
    assert "Sown the week of May 7, it works in 9 years of 10." in text
    assert "The last week worth sowing is that of July 2." in text
    assert "20.0 C" in _told(BARE, "metric")


def test_a_later_week_that_works_in_more_years_is_worth_waiting_for():
    text = _told(replace(BARE, works_years_in_ten=7.0, wait_week="05-21", wait_years_in_ten=9.0))
    assert "Sown the week of May 7, it works in 7 years of 10." in text
    assert "the best week is that of May 21: it works in 9 of 10. You" in text
    assert "You can wait" not in _told(BARE)


def test_soil_that_all_fields_share_is_told_once():
    rule = WindowRule(45.0, 0.4572, 56.0, 9.0)
    other = replace(BARE, field_id="8", next_week="05-14")
    season = SeasonNow(date(2026, 5, 16), rule, CROP, (BARE, other, SOWN))
    lines = season_lines(season, load_words(), Legend("us"))
    assert sum("Soil at seed depth" in line for line in lines) == 1
    assert lines.index("All fields not yet sown") < lines.index("Field 7")
    read = replace(other, soil=replace(WARM, mean_c=22.0))
    lines = season_lines(replace(season, fields=(BARE, read)), load_words(), Legend("us"))
    assert sum("Soil at seed depth" in line for line in lines) == 2
    assert "All fields not yet sown" not in lines


def test_a_stand_counted_as_none_asks_what_time_is_left():
    text = _told(replace(SOWN, plants_m2=Seen(date(2026, 5, 12), 0.0)))
    assert "You counted 0 plants a square foot." in text and "There is no stand." in text
    assert "The last week worth sowing is that of July 2." in text and "Grazing opens" not in text


def test_cold_soil_says_until_when():
    cold = replace(BARE, soil=SoilNow(15.0, 3.0, "05-20", "05-29"))
    text = _told(cold)
    assert "in 3 of 10 years that go on from here" in text
    assert "In 8 years of 10 it is warm and holding by May 29." in text
    never = _told(replace(BARE, soil=SoilNow(15.0, 0.0, None, None)))
    assert "No date can be given" in never and "holding in 0" not in never


def test_no_time_and_no_soil():
    assert "No sowing week of the gap is left" in _told(replace(BARE, next_week=None))
    assert "no week is left that is worth sowing" in _told(replace(BARE, last_week=None))
    assert "Soil temperature is not known" in _told(replace(BARE, soil=None))


def test_a_thermometer_is_named():
    read = replace(BARE, thermometer=Seen(date(2026, 5, 10), 18.33), estimate_c=16.11)
    text = _told(read)
    assert "your thermometer read 65 F on May 10, where 61 F had been estimated" in text
    assert "either way" not in text


def test_a_sown_field_is_told_by_its_days():
    text = _told(SOWN)
    assert "Sown May 1: day 15 after sowing." in text
    assert "comes up in 9 years of 10" in text
    assert "Grazing opens about May 25 (May 21 to May 31)." in text
    assert "Soil" not in text and "week worth sowing" not in text


def test_counts_and_heights_take_the_place_of_odds():
    counted = replace(SOWN, plants_m2=Seen(date(2026, 5, 14), 107.64))
    text = _told(counted)
    assert "You counted 10 plants a square foot." in text and "comes up in" not in text
    assert "108 plants a square metre" in _told(counted, "metric")
    seen = replace(SOWN, emerged=date(2026, 5, 6))
    assert "You saw it up on May 6." in _told(seen) and "comes up in" not in _told(seen)
    tall = replace(SOWN, height_m=Seen(date(2026, 5, 15), 0.5))
    text = _told(tall)
    assert "You measured 1.6 ft on May 15." in text and "comes up in" not in text
    assert "Grazing is open: it is over 1.5 ft tall by your own measure." in text


def test_an_old_stand_is_open_by_its_age_and_a_tall_one_by_the_simulation():
    assert "open by its age: 45 days" in _told(replace(SOWN, stand_d=45))
    assert "By the simulation it is over 1.5 ft tall" in _told(replace(SOWN, stand_d=31))
    unknown = _told(replace(SOWN, stand=None))
    assert "not known for a stand sown then" in unknown
    assert "Grazing closes June 26 at the latest." in unknown, "56 days from May 1"


def test_what_is_open_says_when_it_closes_and_what_has_closed_is_not_open():
    assert "Grazing closes about June 24 (June 20 to June 26)." in _told(replace(SOWN, stand_d=45))
    poor = _told(replace(SOWN, stand_d=54))
    assert "closed by the simulation, since about June 24" in poor and "is open" not in poor
    for stand in (SPROUT, None):
        old = _told(replace(SOWN, stand_d=125, stand=stand))
        assert "Grazing is closed: it is 56 days or more after sowing" in old
        assert "is open" not in old and "Grazing closes" not in old


def test_a_height_below_the_limit_takes_the_place_of_the_simulated_one():
    low = replace(SPROUT, opens_d=(45.0, 45.0, 45.0), carried_height_m=(0.32, 0.34, 0.36))
    field = replace(SOWN, stand_d=43, stand=low, height_m=Seen(date(2026, 6, 11), 0.3048))
    text = _told(field)
    assert "You measured 1.0 ft on June 11." in text
    assert "Carried on from there to today: 1.1 ft (1.0 ft to 1.2 ft)." in text
    assert "Grazing opens about June 15. " in text and "is open" not in text, "45 days from May 1"
    by_age = _told(replace(field, stand_d=45))
    assert "open by its age, 45 days after sowing, but by your own measure it is under" in by_age
    carried = replace(low, opens_d=(30.0, 33.0, 36.0), carried_height_m=(0.5, 0.5, 0.5))
    assert "carried on to today, it is over 1.5 ft" in _told(replace(field, stand=carried))
    not_known = _told(replace(field, stand=None, stand_d=45))
    assert "by your own measure it is under 1.5 ft" in not_known


def test_a_spread_of_nothing_is_told_as_one_number():
    text = _told(replace(SOWN, stand=replace(SPROUT, height_m=(1.13, 1.13, 1.13))))
    assert "Simulated for today: 3.7 ft." in text
    assert "Simulated for today: 0.7 ft (0.3 ft to 1.0 ft)." in _told(SOWN)


def test_a_count_far_below_what_is_sown_is_called_thin():
    # 110 live seeds a square metre are 10.2 a square foot; half is 5.1.
    thin = _told(replace(SOWN, plants_m2=Seen(date(2026, 5, 14), 10.76)))
    assert "You counted 1 plants a square foot." in thin
    assert "That is a thin stand: 10 live seeds a square foot are sown" in thin
    assert "decide whether to sow anew:   Sown the week of May 7, it works in 9 years" in thin
    assert "under 50 % of them" in thin and "There is no stand" not in thin
    assert "thin" not in _told(replace(SOWN, plants_m2=Seen(date(2026, 5, 14), 56.0)))


def test_odds_of_an_estimate_that_the_thermometer_denies_are_told_as_such():
    # Warm is 65 F (18.3 C) here.
    cold = SoilNow(15.6, 0.0, None, None)
    read = replace(BARE, soil=cold, thermometer=Seen(date(2026, 5, 15), 15.6), estimate_c=30.0)
    text = _told(read)
    assert "works in 9 years of 10 if the soil is as estimated" in text
    assert "do not sow by this until it reads 65 F and holds." in text
    warm = _told(replace(read, soil=WARM))
    assert "as estimated" not in warm and "it works in 9 years of 10. The last" in warm


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([("2001-05-01", 30, 20)], "has no day of .* with a high and a low"),
        (None, "names no daily weather of past years"),
    ],
)
def test_faults_of_the_files_end_in_one_message(tmp_path, rows, words):
    toml = f'[fields]\nfile = "{(SAMPLE / "fields.geojson").as_posix()}"\nid = "field_id"\n'
    if rows is not None:
        toml += f'[weather]\nfile = "{(SAMPLE / "weather.csv").as_posix()}"\n'
    (tmp_path / "farm.toml").write_text(toml, "utf-8")
    days = pd.date_range("2001-01-01", "2001-05-01").strftime("%Y-%m-%d")
    lines = [f"{d},30.0,20.0,0.0" for d in days]
    (tmp_path / "this.csv").write_text("\n".join(["date,tmax_c,tmin_c,precip_mm", *lines]), "utf-8")
    command = ["now", str(tmp_path / "farm.toml"), "--weather", str(tmp_path / "this.csv")]
    result = CliRunner().invoke(suitability, command)
    assert result.exit_code == 2 and re.search(words, result.output)


def test_a_field_is_called_by_its_id_and_its_name():
    assert "Field 7 (Home Forty)" in _told(replace(BARE, name="Home Forty"))
