"""Soil formulas against printed tables and an independent implementation."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import soiltexture

from suitability.bulk_density import bulk_density_class
from suitability.crust import crust_index
from suitability.layering import layer_mean, slowest_ksat_um_s, vertical_ksat_um_s
from suitability.pedotransfer import saxton_rawls
from suitability.published import source, table
from suitability.texture import TEXTURE_CLASSES, texture_class

PUBLISHED = Path(__file__).parents[1] / "published"
SAXTON = pd.read_csv(PUBLISHED / "saxton_rawls_2006_classes.csv", comment="#")


@pytest.mark.parametrize("row", list(SAXTON.itertuples()), ids=list(SAXTON["texture"]))
def test_saxton_rawls_gives_the_printed_class_values(row):
    water = saxton_rawls(row.sand_pct, row.clay_pct, 2.5)
    assert 100 * water.wilting_frac == pytest.approx(row.wilting_pct, abs=0.05)
    assert 100 * water.field_capacity_frac == pytest.approx(row.capacity_pct, abs=0.05)
    assert 100 * water.saturation_frac == pytest.approx(row.saturation_pct, abs=0.05)
    assert water.ksat_mm_h == pytest.approx(row.ksat_mm_h, abs=0.05)
    assert water.bulk_density_g_cm3 == pytest.approx(row.density_g_cm3, abs=0.005)


def test_compaction_takes_saturation_and_conductivity_down():
    # Sandy loam, density factors 1.1 and 1.2, by equations 7-10 and 16 of the same paper.
    water = saxton_rawls(65, 10, 2.5, np.array([1.1, 1.2]))
    assert water.bulk_density_g_cm3 == pytest.approx([1.60, 1.75], abs=0.005)
    assert water.saturation_frac == pytest.approx([0.395, 0.340], abs=0.0006)
    assert water.field_capacity_frac == pytest.approx([0.168, 0.157], abs=0.0006)
    assert water.ksat_mm_h == pytest.approx([29.9, 15.8], abs=0.06)


def test_texture_agrees_with_an_independent_implementation_over_the_whole_triangle():
    # soiltexture 1.0.4 (package registry), USDA triangle, at points off the borders: on a border
    # the handbook's "or more" decides and polygons do not.
    differing = []
    for clay in np.arange(0.5, 100, 3):
        for sand in np.arange(0.25, 100 - clay, 3):
            ours = str(texture_class(sand, 100 - sand - clay, clay))
            theirs = soiltexture.getTexture(float(sand), float(clay), classification="USDA")
            if ours != theirs:
                differing.append((sand, clay, ours, theirs))
    assert differing == []


@pytest.mark.parametrize(
    ("sand", "silt", "clay", "expected"),
    [
        (30, 40, 30, "clay loam"),  # USDA-NRCS texture guide, worked example
        (92, 5, 3, "sand"),  # Soil Survey Manual: at least 85 sand, silt + 1.5 clay under 15
        (45, 15, 40, "clay"),  # same: clay 40 or more, sand 45 or less, silt under 40
    ],
)
def test_texture_of_printed_examples(sand, silt, clay, expected):
    assert texture_class(sand, silt, clay) == expected


def test_texture_is_not_known_where_a_share_is_missing_or_they_do_not_add_up():
    classes = texture_class([np.nan, 30, 30], [40, 40, 10], [30, 30, 10])
    assert list(classes) == [None, "clay loam", None]


def test_every_texture_has_a_density_limit_and_the_limits_rise():
    limits = table("bulk_density")
    assert set(limits["texture"]) == set(TEXTURE_CLASSES)
    assert (limits["ideal_below_g_cm3"] < limits["affects_g_cm3"]).all()
    assert (limits["affects_g_cm3"] < limits["restricts_above_g_cm3"]).all()
    assert "USDA-NRCS" in source("bulk_density")


def test_bulk_density_against_the_limits_of_its_texture():
    # USDA-NRCS: sandy soils restrict roots above 1.80, silty above 1.65, clayey (> 45 %) 1.47.
    texture = pd.Series(["sand", "sand", "sand", "clay", "silty clay loam", "sand"])
    density = pd.Series([1.55, 1.70, 1.81, 1.48, 1.66, np.nan])
    clay = pd.Series([3.0, 3.0, 3.0, 50.0, 35.0, 3.0])
    classes = bulk_density_class(density, texture, clay)
    assert classes.tolist()[:5] == ["free", "slowed", "stopped", "stopped", "stopped"]
    assert pd.isna(classes[5])


def test_crust_index_by_hand():
    assert crust_index(30, 30, 15, 1.0) == pytest.approx(2.7)  # 67.5 / 25
    assert crust_index(10, 10, 8, 1.5) == pytest.approx(22.5 / 23)
    assert np.isnan(crust_index(30, np.nan, 15, 1.0))
    assert np.isnan(crust_index(30, 30, 0, 0))  # nothing binds: the index has no value


HORIZONS = pd.DataFrame(
    {
        "cokey": ["a", "a", "b"],
        "top_cm": [0, 10, 0],
        "bottom_cm": [10, 60, 3],
        "ph": [6.0, 5.0, 7.0],
        "ksat_um_s": [40.0, 1.0, 0.0],
    }
)


def test_layer_mean_weights_by_thickness_and_needs_half_the_layer():
    mean = layer_mean(HORIZONS, ["ph"], 0, 20)["ph"]
    assert mean["a"] == pytest.approx(5.5)
    assert np.isnan(mean["b"])  # 3 of 20 cm is not a profile
    assert layer_mean(HORIZONS, ["ph"], 0, 5).at["b", "ph"] == 7.0


def test_conductivity_through_layers_is_the_harmonic_mean_and_the_slowest_is_the_least():
    assert slowest_ksat_um_s(HORIZONS, 0, 50)["a"] == 1.0
    assert vertical_ksat_um_s(HORIZONS, 0, 50)["a"] == pytest.approx(50 / (10 / 40 + 40 / 1))
    assert vertical_ksat_um_s(HORIZONS, 0, 3)["b"] == 0.0
