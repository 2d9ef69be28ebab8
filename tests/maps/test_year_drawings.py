"""Drawings of weeks, years and calendar: the marks that must be there, counted by hand."""

import re
from dataclasses import replace
from typing import Any

import pandas as pd
from farm_with_years import farm_with_years
from small_farm import small_farm

from maps import colours
from maps.calendar_drawing import calendar_svg
from maps.drawing import farm_svg, field_svg
from maps.legend import Legend
from maps.open_water import open_water
from maps.report_weeks import weeks_table
from maps.sentences import Teller
from maps.weeks_drawing import weeks_svg
from maps.words import load_words
from maps.years_drawing import years_svg

WORDS, US = load_words(), Legend("us")


def _texts(svg: str) -> list[str]:
    return re.findall(r">([^<>]+)</text>", svg)


def _strokes(svg: str, style: str) -> int:
    """Times the pen is set down in shapes of this style."""
    return sum(d.count("M") for d in re.findall(rf'<path d="([^"]*)" {re.escape(style)}', svg))


def test_each_year_has_one_mark_in_the_lane_of_what_became_of_it() -> None:
    svg = years_svg(farm_with_years(), "B", WORDS, US)
    # 8 of 10 worked, full squares; 2 drowned, blue crosses of two strokes each.
    # The same green: ten stands from up to over.
    assert _strokes(svg, f'fill="{colours.YEARS["y3"].fill}"') == 8 + 10
    assert _strokes(svg, f'fill="{colours.WATER}"') == 2, "two years have a wet run"
    assert {"7", "June 3", "September 5"} <= set(_texts(svg))  # 28 May + 6 d and + 100 d
    assert _strokes(svg, f'fill="none" stroke="{colours.WATER}"') == 2 * 2
    assert {"worked", "stood too wet"} <= set(_texts(svg))
    assert "3,600" in _texts(svg)  # the highest bar: 4000 kg/ha are 3,569 lb/ac
    assert _strokes(svg, f'fill="{colours.YEARS["y2"].fill}"') == 10
    assert {"2010", "2015"} <= set(_texts(svg))
    assert "10 years of weather" in svg and "8 of them worked" in svg


def test_no_years_no_drawing() -> None:
    assert years_svg(farm_with_years(), "D", WORDS, US) == ""
    assert years_svg(small_farm(), "B", WORDS, US) == ""
    assert weeks_svg(small_farm(), WORDS, US) == ""


def test_the_strip_has_a_bar_a_week_with_its_number() -> None:
    texts = _texts(weeks_svg(farm_with_years(), WORDS, US))
    # Years by ground as in the browser's test: 7, 7.6, 8, 6, 0.5; days; months.
    assert texts == ["7", "14", "May", "8", "21", "8", "28", "6", "4", "Jun", "0", "11"]


def test_the_calendar_tells_what_is_known_and_nothing_else() -> None:
    farm = farm_with_years()
    row = farm.verdicts.set_index("field_id").loc["B"]
    field = farm.fields.set_index("field_id").loc["B"]
    told = _texts(calendar_svg(row, field, WORDS, US))
    assert told[0] == "Apr"  # the soil is warm from 8 April
    assert told[-7:] == [
        "Soil warm: half of all years by April 8, 8 of 10 by April 19",
        "Stands empty June 1 to September 29",
        "Sow May 28 to June 3",
        "45 to 60 days after sowing: July 12 to July 27",  # 28 May + 45 and 60 d
        "First flower, roughly July 25 to September 21",
        "First pods about August 22",
        "28 °F freeze: 1 year of 10 by November 13, half by December 8",
    ]
    bare = row.copy()
    bare[:] = None
    assert (
        calendar_svg(bare, pd.Series({"gap_opens": "06-01", "gap_closes": "09-01"}), WORDS, US)
        == ""
    )


