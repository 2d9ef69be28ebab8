"""What the survey says in its own words comes out in the program's terms."""

import math

import pandas as pd
import pytest
from real_data import real
from soil_survey_files import polygons, tables, write_csv, write_export

from layers.soil_map import coded_text
from layers.soil_map.component_kind import component_kind
from layers.soil_map.reader import read_soil_survey
from layers.soil_map.survey import SoilSurvey
from suitability.columns import DRAINAGE_CLASSES, DURATIONS, FREQUENCIES


@pytest.fixture
def read(tmp_path):
    """Reads the small survey after changes to its tables."""

    def _read(shapes=None, **changed: pd.DataFrame | None) -> SoilSurvey:
        content = {n: t for n, t in {**tables(), **changed}.items() if t is not None}
        shapes = polygons() if shapes is None else shapes
        return read_soil_survey(write_csv(tmp_path / "survey", shapes, content))

    return _read


def changed(table: str, row: int, **values: object) -> dict[str, pd.DataFrame]:
    """One survey table with other values in one row."""
    result = tables()[table].astype(object)
    for column, value in values.items():
        result.loc[row, column] = value
    return {table: result}


def texts(survey: SoilSurvey) -> list[str]:
    return [note.text for note in survey.notes]


def row(table: pd.DataFrame, **keys: object) -> dict[str, object]:
    """The one row with these keys."""
    for name, value in keys.items():
        table = table[table[name] == value]
    assert len(table) == 1
    return table.iloc[0].to_dict()


# The survey's own words, by the Soil Survey Manual (classes of natural drainage).
@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Excessively drained", "excessively"),
        ("Somewhat excessively drained", "somewhat excessively"),
        ("Well drained", "well"),
        ("Moderately well drained", "moderately well"),
        ("Somewhat poorly drained", "somewhat poorly"),
        ("Poorly drained", "poorly"),
        ("Very poorly drained ", "very poorly"),
        ("VERY POORLY DRAINED", "very poorly"),
        ("well", "well"),
    ],
)
def test_drainage_classes(said, meant):
    assert coded_text.class_word(said, DRAINAGE_CLASSES, "drained") == meant


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("None", "none"),
        ("Very rare", "very rare"),
        ("Rare ", "rare"),
        ("Occasional", "occasional"),
        ("Frequent", "frequent"),
        ("Very frequent", "very frequent"),
    ],
)
def test_frequency_classes(said, meant):
    assert coded_text.class_word(said, FREQUENCIES) == meant


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Extremely brief (0.1 to 4 hours)", "extremely brief"),
        ("Very brief (4 to 48 hours)", "very brief"),
        ("Brief (2 to 7 days)", "brief"),
        ("Long (7 to 30 days)", "long"),
        ("Very long (more than 30 days)", "very long"),
    ],
)
def test_duration_classes(said, meant):
    assert coded_text.class_word(said, DURATIONS) == meant


def test_blank_is_missing_in_every_form():
    for blank in (None, "", "  ", math.nan, pd.NA, pd.NaT):
        assert coded_text.text(blank) is None
        assert coded_text.key(blank) is None
        assert coded_text.yes_no(blank) is None
        assert coded_text.class_word(blank, FREQUENCIES) is None
        assert math.isnan(coded_text.number(blank))


@pytest.mark.parametrize("value", [412001, 412001.0, "412001", " 412001 ", "412001.0"])
def test_keys_are_text_without_a_decimal(value):
    assert coded_text.key(value) == "412001"


def test_keys_that_are_no_numbers_stay_as_they_are():
    assert coded_text.key("658083:647912") == "658083:647912"
    assert coded_text.key("007") == "007"
    assert coded_text.key("2.5") == "2.5"


@pytest.mark.parametrize(
    ("said", "meant"),
    [("Yes", True), ("No ", False), (1, True), (0.0, False), (True, True), ("Unranked", None)],
)
def test_yes_and_no(said, meant):
    assert coded_text.yes_no(said) is meant


@pytest.mark.parametrize(
    ("sequence", "name", "month"),
    [
        (7, "July", 7),
        ("7", None, 7),
        (7.0, "July", 7),
        (None, "September", 9),
        (None, "sep ", 9),
        (13, "May", 5),
        ("x", "May", 5),
        (None, None, None),
        (0, "Summer", None),
    ],
)
def test_months_by_number_or_name(sequence, name, month):
    assert coded_text.month_number(sequence, name) == month


