"""Which soils of a map unit lie on ground that heights can show: its hollows and drainageways."""

import re

import pandas as pd

from layers.soil_map.combine import component_shares
from suitability.columns import DRAINAGE_CLASSES
from suitability.published import table

_WET_FROM = DRAINAGE_CLASSES.index("poorly")


def ground_rules() -> pd.DataFrame:
    """``tables/inclusion_ground.csv`` by ground: which cells each kind of soil may be placed on."""
    return table("inclusion_ground").set_index("ground")


def inclusions(components: pd.DataFrame) -> pd.DataFrame:
    """Soils that can be placed within their map unit, the wettest of a unit first.

    Parameters
    ----------
    components : COMPONENTS table.

    Returns
    -------
    Table with mukey, cokey, share_frac [frac of the unit's soils], ground (``ground_rules``).

    Notes
    -----
    Never the soil with the largest share: it is the unit. A soil on the same kind of ground as
    that one is told from it only where it is wetter by drainage class.
    """
    soils = component_shares(components).dropna(subset="share_frac")
    soils = soils.merge(components.drop(columns="mukey"), on="cokey", how="left")
    columns = ["mukey", "cokey", "share_frac", "ground"]
    if not len(soils):
        return pd.DataFrame({c: pd.Series(dtype=object) for c in columns})
    rank = {name: i for i, name in enumerate(DRAINAGE_CLASSES)}
    soils["drainage"] = soils["drainage_class"].map(rank).astype(float)
    soils["ground"] = _ground(soils)
    soils = soils.sort_values(["mukey", "share_frac", "cokey"], ascending=[True, False, True])
    main = soils.drop_duplicates("mukey").set_index("mukey")
    same = soils["ground"] == soils["mukey"].map(main["ground"])
    wetter = soils["drainage"] > soils["mukey"].map(main["drainage"])
    lesser = soils["mukey"].duplicated() & (soils["share_frac"] > 0)
    placed = soils[lesser & soils["ground"].notna() & (~same | wetter)]
    order = list(ground_rules().index)
    placed = placed.assign(order=placed["ground"].map(order.index))
    placed = placed.sort_values(
        ["mukey", "drainage", "order", "cokey"], ascending=[True, False, True, True]
    )
    return placed[columns].reset_index(drop=True)


def _ground(soils: pd.DataFrame) -> "pd.Series[str]":
    phase, landform = (soils[c].astype(object).fillna("") for c in ("phase", "landform"))
    said = (phase + " " + landform).astype(str)
    wet = soils["hydric"].eq(True).fillna(False).astype(bool) | (soils["drainage"] >= _WET_FROM)
    ground = pd.Series(None, index=soils.index, dtype=object).mask(wet, "wet")
    for name, words in reversed(list(ground_rules()["words"].dropna().items())):
        found = said.str.contains(rf"\b(?:{words})s?\b", flags=re.IGNORECASE, regex=True)
        ground = ground.mask(found, name)
    return ground
