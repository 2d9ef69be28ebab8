"""Colours stay apart for colour-blind eyes and on a grey printer."""

import itertools

import numpy as np
import pytest

from maps.colours import INK, PAPER, QUIET, RATING, VERDICT, WATER, WATER_PAPER, YEARS
from maps.page import constant_page

# Machado, Oliveira & Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15(6), severity 1.0; acts on
# linear RGB. The values agree with those in the colorspacious library (1.1.2). Each row must sum
# to 1, so that white stays white: tested below.
SIGHT = {
    "normal": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
# IEC 61966-2-1 (sRGB), D65.
_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
_WHITE = _XYZ.sum(axis=1)


def linear(colour: str) -> np.ndarray:
    value = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def lab(rgb_linear: np.ndarray) -> np.ndarray:
    x = _XYZ @ np.clip(rgb_linear, 0, 1) / _WHITE
    f = np.where(x > 216 / 24389, np.cbrt(x), (24389 / 27 * x + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def contrast(one: str, other: str) -> float:
    """Contrast by WCAG 2.2."""
    low, high = sorted(float(_XYZ[1] @ linear(c)) for c in (one, other))
    return (high + 0.05) / (low + 0.05)


VERDICT_FILLS = {name: swatch.fill for name, swatch in VERDICT.items()}
RATING_FILLS = {name or "not known": s.fill for name, s in RATING.items() if name != "N"}


def test_the_ruler_measures_right() -> None:
    assert lab(linear("#FFFFFF")) == pytest.approx([100, 0, 0], abs=0.01)
    # sRGB red in CIELAB D65, as printed in many tables: 53.24, 80.09, 67.20.
    assert lab(linear("#FF0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.05)
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    for matrix in SIGHT.values():
        assert matrix.sum(axis=1) == pytest.approx([1, 1, 1], abs=1e-5)


YEARS_STEPS = {name: swatch.fill for name, swatch in YEARS.items()}


@pytest.mark.parametrize("fills", [VERDICT_FILLS, RATING_FILLS], ids=["verdict", "rating"])
@pytest.mark.parametrize("sight", SIGHT)
def test_steps_stay_apart_for_every_eye(sight: str, fills: dict[str, str]) -> None:
    for one, other in itertools.combinations(fills, 2):
        seen = [lab(SIGHT[sight] @ linear(fills[name])) for name in (one, other)]
        assert np.linalg.norm(seen[0] - seen[1]) >= 25, (sight, one, other)


@pytest.mark.parametrize(
    "fills", [VERDICT_FILLS, RATING_FILLS, YEARS_STEPS], ids=["verdict", "rating", "years"]
)
def test_steps_stay_apart_on_a_grey_printer(fills: dict[str, str]) -> None:
    grey = sorted(lab(linear(fill))[0] for fill in fills.values())
    assert np.diff(grey).min() >= 15


def test_every_step_has_its_own_pattern() -> None:
    assert len({swatch.pattern for swatch in VERDICT.values()}) == 4
    assert VERDICT["sow with care"].pattern == "dots"
    assert VERDICT["leave out"].pattern == "stripes"
    assert len({RATING[c].pattern for c in ("S1", "S2", "S3", "")}) == 4


def test_patterns_show_on_their_ground() -> None:
    for swatch in [*VERDICT.values(), *RATING.values(), *YEARS.values()]:
        if swatch.pattern in ("dots", "stripes"):
            assert contrast(swatch.fill, swatch.mark) >= 3, swatch
    assert contrast(WATER, WATER_PAPER) >= 4.5


def test_more_years_are_darker_for_every_eye() -> None:
    """A ramp: the more years in ten, the darker, and no two neighbours near each other."""
    for matrix in SIGHT.values():
        seen = [lab(matrix @ linear(swatch.fill)) for swatch in YEARS.values()]
        assert np.diff([colour[0] for colour in seen]).min() >= 15


def test_the_strip_has_the_ramp_of_the_map() -> None:
    style = constant_page().style
    for name, swatch in YEARS.items():
        assert f".week i.{name}{{background:{swatch.fill.lower()}}}" in style


def test_blue_is_for_water_only() -> None:
    """Hue within a sixth of the circle about blue (CIELAB hue 270) belongs to water alone."""
    for swatch in [*VERDICT.values(), *RATING.values(), *YEARS.values()]:
        _, a, b = lab(linear(swatch.fill))
        if np.hypot(a, b) > 10:
            hue = np.degrees(np.arctan2(b, a)) % 360
            assert abs(hue - 270) > 60, swatch.fill
    _, a, b = lab(linear(WATER))
    assert abs(np.degrees(np.arctan2(b, a)) % 360 - 270) < 30


def test_words_are_readable() -> None:
    assert contrast(INK, PAPER) >= 15
    assert contrast(QUIET, PAPER) >= 7
