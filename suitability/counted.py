"""Which parts judge a field, and what of it stays out."""

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from suitability.columns import POSITIONS
from suitability.crop import Crop
from suitability.field_quality import part_quality
from suitability.ground import PART_KEYS, Ground
from suitability.wet_units import Shares, share_out


@dataclass(frozen=True)
class Counted:
    """``parts`` has PART_KEYS, ``area_ha`` and the class code of each quality by survey rule.

    ``quality`` are those codes for all parts, counted or not, indexed by the part keys.
    """

    parts: pd.DataFrame
    shares: Shares
    quality: pd.DataFrame


def counted(ground: Ground, findings: pd.DataFrame, crop: Crop) -> Counted:
    """The sowable ground of each field, or all its soil where the field is too wet to sow."""
    quality = part_quality(findings, crop)
    shares = share_out(ground, quality, findings, crop)
    table = ground.parts[[*PART_KEYS, "area_ha"]].set_index(PART_KEYS).join(quality)
    too_wet = shares.too_wet.reindex(table.index.get_level_values("field_id")).to_numpy()
    wet = shares.state.isin(["wet placed", "wet unplaced"])
    kept = (shares.state == "sowable") | (wet & too_wet)
    return Counted(table[kept.reindex(table.index).to_numpy()].reset_index(), shares, quality)


def recounted(
    first: Counted,
    ground: Ground,
    wet_pct: "pd.Series[float]",
    crop: Crop,
    placed: Iterable[str] = (),
    never_wet_pct: "pd.Series[float] | None" = None,
) -> Counted:
    """Count again once wet ground has been drawn.

    Parameters
    ----------
    first : of ``counted``. ground : the parts.
    wet_pct : share of each part within drawn wet ground [pct], indexed by PART_KEYS; a part that
        is not there has none.

    placed : cokeys of soils whose place within their map unit is known, but for what is
        ``unplaced`` of them.
    never_wet_pct : share of each part that would have been drawn, had the grower not marked it as
        never wet [pct], indexed alike.

    Notes
    -----
    What is drawn leaves the sowable ground. Wet soil whose place is known but which was not drawn
    is judged by its years like any other ground; wet soil of unknown place stays named as a share.
    What the grower marked as never wet is sown, and judged by the rest of the field.
    """
    parts = ground.parts.set_index(PART_KEYS)
    wet = wet_pct.reindex(parts.index).fillna(0.0).clip(0, 100) / 100
    state = first.shares.state.reindex(parts.index)
    soil = ~state.isin(["water", "not soil"])
    lies = parts.index.get_level_values("position") != POSITIONS[0]
    lies &= parts.index.get_level_values("cokey").isin(list(placed))
    open_ = state.isin(["sowable", "wet placed"]) | (soil & lies)
    drawn_ha = (parts["area_ha"] * wet).where(soil, 0.0)
    left_ha = parts["area_ha"] - drawn_ha
    field = parts.index.get_level_values("field_id")

    def by_field(values: "pd.Series[float]") -> "pd.Series[float]":
        return values.groupby(field).sum()

    other_ha = by_field(parts["area_ha"].where(~soil, 0.0))
    unplaced_ha = by_field(left_ha.where(soil & ~open_, 0.0))
    sown_ha = by_field(left_ha.where(soil & open_, 0.0))
    water_ha = by_field(parts["area_ha"].where(state == "water", 0.0))
    table = pd.DataFrame(
        {
            "not_sowable_ha": other_ha + by_field(drawn_ha),
            "water_ha": water_ha,
            "wet_unplaced_ha": unplaced_ha,
            "sown_ha": sown_ha,
        }
    )
    dry_pct = 100 * sown_ha / (by_field(parts["area_ha"]) - water_ha)
    too_wet = ~(dry_pct >= crop.number("policy.leave_out_share_pct"))
    shares = Shares(state, table, too_wet, first.shares.wet_units.iloc[:0])
    # A field too wet to sow is judged on all its soil, drawn or not, so that it says why.
    all_of_it = too_wet.reindex(field).to_numpy()
    judged_ha = left_ha
    if never_wet_pct is not None:
        never = never_wet_pct.reindex(parts.index).fillna(0.0).clip(0, 100) / 100
        rest_ha = (left_ha - parts["area_ha"] * never).clip(lower=0.0)
        some = by_field(rest_ha.where(soil & open_, 0.0)).reindex(field).to_numpy() > 0
        judged_ha = rest_ha.where(some, left_ha)
    judged_ha = judged_ha.mask(all_of_it, parts["area_ha"])
    judged = pd.DataFrame({"area_ha": judged_ha}).join(first.quality)
    kept = soil & (open_ | all_of_it) & (judged_ha > 0)
    return Counted(judged[kept.to_numpy()].reset_index(), shares, first.quality)
