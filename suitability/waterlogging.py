"""Does it stand too wet in the gap? By survey rule: water table, ponding, flooding, drainage."""

import pandas as pd

from suitability.columns import DRAINAGE_CLASSES
from suitability.derived import Derived
from suitability.gap import gap_months
from suitability.ground import Ground
from suitability.layering import slowest_ksat_um_s
from suitability.wet_months import wet_months

NAME = "waterlogging"
KEYS = ("water_table_cm", "drainage_class")


def derive(ground: Ground) -> list[Derived]:
    """Factors of this question for each part.

    The drainage class speaks only where the survey lists no water table for the gap, and for
    ground the grower drains: there it is taken one class drier and the survey's water table, which
    is that of undrained ground, is set aside.
    """
    parts = ground.parts
    wet = _by_gap(ground)
    drained = parts["drained"].astype(bool)
    table = wet["water_table_cm"].mask(drained)
    drainage = _one_class_drier(parts["drainage_class"]).where(drained, parts["drainage_class"])
    drier = pd.Series("survey", index=parts.index).mask(drained, "grower")
    return [
        Derived("water_table_cm", table),
        Derived("drainage_class", drainage.where(table.isna()), drier),
        Derived("ponding", _or_phase(wet["ponding"], parts["phase"], "ponded")),
        Derived("flooding", _or_phase(wet["flooding"], parts["phase"], "flooded")),
        Derived("ksat_um_s", ground.by_component(slowest_ksat_um_s(ground.horizons, 0, 50))),
        Derived("restriction_depth_cm", parts["restriction_depth_cm"]),
    ]


def _or_phase(by_month: "pd.Series[str]", phase: "pd.Series[str]", event: str) -> "pd.Series[str]":
    return by_month.where(by_month.notna(), phase_event(phase, event))


def phase_event(phase: "pd.Series[str]", event: str) -> "pd.Series[str]":
    """Frequency that a soil's phase names, such as ``occasionally flooded``; None without one.

    It speaks where the survey has no row for the months: it is the odds of the whole year.
    """
    found = phase.astype(object).astype(str).str.lower().str.extract(rf"(\w+(?: \w+)?)ly {event}")
    words = {"rare": "rare", "very rare": "very rare", "occasional": "occasional"}
    words |= {"frequent": "frequent", "very frequent": "very frequent"}
    return found[0].str.strip().map(words).astype(object)


def _one_class_drier(drainage: "pd.Series[str]") -> "pd.Series[str]":
    drier = {c: DRAINAGE_CLASSES[max(i - 1, 0)] for i, c in enumerate(DRAINAGE_CLASSES)}
    return drainage.map(drier).astype(object)


def _by_gap(ground: Ground) -> pd.DataFrame:
    """Wet months of each part, looked up once for all gaps that share their months."""
    parts = ground.parts
    wet: dict[tuple[int, ...], pd.DataFrame] = {}
    found = []
    for (opens, closes), cokey in parts.groupby(["gap_opens", "gap_closes"], sort=False)["cokey"]:
        months = gap_months(str(opens), str(closes))
        if months not in wet:
            wet[months] = wet_months(ground.months, months)
        found.append(wet[months].reindex(cokey).set_axis(cokey.index))
    columns = ["water_table_cm", "ponding", "flooding"]
    if not found:
        empty = pd.DataFrame(index=parts.index, columns=columns, dtype=object)
        return empty.astype({"water_table_cm": float})
    return pd.concat(found).reindex(parts.index)
