"""weeks.csv, years.csv and the years of one field on the screen; every number set by hand."""

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from farm_with_years import farm_with_wet_weeks, farm_with_years

from maps.commands.years import check_day, find_field, print_years, sowing_week
from maps.wet_by_week import WET_WEEKS_COLUMNS, write_wet_weeks_csv
from maps.year_tables import field_years_of, write_weeks_csv, write_years_csv
from suitability import season_end
from suitability.errors import InputError
from suitability.field_years import FieldYears
from suitability.outcomes import DROWNED, DRY_SEEDBED, END_DROWNED, UNKNOWN, WORKS

WEEKS = ["field_id", "sow_date", "works_years_in_ten", "germination_risk_years_in_ten"]
WEEKS += ["waterlogging_years_in_ten", "season_short_years_in_ten", "dry_matter_60d_kg_ha_p10"]
WEEKS += ["dry_matter_60d_kg_ha_p50", "dry_matter_60d_kg_ha_p90", "wet_acres"]
YEARS = ["field_id", "sow_date", "year", "works", "stand", "why_not", "wet_run_d", "end_date"]
YEARS += ["end_cause", "growing_days", "dry_matter_60d_kg_ha", "dry_matter_end_kg_ha"]


def by_hand(field_ids=("A/1",)):
    """2004 worked, 2005 had no stand, 2006 drowned, 2007 is not known."""

    def years(*values, kind=np.float32):
        one = np.array(values, dtype=kind)[None, :, None]
        return np.repeat(one, len(field_ids), axis=0)

    nan = float("nan")
    return FieldYears(
        field_ids=tuple(field_ids),
        years=(2004, 2005, 2006, 2007),
        weeks=("05-21",),
        outcome=years(WORKS, DRY_SEEDBED, DROWNED, UNKNOWN, kind=np.int8),
        end_cause=years(season_end.FREEZE, 0, END_DROWNED, UNKNOWN, kind=np.int8),
        growing_days=years(100, 0, 20, nan),
        dry_matter_60d_kg_ha=years(3000.4, 0, 0, nan),
        dry_matter_end_kg_ha=years(5000, 0, 0, nan),
        emerged_d=years(6, nan, 7.4, nan),
        end_d=years(101, nan, 21, nan),
        wet_run_d=years(2, 1, 8, nan),
        stand_frac=years(1, 0.02, 0.95, nan),
    )


def farm(field_ids=("A/1",)):
    hand_made = farm_with_years()
    years = SimpleNamespace(
        weeks=hand_made.years.weeks,
        best=hand_made.years.best,
        by_field=lambda ids=None: by_hand([i for i in field_ids if ids is None or i in ids]),
        wet=None,
    )
    return replace(hand_made, years=years)


