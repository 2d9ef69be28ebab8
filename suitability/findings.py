"""Every factor of every part, compared with its limit: the long table behind each rating."""

from typing import Any

import numpy as np
import pandas as pd

from suitability import germination, inoculation, season, waterlogging
from suitability.columns import CLASSES, FINDINGS
from suitability.contract import names
from suitability.crop import Crop
from suitability.ground import PART_KEYS, Ground
from suitability.rating import rate

QUESTIONS = (germination, waterlogging, inoculation, season)


def find(ground: Ground, crop: Crop) -> pd.DataFrame:
    """The FINDINGS table: one row a part, quality and factor that the crop file has limits for.

    A survey value of a factor in ``crop.survey_worst`` is never rated worse than that class.
    """
    rows = []
    for question in QUESTIONS:
        limits = {factor.name: factor for factor in crop.of(question.NAME)}
        for derived in question.derive(ground):
            if derived.factor not in limits:
                continue
            rated = rate(derived.values, limits[derived.factor])
            codes, scores = _survey_cap(
                rated, derived.origin, crop.survey_worst.get(derived.factor)
            )
            text = bool(limits[derived.factor].classes)
            table = ground.parts[PART_KEYS].assign(
                quality=question.NAME,
                factor=derived.factor,
                value=np.nan if text else derived.values.astype(float),
                value_text=derived.values.astype(object) if text else None,
                suitability_class=[CLASSES[c] if c >= 0 else None for c in codes],
                score=scores,
                origin=derived.origin,
            )
            rows.append(table)
    long = pd.concat(rows, ignore_index=True)
    texts = ["value_text", "suitability_class"]
    long[texts] = long[texts].astype(object).where(long[texts].notna(), None)
    return long[names(FINDINGS)]


def _survey_cap(
    rated: pd.DataFrame, origin: "str | pd.Series[Any]", worst: str | None
) -> tuple["pd.Series[int]", "pd.Series[float]"]:
    if worst is None:
        return rated["code"], rated["score"]
    from_survey = pd.Series(origin, index=rated.index) == "survey"
    top = CLASSES.index(worst)
    capped = from_survey & (rated["code"] > top)
    return rated["code"].mask(capped, top), rated["score"].mask(capped, (top + 1) * 2.5)
