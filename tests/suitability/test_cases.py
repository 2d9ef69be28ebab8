"""Cases: what is run once, whoever has it."""

import farm_tables
import pandas as pd

from suitability.cases import CASE_COLUMNS, cases_of

ROWS = (
    ("A", "1", "loam", 4.0),
    ("B", "1", "loam", 2.0),
    ("B", "2", "clay", 1.0),
    ("C", "1", "loam", 9.0),
)


def given(*rows, weather_id="w"):
    parts = farm_tables.parts(*rows).assign(weather_id=weather_id)
    ids = dict.fromkeys(row[0] for row in rows)
    return parts, farm_tables.fields(*ids)


def test_fields_with_the_same_soil_and_weather_share_a_case():
    cases, case = cases_of(*given(*ROWS))
    assert cases["cokey"].tolist() == ["clay", "loam"] and list(cases) == CASE_COLUMNS
    assert case.tolist() == [1, 1, 0, 1]


def test_irrigation_drainage_position_and_weather_make_cases_of_their_own():
    parts, fields = given(*ROWS)
    fields.loc[fields["field_id"] == "C", "irrigated_mm_week"] = 25.0
    assert len(cases_of(parts, fields)[0]) == 3
    for column, value in (("drained", True), ("position", "hollow"), ("weather_id", "v")):
        changed = parts.copy()
        changed.loc[0, column] = value
        assert len(cases_of(changed, fields)[0]) == 4


def test_unknown_irrigation_is_none_and_not_a_case_of_its_own():
    parts, fields = given(*ROWS)
    fields.loc[0, "irrigated_mm_week"] = 0.0
    assert len(cases_of(parts, fields)[0]) == 2


def test_ground_without_soil_or_weather_has_no_case():
    parts, fields = given(*ROWS)
    parts.loc[0, "weather_id"], parts.loc[1, "cokey"] = None, None
    cases, case = cases_of(parts, fields)
    assert case.tolist() == [-1, -1, 0, 1] and len(cases) == 2


def test_the_order_of_the_parts_and_their_size_change_nothing():
    parts, fields = given(*ROWS)
    cases, case = cases_of(parts, fields)
    turned = parts.iloc[[2, 0, 3, 1]].assign(area_ha=lambda t: 2 * t["area_ha"])
    others, other = cases_of(turned, fields)
    pd.testing.assert_frame_equal(cases, others)
    assert other.reindex(case.index).tolist() == case.tolist()


def test_more_fields_of_the_same_soils_make_no_more_cases():
    many = [(f"F{i}", mukey, soil, 1.0) for i in range(200) for _, mukey, soil, _ in ROWS[1:3]]
    cases, case = cases_of(*given(*many))
    assert len(cases) == 2 and len(case) == 400


def on_ground(*rows):
    """Parts of soil, position and hectares in one field of a hundred hectares or less."""
    table = farm_tables.parts(*(("A", "1", soil, area_ha) for soil, _, area_ha in rows))
    table["position"] = [position for _, position, _ in rows]
    return table.assign(weather_id="w"), farm_tables.fields("A")


def test_a_sliver_is_run_where_most_of_its_soil_lies_and_keeps_its_area():
    parts, fields = on_ground(
        ("loam", "level", 15.0), ("loam", "shedding", 4.0), ("loam", "gathering", 0.09),
        ("clay", "gathering", 0.05), ("clay", "level", 0.04),
    )  # fmt: skip
    before = parts.copy()
    cases, case = cases_of(parts, fields)
    assert cases[["cokey", "position"]].to_numpy().tolist() == [
        ["clay", "gathering"], ["loam", "level"], ["loam", "shedding"],
    ]  # fmt: skip
    assert case.tolist() == [1, 2, 1, 0, 0]
    pd.testing.assert_frame_equal(parts, before)


def test_no_sliver_is_a_hollow_a_hundredth_of_the_field_or_a_tenth_of_a_hectare():
    small = ("loam", "gathering", 0.05)  # over a hundredth of 4.05 ha
    assert len(cases_of(*on_ground(("loam", "level", 4.0), small))[0]) == 2
    large = ("loam", "gathering", 0.11)
    assert len(cases_of(*on_ground(("loam", "level", 90.0), large))[0]) == 2
    hollow = ("loam", "hollow", 0.02)
    assert len(cases_of(*on_ground(("loam", "level", 90.0), hollow))[0]) == 2