def read(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_weeks_have_the_agreed_columns_and_only_weeks_with_odds(tmp_path):
    write_weeks_csv(farm_with_years(), tmp_path / "weeks.csv")
    rows = read(tmp_path / "weeks.csv")
    assert list(rows[0]) == WEEKS
    assert len(rows) == 14, "five weeks of A/1 and C, four of B"
    first = rows[0]
    assert (first["field_id"], first["sow_date"]) == ("A/1", "05-14")
    assert float(first["works_years_in_ten"]) == 7
    assert float(first["germination_risk_years_in_ten"]) == 3
    assert float(first["dry_matter_60d_kg_ha_p90"]) == 5000
    assert first["wet_acres"] == "", "not known where no wet ground was judged by week"


def test_weeks_have_the_acres_that_are_too_wet_if_sown_then(tmp_path):
    write_weeks_csv(farm_with_wet_weeks(), tmp_path / "weeks.csv")
    rows = {(r["field_id"], r["sow_date"]): r["wet_acres"] for r in read(tmp_path / "weeks.csv")}
    # 0.8 ha are 1.98 acres, 0.28 ha 0.69.
    assert [rows["B", day] for day in ("05-21", "05-28", "06-04")] == ["1.98", "0.69", "0.0"]
    assert rows["A/1", "05-14"] == "0.0" and rows["C", "05-14"] == ""


def test_wet_weeks_have_a_row_for_each_spot_and_week(tmp_path):
    write_wet_weeks_csv(farm_with_wet_weeks(), tmp_path / "wet_weeks.csv")
    rows = read(tmp_path / "wet_weeks.csv")
    assert list(rows[0]) == list(WET_WEEKS_COLUMNS)
    assert [",".join(row.values()) for row in rows] == [
        "B,B-1,05-21,9.0,0.69",
        "B,B-1,05-28,5.0,0.69",
        "B,B-1,06-04,2.0,0.69",
        "B,B-1,06-11,0.0,0.69",
    ]
    write_wet_weeks_csv(farm_with_years(), tmp_path / "none.csv")
    assert (tmp_path / "none.csv").read_text().strip() == ",".join(WET_WEEKS_COLUMNS)


def test_years_have_the_agreed_columns_and_only_known_years(tmp_path):
    write_years_csv(farm(), tmp_path / "years.csv")
    rows = read(tmp_path / "years.csv")
    assert list(rows[0]) == YEARS
    # 21 May + 101 days = 30 August; drowned 21 May + 21 days = 11 June.
    assert [",".join(row.values()) for row in rows] == [
        "A/1,05-21,2004,True,True,,2,2004-08-30,freeze,100,3000,5000",
        "A/1,05-21,2005,False,False,dry seedbed,1,,,0,0,0",
        "A/1,05-21,2006,False,True,drowned,8,2006-06-11,drowned,20,0,0",
    ]


def test_a_table_without_years_has_its_heading_only(tmp_path):
    nothing = replace(farm_with_years(), years=None)
    write_weeks_csv(nothing, tmp_path / "weeks.csv")
    write_years_csv(nothing, tmp_path / "years.csv")
    assert (tmp_path / "weeks.csv").read_text().strip() == ",".join(WEEKS)
    assert (tmp_path / "years.csv").read_text().strip() == ",".join(YEARS)


def test_a_field_id_that_a_spreadsheet_would_run_is_defused(tmp_path):
    hostile = farm(("=1+1",))
    fields = hostile.fields.assign(field_id=["=1+1", "B", "C", "D"])
    weeks = hostile.years.weeks.replace({"field_id": {"A/1": "=1+1"}})
    hostile.years.weeks = weeks
    hostile = replace(hostile, fields=fields)
    write_weeks_csv(hostile, tmp_path / "weeks.csv")
    write_years_csv(hostile, tmp_path / "years.csv")
    for name in ("weeks.csv", "years.csv"):
        assert read(tmp_path / name)[0]["field_id"] == "'=1+1"


def test_days_of_a_year_and_a_stand_that_most_ground_lacks():
    first, second, third = field_years_of(by_hand(), 0)
    assert first.emerged_date == date(2004, 5, 27) and third.emerged_date == date(2006, 5, 28)
    assert second.emerged_date is None and not second.stand
    few = replace(by_hand(), stand_frac=np.full((1, 4, 1), 0.4, dtype=np.float32))
    assert not field_years_of(few, 0)[2].stand


def test_a_field_by_id_or_name_and_the_nearest_when_unknown():
    given = farm_with_years()
    assert find_field(given.fields, "A/1") == find_field(given.fields, "home FIELD") == "A/1"
    with pytest.raises(InputError, match=r"no field 'Botom'\. Did you mean 'Bottom'\?"):
        find_field(given.fields, "Botom")
    with pytest.raises(InputError, match=r"the ids are: A/1, B, C, D"):
        find_field(given.fields, "zzzzzz")
    twins = replace(given, fields=given.fields.assign(name="Home field"))
    with pytest.raises(InputError, match=r"4 fields are called 'home field'\. Give the id"):
        find_field(twins.fields, "home field")


def test_the_week_is_the_recommended_one_or_the_one_that_holds_the_day():
    given = farm_with_years()
    assert sowing_week(given, "A/1", None) == "05-21"
    assert sowing_week(given, "A/1", "06-04") == sowing_week(given, "A/1", "06-10") == "06-04"
    with pytest.raises(InputError, match=r"--week 07-30 is not in the gap of field A/1\. Its"):
        sowing_week(given, "A/1", "07-30")
    with pytest.raises(InputError, match=r"no simulated years: daily weather, its soil and"):
        sowing_week(replace(given, years=None), "A/1", None)
    for wrong in ("6-5", "13-01", "02-30", "soon"):
        with pytest.raises(InputError, match=rf"--week {wrong} is not a day of the year"):
            check_day(wrong)


def test_the_table_on_the_screen(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    print_years(farm(), "A/1", "05-21")
    told = capsys.readouterr().out
    assert "Home field (A/1), sown the week of May 21: it works in 1 of 3 years." in told
    assert "May 27" in told and "Aug 30, freeze" in told and "Jun 11, drowned" in told
    assert "a dry seed bed" in told and "standing water" in told
    # 3,000.4 kg/ha / 1.12085 = 2,677 lb/ac, to the hundred
    assert "2,700" in told and "lb/ac" in told and "2007" not in told
    # A year is one line: the words of no cause are cut into two.
    assert [line.split()[0] for line in told.splitlines() if line[:6].strip().isdigit()] == [
        *("2004", "2005", "2006")
    ]
    assert sum("a dry seed bed" in line for line in told.splitlines()) == 1


def test_floods_and_a_stand_followed_no_further_are_told(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    given = farm()
    assert "floods, which" not in _printed(given, capsys)
    weeks = given.years.weeks.copy()
    at = (weeks["field_id"] == "A/1") & (weeks["sow_date"] == "05-21")
    weeks.loc[at, "works_years_in_ten"] = 6.3
    weeks.loc[at, "waterlogging_years_in_ten"] = weeks.loc[at, "drowned_years_in_ten"] + 2.7
    given.years.weeks = weeks
    of_years = given.years.by_field

    def never_ended(ids=None):
        years = of_years(ids)
        unended = np.where(years.end_cause == season_end.FREEZE, 0, years.end_cause)
        return replace(years, end_cause=unended)

    given.years.by_field = never_ended
    told = " ".join(_printed(given, capsys).split())
    assert "take 2.7 years of 10 off: with them it works in 6.3 years of 10." in told
    assert "Aug 30, still up" in told and '"Still up": 150 days after sowing' in told


def _printed(given, capsys):
    print_years(given, "A/1", "05-21")
    return capsys.readouterr().out


def test_a_bad_week_ends_with_one_message_and_code_2(tmp_path):
    from maps.cli import suitability

    farm_file = tmp_path / "farm.toml"
    done = CliRunner().invoke(suitability, ["years", "F01", "--farm", str(farm_file)])
    assert done.exit_code == 2 and "farm.toml" in done.output
    sample = str(Path(__file__).parents[2] / "sample_fields" / "farm.toml")
    done = CliRunner().invoke(suitability, ["years", "F01", "--farm", sample, "--week", "31-12"])
    assert done.exit_code == 2 and "--week 31-12 is not a day of the year" in done.output
