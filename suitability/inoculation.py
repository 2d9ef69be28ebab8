"""How to inoculate: pH, density and texture of the topsoil, and what grew here before."""

import numpy as np
import pandas as pd

from suitability.bulk_density import bulk_density_class
from suitability.columns import CLASSES
from suitability.crop import Crop
from suitability.derived import Derived
from suitability.germination import surface_texture
from suitability.ground import PART_KEYS, Ground
from suitability.layering import layer_mean
from suitability.texture import texture_class

NAME = "inoculation"
KEYS = ("soil_ph",)
INOCULANT_CODES = ("ph", "sand", "unknown_history", "no_recent_legume", "recent_legume")


def derive(ground: Ground) -> list[Derived]:
    """Factors of this question for each part; a soil test or measured compaction comes first."""
    parts = ground.parts
    survey = ground.by_component(layer_mean(ground.horizons, ["ph"], 0, 20)["ph"])
    tested = parts["soil_test_ph"].astype(float)
    measured = parts["compaction"]
    texture = surface_texture(ground)
    return [
        Derived("soil_ph", tested.fillna(survey), _theirs(tested)),
        Derived("bulk_density_class", _density_class(ground).where(measured.isna(), None)),
        Derived("compaction", measured, "grower"),
        Derived("inoculant_texture", texture),
    ]


def inoculant_code(
    legume_last_year: "pd.Series[float]",
    ph_pct: "pd.Series[float]",
    sand_pct: "pd.Series[float]",
    crop: Crop,
    year: int,
) -> "pd.Series[str]":
    """Why each field gets its rate of inoculant; ``recent_legume`` alone means the normal rate.

    Parameters
    ----------
    legume_last_year : last year of a cowpea-group legume, by field; NaN where not known.
    ph_pct : share of its sowable ground whose pH is hard on the bacteria [pct].
    sand_pct : share of it whose topsoil is a class the crop file rates worse than S1 [pct].
    year : year of sowing.
    """
    most = crop.number("policy.field_fails_pct")
    recent = year - legume_last_year <= crop.number("policy.legume_years")
    code = np.select(
        [ph_pct > most, sand_pct > most, legume_last_year.isna(), ~recent],
        INOCULANT_CODES[:4],
        default=INOCULANT_CODES[4],
    )
    return pd.Series(code, index=legume_last_year.index)


def hard_ground_pct(sown: pd.DataFrame, findings: pd.DataFrame, crop: Crop) -> pd.DataFrame:
    """Share of each field's ground whose pH or sand is hard on the bacteria [pct].

    Parameters
    ----------
    sown : the parts that count, with PART_KEYS and ``area_ha``. findings : FINDINGS table.

    Returns
    -------
    DataFrame indexed by field_id with ``ph_pct`` and ``sand_pct``; unknown ground counts as
    neither.
    """
    low, high = crop.number("policy.double_rate_ph_low"), crop.number("policy.double_rate_ph_high")
    hard = {
        "ph_pct": findings[
            (findings["factor"] == "soil_ph")
            & ~findings["value"].between(low, high)
            & findings["value"].notna()
        ],
        "sand_pct": findings[
            (findings["factor"] == "inoculant_texture")
            & findings["suitability_class"].isin(CLASSES[1:])
        ],
    }
    total = sown.groupby("field_id")["area_ha"].sum()
    return pd.DataFrame(
        {
            name: 100
            * sown.merge(rows[PART_KEYS], on=PART_KEYS).groupby("field_id")["area_ha"].sum()
            / total
            for name, rows in hard.items()
        },
        index=total.index,
    ).fillna(0.0)


def _theirs(values: "pd.Series[float]") -> "pd.Series[str]":
    return pd.Series(np.where(values.notna(), "grower", "survey"), index=values.index)


def _density_class(ground: Ground) -> "pd.Series[str]":
    columns = ("sand_pct", "silt_pct", "clay_pct", "bulk_density_g_cm3")
    by_component = layer_mean(ground.horizons, columns, 0, 30)
    means = {column: ground.by_component(by_component[column]) for column in columns}
    shares = (means["sand_pct"], means["silt_pct"], means["clay_pct"])
    texture = pd.Series(texture_class(*shares), index=ground.parts.index, dtype=object)
    return bulk_density_class(means["bulk_density_g_cm3"], texture, means["clay_pct"])