def _told(**changed: str) -> list[str]:
    farm = farm_with_years()
    row = farm.verdicts.set_index("field_id").loc["B"].copy()
    field = farm.fields.set_index("field_id").loc["B"].copy()
    for name, value in changed.items():
        (field if name in field else row)[name] = value
    planned = {
        "sow": "06-04", "feed_opens": "07-03", "feed_closes": "08-05", "sown": "06-04",
    } if changed.get("by") == "plan" else None  # fmt: skip
    return [
        text
        for text in _texts(calendar_svg(row, field, WORDS, US, planned))
        if text not in ("Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    ]


def test_of_a_field_to_leave_out_only_soil_gap_and_cold_are_drawn() -> None:
    assert [text.split()[0] for text in _told(verdict="leave out")] == ["Soil", "Stands", "28"]


def test_nothing_of_a_stand_is_drawn_beyond_the_end_of_the_gap() -> None:
    # Sown 28 May: day 45 is 12 July, day 60 is 27 July; flowers from 25 July, pods 22 August.
    assert _told(gap_closes="07-20")[2:-1] == [
        "Sow May 28 to June 3",
        "45 to 60 days after sowing: July 12 to July 20",
    ]
    assert _told(gap_closes="07-10")[2:-1] == ["Sow May 28 to June 3"]
    cut = _told(gap_closes="08-01")[2:-1]
    assert [text.split()[0] for text in cut] == ["Sow", "45", "First"]
    assert cut[-1] == "First flower, roughly July 25 to September 21"  # the plant's own range


def test_with_a_plan_the_strip_has_its_week_and_its_days() -> None:
    assert _told(by="plan")[2:-1] == [
        "Sow June 4 to June 10, by the plan",
        "Grazing or cutting: July 3 to August 5",
        "First flower, if sown May 28: July 25 to September 21",
        "First pods, if sown May 28: about August 22",
    ]


def test_the_names_of_months_stand_within_the_calendar() -> None:
    farm = farm_with_years()
    row = farm.verdicts.set_index("field_id").loc["B"].copy()
    field = farm.fields.set_index("field_id").loc["B"]
    for day in ("11-28", "12-02", "12-08", "12-24"):
        row["first_freeze_28f_p50"] = day
        svg = calendar_svg(row, field, WORDS, US, width_px=380)
        names = re.findall(r'<text x="([\d.]+)"[^>]*font-size="11"[^>]*>([^<]+)<', svg)
        assert [name for _, name in names][:3] == ["Apr", "May", "Jun"]
        # "Dec" is 1.9 times as wide as high in Arial, measured; other names are no wider.
        assert all(float(x) + 1.9 * 11 <= 380 for x, _ in names)
        if day == "12-08":
            assert names[-1][1] == "Dec"


def test_a_calendar_runs_across_the_new_year() -> None:
    farm = farm_with_years()
    row = farm.verdicts.set_index("field_id").loc["B"].copy()
    row[:] = None
    row["sow_date"] = "12-10"
    field = pd.Series({"gap_opens": "11-20", "gap_closes": "02-20"})
    svg = calendar_svg(row, field, WORDS, US)
    assert _texts(svg)[:2] == ["Jan", "Feb"] and "Nov" in _texts(svg)
    wide = [
        float(n)
        for n in re.findall(r'<rect x="[-\d.]+" y="[-\d.]+" width="([\d.]+)" height="9"', svg)
    ]
    assert max(wide) < 380


def test_the_table_of_weeks_ends_with_the_first_week_that_never_works() -> None:
    farm = farm_with_years()
    teller = Teller(WORDS, US)
    table = weeks_table(farm, teller, "C")
    assert table is not None
    assert [row[:5] for row in table.rows] == [
        ("May 14", "2", "0", "0", "8"),
        ("May 21", "1", "0", "0", "9"),
        ("May 28", "1", "0", "0", "9"),
        ("June 4", "0", "0", "0", "10"),
    ]
    # 2000, 4000, 5000 and 8000 kg/ha in lb/ac, to the hundred.
    assert table.rows[0][5:] == ("1,800", "3,600", "4,500", "7,100")
    assert weeks_table(farm, teller, "D") is None


def test_weeks_of_a_gap_across_the_new_year_are_told_from_its_opening_on() -> None:
    farm = farm_with_years()
    years: Any = farm.years
    winter = {"05-14": "12-10", "05-21": "12-17", "05-28": "12-24", "06-04": "01-01"}
    days = years.weeks["sow_date"].replace(winter | {"06-11": "01-08"})
    table_of_weeks = years.weeks.assign(sow_date=days).sort_values(["field_id", "sow_date"])
    table = weeks_table(
        replace(farm, years=replace(years, weeks=table_of_weeks)), Teller(WORDS, US), "A/1"
    )
    assert table is not None
    told = [row[0] for row in table.rows]
    assert told == ["December 10", "December 17", "December 24", "January 1", "January 8"]


def test_open_water_is_drawn_solid_and_its_acres_are_those_left_out() -> None:
    farm = small_farm()
    components = pd.DataFrame(
        {"mukey": ["2", "1", "1"], "cokey": ["2w", "1a", "1b"], "kind": ["water", "soil", "water"]}
    )
    farm = replace(farm, components=components)
    water = open_water(farm)
    # Unit 2 is all water; unit 1 has water only as a share, which has no place.
    assert list(water.field_id) == ["B", "C"]
    assert water.area_ha.sum() == 0.28 + 4.0
    solid = rf'<path d="[^"]+" fill="{colours.WATER}" fill-rule'
    assert len(re.findall(solid, farm_svg(farm, WORDS, US))) == 2
    assert len(re.findall(solid, field_svg(farm, "B", WORDS, US))) == 1
    assert not re.findall(solid, field_svg(farm, "A/1", WORDS, US))


def test_water_that_only_the_heights_show_is_drawn_too() -> None:
    farm = small_farm()
    pond = farm.wet_ground[["field_id", "geometry"]].assign(area_ha=0.28)
    farm = replace(farm, level_water=pond)
    assert open_water(farm).area_ha.to_list() == [0.28]
    assert f'fill="{colours.WATER}" fill-rule' in field_svg(farm, "B", WORDS, US)
