"""Crop files: each loads, each fault is named, each limit has a source."""

import pytest

from suitability.crop import crop_names, load_crop, parse_crop
from suitability.errors import CropFileError
from suitability.factors import FACTORS
from suitability.units import unit_of

GOOD = """
[crop]
name = "Test"
scientific_name = "Testa testa"
[germination.slope_pct.max]
good = { value = 5.0, basis = "published", source = "a" }
fair = { value = 12.0, basis = "published", source = "a" }
poor = { value = 20.0, basis = "judgement", source = "a" }
[waterlogging.drainage_class.classes]
S1 = ["well"]
N = ["very poorly"]
basis = "judgement"
source = "a"
[inoculation.soil_ph.min]
good = { value = 5.5, basis = "published", source = "a" }
fair = { value = 5.0, basis = "published", source = "a" }
poor = { value = 4.7, basis = "judgement", source = "a" }
[season.gap_d.min]
good = { value = 90.0, basis = "published", source = "a" }
fair = { value = 60.0, basis = "published", source = "a" }
poor = { value = 45.0, basis = "published", source = "a" }
[sources]
a = "A source"
"""


@pytest.mark.parametrize("name", crop_names())
def test_each_shipped_crop_loads_with_units_bases_and_sources(name):
    crop = load_crop(name)
    assert crop.limits
    for limit in crop.limits:
        assert crop.sources[limit.source]
        assert limit.basis in ("published", "computed", "judgement")
        assert limit.unit == (
            FACTORS[limit.factor].unit if limit.factor in FACTORS else unit_of(limit.factor)
        )


def test_a_good_file_parses():
    crop = parse_crop("test", GOOD)
    assert crop.of("waterlogging")[0].classes == {"well": "S1", "very poorly": "N"}
    assert [b.poor.value for b in crop.of("season")[0].bounds] == [45.0]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            'good = { value = 5.0, basis = "published", source = "a" }',
            "good = 5.0",
            "germination.slope_pct.max.good: needs { value = number",
        ),
        (
            'basis = "judgement", source = "a" }\n[waterlogging',
            'basis = "hearsay", source = "a" }\n[waterlogging',
            "slope_pct.max.poor: basis 'hearsay' must be one of published, computed, judgement",
        ),
        (
            'value = 5.0, basis = "published", source = "a"',
            'value = 5.0, basis = "published", source = "b"',
            "germination.slope_pct.max.good: source 'b' is not in [sources]",
        ),
        (
            "value = 12.0",
            "value = 2.0",
            "germination.slope_pct.max: good, fair, poor must rise, got [5.0, 2.0, 20.0]",
        ),
        (
            "value = 60.0",
            "value = 100.0",
            "season.gap_d.min: good, fair, poor must fall, got [90.0, 100.0, 45.0]",
        ),
        (
            "[season.gap_d.min]",
            "[season.moon_phase.min]",
            "season.moon_phase: add this factor to suitability/factors.py first",
        ),
        (
            'S1 = ["well"]',
            'S1 = ["soggy"]',
            "waterlogging.drainage_class.classes: 'soggy' is not a known drainage_class",
        ),
        ('S1 = ["well"]', 'S1 = ["well", "very poorly"]', "'very poorly' stands in two classes"),
        ('N = ["very poorly"]', 'S9 = ["very poorly"]', "'S9' is not one of S1, S2, S3, N"),
        ('scientific_name = "Testa testa"', "", "crop.scientific_name is missing"),
        ("[season.gap_d.min]", "[seasons.gap_d.min]", "seasons: not a known table of a crop file"),
        ("[crop]", "[crop", "is not valid TOML"),
    ],
)
def test_each_fault_is_named(old, new, said):
    assert old in GOOD
    with pytest.raises(CropFileError) as error:
        parse_crop("test", GOOD.replace(old, new))
    assert said in str(error.value)


def test_all_faults_come_at_once():
    text = GOOD.replace("value = 12.0", "value = 2.0").replace("value = 60.0", "value = 100.0")
    with pytest.raises(CropFileError) as error:
        parse_crop("test", text)
    assert "must rise" in str(error.value) and "must fall" in str(error.value)


def test_an_unknown_crop_lists_the_known_ones():
    with pytest.raises(CropFileError, match="Known crops: sunn_hemp"):
        load_crop("kudzu")
