"""A farm from its parts to years in ten: laws, short records, holes, notes."""

from dataclasses import replace

import engine_farm as ef
import numpy as np
import pandas as pd
import pytest

from suitability.outcomes import DRY_SEEDBED, UNKNOWN, WORKS
from suitability.years import years_of_farm

LOAM, CLAY = (65.0, 12.0), (35.0, 35.0)
DRY = (2004, 2009)
TWO = ([(LOAM, "well", 8.9), (CLAY, "moderately well", 1.1)], [(CLAY, "moderately well", 5.0)])
NUMBERS = ["works_years_in_ten", "dry_matter_60d_kg_ha_p50", "dry_matter_end_kg_ha_p90"]


@pytest.fixture(scope="module")
def farm():
    return ef.farm(*TWO, weather_table=ef.weather(20, dry_years=DRY))[0]


@pytest.fixture(scope="module")
def years(farm):
    return years_of_farm(*farm)


def same_odds(one, other):
    pd.testing.assert_frame_equal(one.weeks, other.weeks)
    pd.testing.assert_frame_equal(one.best, other.best)
    pd.testing.assert_series_equal(one.low, other.low)
    pd.testing.assert_series_equal(one.high, other.high)


def test_every_week_of_the_gap_of_every_field_has_odds(years):
    assert years.weeks.groupby("field_id").size().to_dict() == {"F1": 23, "F2": 23}
    assert years.weeks["n_years"].eq(20).all() and years.best.index.tolist() == ["F1", "F2"]
    assert not any("weather stand behind" in n.text for n in years.notes)


def test_works_and_the_risks_add_to_ten(years):
    columns = [c + "_years_in_ten" for c in ("works", "germination_risk", "waterlogging")]
    total = years.weeks[[*columns, "season_short_years_in_ten"]].sum(axis=1)
    np.testing.assert_allclose(total, 10, rtol=1e-12)


def test_dry_years_show(years):
    found = years.by_field()
    week = found.weeks.index("06-11")
    at = [found.years.index(y) for y in DRY]
    others = [i for i in range(20) if i not in at]
    assert (found.outcome[0, at, week] == DRY_SEEDBED).all(), "no rain since April on F1"
    assert (found.outcome[0, others, week] == WORKS).mean() > 0.5
    for grown in found.dry_matter_end_kg_ha[:, :, week]:  # F2 has water in reach, and less of it
        assert grown[at].max() < grown[others].min()


def test_later_sowing_after_the_best_week_stands_with_less(years):
    for field_id, week in years.best["sow_date"].items():
        mine = years.weeks[years.weeks["field_id"] == field_id].set_index("sow_date")
        best = mine["dry_matter_end_kg_ha_p50"].idxmax()
        later = mine.loc[max(week, best) :, "dry_matter_end_kg_ha_p50"]
        # A week is within the luck of the weather; a month later is always less.
        assert (later.diff(4).dropna() < 0).all() and later.iloc[-1] == 0


def test_the_order_of_parts_and_fields_changes_nothing(farm, years):
    fields, parts, counts, findings, tables, *rest = farm
    turned = replace(counts, parts=counts.parts.iloc[::-1])
    soils = {name: table.iloc[::-1] for name, table in tables.items()}
    found = years_of_farm(
        fields.iloc[::-1], parts.iloc[::-1], turned, findings.iloc[::-1], soils, *rest
    )
    same_odds(years, found)


def test_doubling_the_ground_changes_nothing(farm, years):
    fields, parts, counts, findings, tables, *rest = farm
    double = replace(counts, parts=counts.parts.assign(area_ha=2 * counts.parts["area_ha"]))
    found = years_of_farm(
        fields.assign(area_ha=2 * fields["area_ha"]),
        parts.assign(area_ha=2 * parts["area_ha"]),
        double,
        findings,
        tables,
        *rest,
    )
    same_odds(years, found)


