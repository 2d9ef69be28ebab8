"""The class of a part in each question, and the class that governs a field."""

import pandas as pd

from suitability.columns import CLASSES, QUALITIES
from suitability.crop import Crop
from suitability.findings import QUESTIONS
from suitability.ground import PART_KEYS

_CODES = {klass: code for code, klass in enumerate(CLASSES)}


def coded(findings: pd.DataFrame) -> pd.DataFrame:
    """Findings with ``code``, -1 where a factor is not known."""
    return findings.assign(code=findings["suitability_class"].map(_CODES).fillna(-1).astype(int))


def part_quality(findings: pd.DataFrame, crop: Crop) -> pd.DataFrame:
    """Class code of every part in every question: the worst of its known factors.

    A question of which no key factor is known is not known (-1), whatever the others say.

    Returns
    -------
    DataFrame indexed by the part keys with a column of codes for each quality.
    """
    table = coded(findings)
    result = {}
    for question in QUESTIONS:
        mine = table[table["quality"] == question.NAME]
        worst = mine.groupby(PART_KEYS)["code"].max()
        keyed = mine[mine["factor"].isin(question.KEYS)].groupby(PART_KEYS)["code"].max()
        top = _CODES[crop.worst.get(question.NAME, CLASSES[-1])]
        known = keyed.reindex(worst.index).fillna(-1) >= 0
        result[question.NAME] = worst.clip(upper=top).where(known, -1)
    return pd.DataFrame(result)


def field_quality(
    sown: pd.DataFrame, findings: pd.DataFrame, quality: str, crop: Crop
) -> pd.DataFrame:
    """The class that governs each field in one quality, and the factor behind it.

    Parameters
    ----------
    sown : the parts that count, with PART_KEYS, ``area_ha`` and a code for each quality.
    findings : FINDINGS table.

    Returns
    -------
    DataFrame indexed by field_id: ``code``, the worst class that more than
    ``policy.field_fails_pct`` of the known ground falls into or below, -1 where less than
    ``policy.least_soil_cover_pct`` of it is known; ``factor``, ``value``, ``value_text`` and
    ``score`` of the factor that governs most of the ground in that class, and ``share_pct``, the
    share of the known ground that it governs.
    """
    total = sown.groupby("field_id")["area_ha"].sum()
    known = sown[sown[quality] >= 0]
    known_ha = known.groupby("field_id")["area_ha"].sum().reindex(total.index).fillna(0.0)
    most = crop.number("policy.field_fails_pct") / 100
    code = pd.Series(0, index=total.index)
    for level in range(1, len(CLASSES)):
        bad = known[known[quality] >= level].groupby("field_id")["area_ha"].sum()
        code = code.mask(bad.reindex(total.index).fillna(0.0) > most * known_ha, level)
    # The class itself may stand nowhere: 6 % S3 with 6 % N make S3. Then the worse ground speaks.
    speaking = known[known[quality] >= known["field_id"].map(code).astype(int)]
    nearest = speaking.groupby("field_id")[quality].transform("min")
    speaking = speaking[speaking[quality] == nearest][[*PART_KEYS, "area_ha", quality]]
    enough = known_ha >= crop.number("policy.least_soil_cover_pct") / 100 * total
    result = pd.DataFrame({"code": code.where(enough, -1)})
    mine = findings[findings["quality"] == quality]
    keys = next(question.KEYS for question in QUESTIONS if question.NAME == quality)
    return result.join(_governing(mine, speaking, keys, known_ha))


def _governing(
    findings: pd.DataFrame, speaking: pd.DataFrame, keys: tuple[str, ...], total: "pd.Series[float]"
) -> pd.DataFrame:
    """The worst factor of these parts that holds on most ground, with its largest part's value.

    Where nothing is wrong, a key factor speaks rather than a by-the-way one.
    """
    table = findings.merge(
        speaking.rename(columns=lambda c: "code" if c in QUALITIES else c), on=PART_KEYS
    )
    table = table[table["score"].notna() & ((table["code"] > 0) | table["factor"].isin(keys))]
    worst = table[table["score"] == table.groupby(PART_KEYS)["score"].transform("max")]
    weight = worst.groupby(["field_id", "factor"])["area_ha"].sum().reset_index()
    chosen = weight.sort_values("area_ha", kind="stable").groupby("field_id").tail(1)
    rows = worst.merge(chosen[["field_id", "factor"]], on=["field_id", "factor"])
    last = rows.sort_values("area_ha", kind="stable").groupby("field_id").tail(1)
    last = last.set_index("field_id")
    share = 100 * chosen.set_index("field_id")["area_ha"] / total
    last["share_pct"] = share.reindex(last.index).clip(upper=100)
    return last[["factor", "value", "value_text", "score", "share_pct"]]
