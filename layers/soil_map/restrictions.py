"""How deep the first layer lies that stops roots or water, and what kind it is."""

import re

import pandas as pd

from layers.soil_map import cells
from suitability.columns import COMPONENTS
from suitability.notes import Note

_CONTRACT = {column.name: column for column in COMPONENTS}

# Horizon names begin with the master letter, behind a digit where the parent material changes:
# R is hard bedrock, Cr soft bedrock. The words are the survey's own for such restrictions.
_BEDROCK = ((r"^\d*R", "Lithic bedrock"), (r"^\d*Cr", "Paralithic bedrock"))


def shallowest_restriction(
    corestrictions: pd.DataFrame, chorizon: pd.DataFrame, cokeys: set[str]
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    """Kind and depth of the shallowest restriction of each component in ``cokeys``.

    Parameters
    ----------
    corestrictions : raw table. Every kind counts: each is listed because it stops roots or water,
        an abrupt change of texture included.
    chorizon : raw table; a layer named as bedrock counts as well, for surveys that do not list it.

    Returns
    -------
    Table with cokey (unique), restriction_kind, restriction_depth_cm [cm, NaN where the survey
    names a kind without a depth]; faults (values that are no numbers); notes.
    """
    told, faults, notes = _depths(corestrictions, "resdept_r", cokeys)
    told["restriction_kind"] = cells.texts(corestrictions, "reskind")
    layers, _, _ = _depths(chorizon, "hzdept_r", cokeys)
    layer_names = cells.texts(chorizon, "hzname").reindex(layers.index)
    candidates = [told[told["restriction_kind"].notna()]]
    for pattern, kind in _BEDROCK:
        is_rock = [bool(name) and re.match(pattern, name) is not None for name in layer_names]
        candidates.append(layers[is_rock].assign(restriction_kind=kind))
    every = pd.concat([table for table in candidates if len(table)] or [told.iloc[:0]])
    # Stable: at one depth the survey's own word goes before the name of a layer.
    ranked = every.sort_values("restriction_depth_cm", kind="stable", na_position="last")
    return ranked.drop_duplicates("cokey").reset_index(drop=True), faults, notes


def _depths(
    raw: pd.DataFrame, column: str, cokeys: set[str]
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    mine = raw[cells.keys(raw, "cokey").isin(cokeys)]
    depths, faults, notes = cells.numbers(mine, {"restriction_depth_cm": column}, _CONTRACT)
    return depths.assign(cokey=cells.keys(mine, "cokey")), faults, notes