@pytest.mark.parametrize(
    ("name", "compkind", "mukind", "kind"),
    [
        ("Dothan", "Series", "Consociation", "soil"),
        ("Aquolls", "Taxon above family", None, "soil"),
        ("Water", "Miscellaneous area", None, "water"),
        ("Lakes", "Miscellaneous area", None, "water"),
        ("Borrow area", "Miscellaneous area", "Water bodies", "water"),
        ("Urban land", "Miscellaneous area", "Complex", "not soil"),
        ("Riverwash", "Miscellaneous area", None, "not soil"),
        ("Pits, gravel", "Miscellaneous area", None, "not soil"),
        ("Water", None, None, "water"),
        ("Water, miscellaneous", None, None, "water"),
        ("Urban land", None, None, "not soil"),
        ("Waterboro", None, None, "soil"),
        ("Lakeland", None, None, "soil"),
        ("Pittsburg", None, None, "soil"),
        (None, None, None, "soil"),
    ],
)
def test_kinds_of_component(name, compkind, mukind, kind):
    assert component_kind(name, compkind, mukind) == kind


def test_components_in_the_programs_terms(read):
    survey = read()
    wet = row(survey.components, cokey="12")
    assert wet == {
        "cokey": "12",
        "mukey": "1",
        "compname": "Bog",
        "kind": "soil",
        "comppct_pct": 10.0,
        "major": False,
        "slope_pct": 0.0,
        "drainage_class": "very poorly",
        "hydrologic_group": "A/D",
        "hydric": True,
        "phase": "depressional / PONDED",
        "landform": "depressions on flats",
        "restriction_kind": None,
        "restriction_depth_cm": pytest.approx(math.nan, nan_ok=True),
    }
    other = row(survey.components, cokey="21")
    assert math.isnan(other["slope_pct"])
    assert other["hydric"] is None
    assert other["phase"] == "DRAINED"
    assert (other["restriction_kind"], other["restriction_depth_cm"]) == (
        "Abrupt textural change",
        43.0,
    )
    assert texts(survey) == []


def test_horizons_keep_what_is_not_known_unknown(read):
    survey = read()
    organic = row(survey.horizons, chkey="121")
    for name in ("sand_pct", "silt_pct", "clay_pct", "water_third_bar_pct", "ph"):
        assert math.isnan(organic[name]), name  # pH in CaCl2 (3.9) is no pH in water
    assert (organic["om_pct"], organic["bulk_density_g_cm3"], organic["ksat_um_s"]) == (
        70,
        0.25,
        21,
    )
    sand = row(survey.horizons, chkey="112")
    expected = {"top_cm": 20, "bottom_cm": 200, "sand_pct": 97, "silt_pct": 2, "clay_pct": 1}
    expected |= {"silt_coarse_pct": 1, "silt_fine_pct": 1, "awc_frac": 0.04, "ph": 5.2}
    expected |= {"water_third_bar_pct": 7, "water_fifteen_bar_pct": 2, "water_saturated_pct": 38}
    assert {name: sand[name] for name in expected} == expected


def test_months_are_wet_where_the_survey_says_wet_or_ponded(read):
    months = read().months
    assert months[["cokey", "month"]].to_numpy().tolist() == [["11", 7], ["12", 3], ["12", 7]]
    march, july = row(months, cokey="12", month=3), row(months, cokey="12", month=7)
    assert (march["flood_frequency"], march["flood_duration"]) == ("rare", "brief")
    assert march["pond_frequency"] is None
    assert (march["water_table_cm"], march["moisture_listed_to_cm"]) == (30, 150)
    # Listed wet from 10 cm; ponded often, so the water stands at the surface.
    assert (july["flood_frequency"], july["pond_frequency"]) == ("none", "frequent")
    assert (july["pond_duration"], july["pond_depth_cm"]) == ("long", 15)
    assert july["water_table_cm"] == 0
    dry = row(months, cokey="11", month=7)
    assert (dry["flood_frequency"], dry["pond_frequency"]) == ("none", "none")
    assert math.isnan(dry["water_table_cm"])
    assert dry["moisture_listed_to_cm"] == 200


def test_the_shallowest_of_several_wet_layers_is_the_water_table(read):
    perched = pd.DataFrame(
        {
            "comonthkey": ["907"] * 3,
            "soimoistdept_r": [120, 30, 60],
            "soimoistdepb_r": [200, 60, 120],
            "soimoiststat": ["Wet", "Wet", "Moist"],
        }
    )
    march = row(read(cosoilmoist=perched).months, cokey="12", month=3)
    assert (march["water_table_cm"], march["moisture_listed_to_cm"]) == (30, 200)


@pytest.mark.parametrize(
    ("said", "depth"), [("None", 10), ("Rare", 10), ("Occasional", 0), ("Very frequent", 0)]
)
def test_ponding_brings_water_to_the_surface_from_occasional_on(read, said, depth):
    survey = read(**changed("comonth", 0, pondfreqcl=said))
    assert row(survey.months, cokey="12", month=7)["water_table_cm"] == depth