def test_a_field_beside_changes_no_other():
    alone = years_of_farm(*ef.farm(TWO[0])[0])
    args, _ = ef.farm(TWO[0], TWO[0])
    args[0].loc[1, ["gap_opens", "gap_closes"]] = ["04-01", "12-20"]
    beside = years_of_farm(*args)
    mine = beside.weeks[beside.weeks["field_id"] == "F1"].reset_index(drop=True)
    pd.testing.assert_frame_equal(mine, alone.weeks)


def test_sums_by_blocks_are_those_of_all(years, monkeypatch, farm):
    monkeypatch.setattr("suitability.years._BLOCK", 1)
    same_odds(years, years_of_farm(*farm))


def test_the_range_is_that_of_a_colder_and_a_warmer_soil(years):
    best = years.best["works_years_in_ten"]
    assert (years.low <= best + 1e-9).all() and (years.high >= best - 1e-9).all()


def test_irrigation_brings_the_dry_years_back():
    table = ef.weather(12, dry_years=DRY)
    loam = [(LOAM, "well", 5.0)]
    dry = years_of_farm(*ef.farm(loam, weather_table=table)[0])
    wet = years_of_farm(*ef.farm(loam, weather_table=table, irrigated_mm_week=40.0)[0])
    gained = wet.best["works_years_in_ten"] - dry.best["works_years_in_ten"]
    assert gained["F1"] >= 10 * 2 / 12 - 1e-9


@pytest.mark.parametrize(("n_years", "odds", "said"), [(9, False, True), (12, True, True)])
def test_short_records(n_years, odds, said):
    found = years_of_farm(*ef.farm(TWO[1], weather_table=ef.weather(n_years))[0])
    assert (len(found.best) == 1) == odds and (len(found.weeks) > 0) == odds
    cautions = [n for n in found.notes if n.level == "caution" and n.layer == "years in ten"]
    assert bool(cautions) == said and all(n.field_ids == ("F1",) for n in cautions)
    words = "Only 12 years of weather" if odds else "fewer than 10 whole years"
    assert words in cautions[0].text


def test_a_year_with_a_hole_does_not_count_and_is_named():
    table = ef.weather(21)
    hole = table["date"].between("2010-06-20", "2010-07-03")
    table.loc[hole, ["tmax_c", "tmin_c"]] = np.nan
    found = years_of_farm(*ef.farm(TWO[1], weather_table=table)[0])
    assert (found.best["n_years"] == 20).all()
    (note,) = [n for n in found.notes if "holes" in n.text]
    assert note.text.endswith("2010.") and note.field_ids == ("F1",)
    mine = found.by_field()
    week = mine.weeks.index(found.best.at["F1", "sow_date"])
    unknown = mine.outcome[0, :, week] == UNKNOWN
    assert [y for y, u in zip(mine.years, unknown, strict=True) if u] == [2010]


def test_a_summer_that_is_mostly_missing_gives_no_odds_and_no_bad_answer():
    table = ef.weather(20)
    july = (table["date"].dt.month == 7) & (table["date"].dt.year < 2012)
    table.loc[july, "precip_mm"] = np.nan
    found = years_of_farm(*ef.farm(TWO[1], weather_table=table)[0])
    # Weeks from August on have all 20 years, and are too late in each; of the others nine years.
    assert found.best.empty and found.weeks.empty
    (note,) = [n for n in found.notes if n.level == "caution" and n.layer == "years in ten"]
    assert "only some weeks of their gap have 10 whole years" in note.text
    assert note.field_ids == ("F1",)


def test_nothing_to_simulate_gives_none():
    fields, parts, *rest = ef.farm(TWO[1])[0]
    assert years_of_farm(fields, parts.assign(weather_id=None), *rest) is None
    assert years_of_farm(fields.assign(gap_opens=None), parts, *rest) is None


def test_no_ground_left_to_count_gives_no_odds_and_no_fault(farm):
    fields, parts, counts, *rest = farm
    found = years_of_farm(fields, parts, replace(counts, parts=counts.parts.iloc[:0]), *rest)
    assert found.weeks.empty and found.best.empty and found.low.empty
