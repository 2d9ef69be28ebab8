"""Which parts judge a field, and what of it stays out."""

from dataclasses import dataclass

import pandas as pd

from suitability.crop import Crop
from suitability.field_quality import part_quality
from suitability.ground import PART_KEYS, Ground
from suitability.wet_units import Shares, share_out


@dataclass(frozen=True)
class Counted:
    """``parts`` has PART_KEYS, ``area_ha`` and the class code of each quality by survey rule."""

    parts: pd.DataFrame
    shares: Shares


def counted(ground: Ground, findings: pd.DataFrame, crop: Crop) -> Counted:
    """The sowable ground of each field, or all its soil where the field is too wet to sow."""
    quality = part_quality(findings, crop)
    shares = share_out(ground, quality, findings, crop)
    table = ground.parts[[*PART_KEYS, "area_ha"]].set_index(PART_KEYS).join(quality)
    too_wet = shares.too_wet.reindex(table.index.get_level_values("field_id")).to_numpy()
    wet = shares.state.isin(["wet placed", "wet unplaced"])
    kept = (shares.state == "sowable") | (wet & too_wet)
    return Counted(table[kept.reindex(table.index).to_numpy()].reset_index(), shares)
