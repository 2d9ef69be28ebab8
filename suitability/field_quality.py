"""The class of a part in each question, and the class that governs a field."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.columns import CLASSES, QUALITIES
from suitability.crop import Crop
from suitability.findings import QUESTIONS
from suitability.ground import PART_KEYS

_CODES = {klass: code for code, klass in enumerate(CLASSES)}


def part_quality(findings: pd.DataFrame, crop: Crop) -> pd.DataFrame:
    """Class code of every part in every question: the worst of its known factors.

    A question of which no key factor is known is not known (-1), whatever the others say.

    Returns
    -------
    DataFrame indexed by the part keys with a column of codes for each quality.
    """
    by_part = findings.groupby(PART_KEYS)
    part, index = by_part.ngroup().to_numpy(), by_part.size().index
    code = findings["suitability_class"].map(_CODES).fillna(-1).to_numpy(dtype=int)
    result = {}
    for question in QUESTIONS:
        mine = (findings["quality"] == question.NAME).to_numpy()
        keyed = mine & findings["factor"].isin(question.KEYS).to_numpy()
        worst, known = np.full((2, len(index)), -1)
        np.maximum.at(worst, part[mine], code[mine])
        np.maximum.at(known, part[keyed], code[keyed])
        top = _CODES[crop.worst.get(question.NAME, CLASSES[-1])]
        result[question.NAME] = np.where(known >= 0, np.minimum(worst, top), -1)
    return pd.DataFrame(result, index=index)


def field_quality(sown: pd.DataFrame, findings: pd.DataFrame, crop: Crop) -> pd.DataFrame:
    """The class that governs each field in each quality, and the factor behind it.

    Parameters
    ----------
    sown : the parts that count, with PART_KEYS, ``area_ha`` and a code for each quality.
    findings : FINDINGS table.

    Returns
    -------
    DataFrame indexed by quality and field_id: ``code``, the worst class that more than
    ``policy.field_fails_pct`` of the known ground falls into or below, -1 where less than
    ``policy.least_soil_cover_pct`` of it is known; ``factor``, ``value``, ``value_text`` and
    ``score`` of the factor that governs most of the ground in that class, and ``share_pct``, the
    share of the known ground that it governs.
    """
    ids = pd.Index(sown["field_id"].unique(), name="field_id").sort_values()
    field = ids.get_indexer(sown["field_id"])

    def area_ha(here: NDArray[np.bool_]) -> NDArray[np.float64]:
        ha = np.zeros(len(ids))
        sums = sown["area_ha"][here].groupby(field[here]).sum()
        ha[sums.index] = sums
        return ha

    most = crop.number("policy.field_fails_pct") / 100
    least_ha = crop.number("policy.least_soil_cover_pct") / 100 * area_ha(field >= 0)
    codes, known_ha, speaking = {}, {}, {}
    for quality in QUALITIES:
        of_part = sown[quality].to_numpy(dtype=float)
        known = area_ha(of_part >= 0)
        of_field = np.zeros(len(ids), dtype=int)
        for level in range(1, len(CLASSES)):
            of_field[area_ha(of_part >= level) > most * known] = level
        # The class itself may stand nowhere: 6 % S3 with 6 % N make S3. Then the worse speaks.
        speaks = (of_part >= 0) & (of_part >= of_field[field])
        nearest = np.full(len(ids), np.inf)
        np.minimum.at(nearest, field[speaks], of_part[speaks])
        speaking[quality] = sown[speaks & (of_part == nearest[field])]
        codes[quality] = pd.Series(np.where(known >= least_ha, of_field, -1), ids)
        known_ha[quality] = pd.Series(known, ids)
    names = ["quality", "field_id"]
    result = pd.DataFrame({"code": pd.concat(codes, names=names)})
    return result.join(_governing(findings, speaking, pd.concat(known_ha, names=names)))


def _governing(
    findings: pd.DataFrame, speaking: dict[str, pd.DataFrame], known_ha: "pd.Series[float]"
) -> pd.DataFrame:
    """The worst factor of these parts that holds on most ground, with its largest part's value.

    Where nothing is wrong, a key factor speaks rather than a by-the-way one.
    """
    parts = [
        rows[[*PART_KEYS, "area_ha"]].assign(quality=quality, code=rows[quality])
        for quality, rows in speaking.items()
    ]
    numbered = pd.concat(parts, ignore_index=True).reset_index(names="part")
    table = findings.merge(numbered, on=["quality", *PART_KEYS])
    of_key = np.zeros(len(table), dtype=bool)
    for question in QUESTIONS:
        of_key |= (table["quality"] == question.NAME) & table["factor"].isin(question.KEYS)
    table = table[table["score"].notna() & ((table["code"] > 0) | of_key)]
    worst = table[table["score"] == table.groupby("part")["score"].transform("max")]
    names = ["quality", "field_id"]
    weight = worst.groupby([*names, "factor"])["area_ha"].sum().reset_index()
    chosen = weight.sort_values("area_ha", kind="stable").groupby(names).tail(1)
    rows = worst.merge(chosen[[*names, "factor"]], on=[*names, "factor"])
    last = rows.sort_values("area_ha", kind="stable").groupby(names).tail(1).set_index(names)
    share = 100 * chosen.set_index(names)["area_ha"] / known_ha
    last["share_pct"] = share.reindex(last.index).clip(upper=100)
    return last[["factor", "value", "value_text", "score", "share_pct"]]