def test_a_month_without_listed_moisture_is_not_known(read):
    survey = read(cosoilmoist=tables()["cosoilmoist"].iloc[:2])
    dry = row(survey.months, cokey="11", month=7)
    assert math.isnan(dry["water_table_cm"])
    assert math.isnan(dry["moisture_listed_to_cm"])


def test_the_same_depth_wet_and_moist_takes_the_wetter_and_says_so(read):
    survey = read(**changed("cosoilmoist", 1, soimoistdepb_r=80))
    assert row(survey.months, cokey="12", month=3)["water_table_cm"] == 30
    assert texts(survey) == [
        "In 1 rows of months (component 12) the survey lists the same depth as wet and as moist "
        "or dry: the wetter reading was taken."
    ]


def test_months_by_name_only(read):
    survey = read(comonth=tables()["comonth"].drop(columns="monthseq"))
    assert survey.months["month"].tolist() == [7, 3, 7]
    assert "in table comonth the columns monthseq" in texts(survey)[0]


def test_a_row_that_names_no_month_is_left_out_with_a_note(read):
    survey = read(**changed("comonth", 0, monthseq=None, month="Summer"))
    assert len(survey.months) == 2
    assert texts(survey) == ["1 rows of the months table name no month: left out."]


def test_an_unknown_class_word_is_not_known_and_noted(read):
    survey = read(**changed("component", 0, drainagecl="Subaqueous"))
    assert row(survey.components, cokey="11")["drainage_class"] is None
    assert texts(survey) == [
        "In 1 rows the survey's column drainagecl says 'Subaqueous', which is none of "
        "excessively, somewhat excessively, well, moderately well, somewhat poorly, poorly, "
        "very poorly: taken as not known."
    ]


@pytest.mark.parametrize(
    ("column", "value", "name"),
    [
        ("om_r", -9999, "om_pct"),
        ("dbthirdbar_r", 0, "bulk_density_g_cm3"),
        ("ph1to1h2o_r", 0, "ph"),
    ],
)
def test_values_that_stand_for_nothing_measured(read, column, value, name):
    survey = read(**changed("chorizon", 0, **{column: value}))
    assert math.isnan(row(survey.horizons, chkey="111")[name])
    assert texts(survey) == [
        "Taken as not known: values that stand for nothing measured (-9999, -999, -99, or 0 "
        f"where that cannot be), in {column} (1)."
    ]


def test_zero_is_a_value_where_it_can_be(read):
    survey = read(**changed("chorizon", 0, om_r=0, ksat_r=0))
    top = row(survey.horizons, chkey="111")
    assert (top["om_pct"], top["ksat_um_s"]) == (0, 0)
    assert texts(survey) == []


@pytest.mark.parametrize("bottom", [0, -5, None])
def test_layers_without_thickness_are_left_out_with_a_note(read, bottom):
    survey = read(**changed("chorizon", 0, hzdepb_r=bottom))
    assert "111" not in set(survey.horizons["chkey"])
    assert texts(survey) == [
        "1 soil layers have no thickness (bottom not below top): left out (111)."
    ]


def test_texture_that_does_not_add_up_is_noted_and_kept(read):
    survey = read(**changed("chorizon", 0, sandtotal_r=80))
    assert row(survey.horizons, chkey="111")["sand_pct"] == 80
    assert texts(survey) == [
        "Sand, silt and clay of 1 soil layers do not add up to 100 percent (111); kept as the "
        "survey has them."
    ]


def test_the_shallowest_restriction_counts_and_bedrock_may_be_a_layer(read):
    rock = read(**changed("chorizon", 3, hzname="2R", hzdept_r=25))
    found = row(rock.components, cokey="21")
    assert (found["restriction_kind"], found["restriction_depth_cm"]) == ("Lithic bedrock", 25)


def test_the_surveys_own_word_goes_before_the_name_of_a_layer(read):
    survey = read(**changed("chorizon", 3, hzname="Cr", hzdept_r=43))
    assert row(survey.components, cokey="21")["restriction_kind"] == "Abrupt textural change"


def test_a_bedrock_layer_without_a_bottom_still_stops_roots(read):
    survey = read(**changed("chorizon", 1, hzname="Cr", hzdepb_r=None))
    assert row(survey.components, cokey="11")["restriction_kind"] == "Paralithic bedrock"
    assert row(survey.components, cokey="11")["restriction_depth_cm"] == 20


def test_a_restriction_without_a_depth_is_named(read):
    table = tables()["corestrictions"].iloc[:1].assign(resdept_r=None)
    found = row(read(corestrictions=table).components, cokey="21")
    assert found["restriction_kind"] == "Fragipan"
    assert math.isnan(found["restriction_depth_cm"])


