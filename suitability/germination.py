"""Will there be a stand? By survey rule: crusting, slope and texture of the topsoil."""

import pandas as pd

from suitability.crust import crust_index
from suitability.derived import Derived
from suitability.ground import Ground
from suitability.layering import layer_mean
from suitability.texture import texture_class

NAME = "germination"
KEYS = ("surface_texture",)  # without these nothing is known


def derive(ground: Ground) -> list[Derived]:
    """Factors of this question for each part."""
    parts = ("silt_fine_pct", "silt_coarse_pct", "clay_pct", "om_pct")
    means = layer_mean(ground.horizons, parts, 0, 5)
    index = crust_index(*(ground.by_component(means[part]) for part in parts))
    return [
        Derived("surface_texture", surface_texture(ground)),
        Derived("crust_index", pd.Series(index, index=ground.parts.index)),
        Derived("slope_pct", ground.parts["slope_pct"]),
    ]


def surface_texture(ground: Ground) -> "pd.Series[str]":
    """USDA class of the 0-5 cm layer of each part."""
    means = layer_mean(ground.horizons, ("sand_pct", "silt_pct", "clay_pct"), 0, 5)
    shares = (ground.by_component(share) for _, share in means.items())
    return pd.Series(texture_class(*shares), index=ground.parts.index, dtype=object)
