"""Which parts of a field can be sown: water, mapped wet ground and unplaced wet soil apart."""

from dataclasses import dataclass

import pandas as pd

from suitability.columns import CLASSES
from suitability.crop import Crop
from suitability.ground import PART_KEYS, Ground

_N = CLASSES.index("N")


@dataclass(frozen=True)
class Shares:
    """How a field's ground divides.

    ``state`` of each part (indexed by part keys): ``sowable``, ``water``, ``not soil``,
    ``wet placed`` (a map unit full of wet soil, so the soil map shows where) or ``wet unplaced``.
    ``by_field``: hectares of ``not_sowable_ha``, of it ``water_ha``, then ``wet_unplaced_ha`` and
    the rest ``sown_ha``.
    ``too_wet``: fields of which too little can be sown. ``wet_units``: the placed map units.
    """

    state: "pd.Series[str]"
    by_field: pd.DataFrame
    too_wet: "pd.Series[bool]"
    wet_units: pd.DataFrame


def share_out(ground: Ground, quality: pd.DataFrame, findings: pd.DataFrame, crop: Crop) -> Shares:
    """Divide the parts of each field.

    Parameters
    ----------
    ground : the parts. quality : their codes (``field_quality.part_quality``).
    findings : FINDINGS table, for the cause of wetness.
    """
    parts = ground.parts.set_index(PART_KEYS)
    code = quality["waterlogging"].reindex(parts.index).fillna(-1)
    wet = (code == _N) & (parts["kind"] == "soil")
    unit = ["field_id", "mukey"]
    wet_ha = parts["area_ha"].where(wet, 0.0).groupby(unit).sum()
    unit_ha = parts["area_ha"].groupby(unit).sum()
    full = 100 * wet_ha / unit_ha >= crop.number("policy.wet_unit_pct")
    in_full = full.reindex(parts.index.droplevel([2, 3, 4])).to_numpy(dtype=bool)
    state = pd.Series("sowable", index=parts.index)
    state = state.mask(wet, "wet unplaced").mask(in_full, "wet placed")
    for kind in ("water", "not soil"):
        state = state.mask(parts["kind"] == kind, kind)
    by_state = parts["area_ha"].groupby([parts.index.get_level_values("field_id"), state]).sum()
    columns = ["sowable", "water", "not soil", "wet placed", "wet unplaced"]
    ha = by_state.unstack(fill_value=0.0).reindex(columns=columns, fill_value=0.0)
    by_field = pd.DataFrame(
        {
            "not_sowable_ha": ha["water"] + ha["not soil"] + ha["wet placed"],
            "water_ha": ha["water"],
            "wet_unplaced_ha": ha["wet unplaced"],
            "sown_ha": ha["sowable"],
        }
    )
    dry_pct = 100 * ha["sowable"] / (ha.sum(axis=1) - ha["water"])
    too_wet = ~(dry_pct >= crop.number("policy.leave_out_share_pct"))
    return Shares(state, by_field, too_wet, _wet_units(parts, state, findings))


def _wet_units(
    parts: pd.DataFrame, state: "pd.Series[str]", findings: pd.DataFrame
) -> pd.DataFrame:
    placed = parts[state == "wet placed"].reset_index()
    n = findings[(findings["quality"] == "waterlogging") & (findings["suitability_class"] == "N")]
    ponded = n[n["factor"] == "ponding"][PART_KEYS].assign(cause="ponded")
    placed = placed.merge(ponded, on=PART_KEYS, how="left").sort_values("area_ha")
    largest = placed.groupby(["field_id", "mukey"]).tail(1)
    units = largest[["field_id", "mukey", "cause", "compname"]].sort_values(["field_id", "mukey"])
    return units.assign(cause=units["cause"].fillna("water table")).reset_index(drop=True)