def test_ground_that_was_not_mapped_is_not_known(read):
    survey = read(**changed("component", 2, compname="NOTCOM", compkind="Miscellaneous area"))
    assert set(survey.components["mukey"]) == {"1"}
    assert sorted(survey.map_units["mukey"]) == ["1", "2"]
    assert texts(survey) == [
        "1 of 2 map units have no soils in the survey's tables: Ho (mukey 2). That ground is not "
        "known."
    ]


def test_map_units_of_the_tables_alone_are_left_out(read):
    survey = read(polygons().iloc[:1])
    assert survey.components["cokey"].tolist() == ["11", "12"]
    assert set(survey.horizons["cokey"]) == {"11", "12"}
    assert texts(survey) == ["1 map units of the tables are not on the soil map: left out."]


def test_map_units_without_a_name(read):
    survey = read(mapunit=tables()["mapunit"].iloc[:1])
    assert survey.map_units["muname"].tolist() == ["Sand, 0 to 2 percent", None]
    assert survey.map_units["musym"].tolist() == ["Sa", "Ho"]  # the map has the symbol itself
    assert texts(survey) == [
        "1 map units are not in the table mapunit (2): their names are not known."
    ]


def test_shares_that_are_blank_or_add_up_to_too_much_are_noted(read):
    table = tables()["component"].assign(comppct_r=[95, 10, None])
    survey = read(component=table)
    assert math.isnan(row(survey.components, cokey="21")["comppct_pct"])
    assert texts(survey) == [
        "1 soil components have no share of their map unit: it is not known. (21)",
        "The soils of 1 map units add up to more than 100 percent (1); shares were scaled.",
    ]


def test_a_component_without_layers_is_noted(read):
    survey = read(chorizon=tables()["chorizon"].iloc[:3])
    assert texts(survey) == [
        "1 components have no layers in the survey: texture, pH, water not known (21)."
    ]


def test_real_depressional_soil_ponds_from_march_to_november():
    """By eye in cmonth.txt: Sperry, components 20456971 (122) and 20456855 (279)."""
    survey = read_soil_survey(real("soil_survey_export"))
    assert survey.layout == "survey export"
    assert sorted(set(survey.map_units["musym"])) == ["122", "279", "779"]
    assert len(survey.map_units) == 9
    assert len(survey.components) == 7
    assert len(survey.horizons) == 49
    assert len(survey.months) == 84
    ponded = survey.months[survey.months["pond_frequency"] == "frequent"]
    by_soil = {key: group["month"].tolist() for key, group in ponded.groupby("cokey")}
    assert by_soil == {"20456971": list(range(3, 12)), "20456855": list(range(3, 12))}
    assert set(ponded.loc[ponded["cokey"] == "20456971", "pond_duration"]) == {"brief"}
    assert set(ponded.loc[ponded["cokey"] == "20456855", "pond_duration"]) == {"long"}
    assert set(ponded["pond_depth_cm"]) == {15.0}
    assert set(ponded["water_table_cm"]) == {0.0}
    # In winter the column is blank, which is not the class "None".
    sperry = survey.months[survey.months["cokey"].isin(by_soil)]
    winter = sperry[~sperry.index.isin(ponded.index)]
    assert sorted(winter["month"]) == [1, 1, 2, 2, 12, 12]
    assert winter["pond_frequency"].isna().all()
    assert set(survey.months["flood_frequency"]) == {"none"}
    # Mahaska 20456853, csmoist.txt: wet from 122 cm in September, from 30 cm in April.
    mahaska = survey.months[survey.months["cokey"] == "20456853"].set_index("month")
    assert (mahaska.loc[9, "water_table_cm"], mahaska.loc[4, "water_table_cm"]) == (122, 30)
    wettest = row(survey.components, cokey="20456971")
    assert (wettest["drainage_class"], wettest["phase"]) == ("very poorly", "depressional")
    assert (wettest["restriction_kind"], wettest["restriction_depth_cm"]) == (
        "Abrupt textural change",
        43.0,
    )
    assert row(survey.components, cokey="20456830")["phase"] == "DRAINED"
    # The survey lists 0-203 cm of this soil as wet beside a moist layer, in all months but April.
    assert [note.text for note in survey.notes] == [
        "In 11 rows of months (component 20456971) the survey lists the same depth as wet and as "
        "moist or dry: the wetter reading was taken."
    ]


def test_none_is_a_class_in_a_file_of_text(tmp_path):
    survey = read_soil_survey(write_export(tmp_path / "zz001", polygons(), tables()))
    assert survey.months["pond_frequency"].tolist() == ["none", None, "frequent"]
