"""fields.csv and zones.gpkg, read back by other readers than wrote them."""

import csv
from dataclasses import replace

import pandas as pd
import pyogrio
import pytest
from small_farm import HOSTILE, small_farm

from maps.exports import write_fields_csv, write_zones

# Typed from the agreed list, not taken from the code.
AGREED = """field_id, name, owner, area_acres, sowable_acres, verdict, suitability_class, at_best,
limiting, works_years_in_ten, germination_risk, waterlogging, inoculation_need, season_length,
germination_score, waterlogging_score, inoculation_score, season_score, score_basis, sow_date,
soil_cover_pct, last_freeze_p10, last_freeze_p50, first_freeze_p10, first_freeze_p50,
first_freeze_28f_p10, first_freeze_28f_p50, freeze_years_in_ten, soil_65f_held_p50,
soil_65f_held_p80"""


@pytest.fixture
def cells(tmp_path):
    write_fields_csv(small_farm(), tmp_path / "fields.csv")
    with (tmp_path / "fields.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_columns_are_the_agreed_ones_in_their_order(cells):
    agreed = [name.strip() for name in AGREED.split(",")]
    assert list(cells[0])[: len(agreed)] == agreed


def test_acres_whatever_units_people_read(tmp_path):
    # 4 ha x 2.4710538 acres a hectare = 9.88; 3.72 ha = 9.19
    for units in ("us", "metric"):
        write_fields_csv(small_farm(units), tmp_path / "fields.csv")
        table = pd.read_csv(tmp_path / "fields.csv")
        assert table.area_acres.tolist() == [9.88] * 4
        assert table.sowable_acres.tolist() == [9.88, 9.19, 0.0, 9.88]


def test_unknown_is_an_empty_cell_and_never_a_word_or_zero(cells):
    unknown = cells[3]
    assert unknown["verdict"] == "not known"
    for name in ("suitability_class", "waterlogging", "waterlogging_score", "first_freeze_p50"):
        assert unknown[name] == ""
    assert not any(
        value in ("nan", "None", "NaT", "<NA>") for row in cells for value in row.values()
    )


def test_a_cell_that_a_spreadsheet_would_run_stands_behind_an_apostrophe(tmp_path):
    farm = small_farm()
    starts = ["=1+1", "+1", "-cmd", "@SUM(A1)"]
    fields = farm.fields.assign(name=starts, owner=["\tx", "\rx", " =x", "x=1"])
    write_fields_csv(replace(farm, fields=fields), tmp_path / "fields.csv")
    with (tmp_path / "fields.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["name"] for row in rows] == [f"'{start}" for start in starts]
    assert [row["owner"] for row in rows] == ["'\tx", "'\rx", " =x", "x=1"]


def test_hostile_names_come_out_letter_for_letter(cells):
    assert cells[1]["name"] == HOSTILE
    assert cells[3]["name"] == "'=1+1"


def test_names_follow_the_field_and_not_the_row(tmp_path):
    farm = small_farm()
    mixed = replace(farm, fields=farm.fields.iloc[::-1])
    write_fields_csv(mixed, tmp_path / "fields.csv")
    table = pd.read_csv(tmp_path / "fields.csv").set_index("field_id")
    assert table.name.loc["C"] == "Bottom"
    assert table.number.tolist() == [1, 2, 3, 4]


def test_zones_have_three_layers_in_the_metre_crs(tmp_path):
    write_zones(small_farm(), tmp_path / "zones.gpkg")
    assert sorted(pyogrio.list_layers(tmp_path / "zones.gpkg")[:, 0]) == [
        "fields",
        "soil_parts",
        "wet_ground",
    ]
    fields = pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="fields")
    assert fields.crs.to_epsg() == 32616
    assert fields.name.tolist()[1] == HOSTILE
    assert fields.geometry.area.tolist() == pytest.approx([40000] * 4)


def test_soil_parts_add_up_to_their_field(tmp_path):
    write_zones(small_farm(), tmp_path / "zones.gpkg")
    parts = pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="soil_parts")
    assert parts[parts.field_id == "B"].area_acres.sum() == pytest.approx(9.88, abs=0.01)


def test_wet_ground_carries_its_caution(tmp_path):
    write_zones(small_farm(), tmp_path / "zones.gpkg")
    wet = pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="wet_ground")
    assert wet.field_id.tolist() == ["B"]
    assert wet.cause.tolist() == ["water table"]
    assert wet.area_acres.tolist() == [0.69]  # 0.28 ha
    assert wet.years_in_ten.isna().all()
    assert "not a wetland determination" in wet.caution.iloc[0]


def test_a_farm_without_wet_ground_still_has_the_layer(tmp_path):
    farm = small_farm()
    dry = replace(farm, wet_ground=farm.wet_ground.iloc[:0])
    write_zones(dry, tmp_path / "zones.gpkg")
    assert len(pyogrio.read_dataframe(tmp_path / "zones.gpkg", layer="wet_ground")) == 0
