"""How a field was judged, limit by limit: what was found, on how much ground, against what."""

from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.report_table import Table
from maps.sentences import Teller
from suitability.columns import CLASSES
from suitability.crop import Bound, Crop, Factor

_PART = ["field_id", "mukey", "cokey", "position", "drained"]
_MOST_VALUES = 4


def limits_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """What was looked at, what was found with its class, the limit and what that rests on.

    Returns
    -------
    A row for each factor of the crop file that has findings on the field; None without findings.
    """
    findings = assessment.findings[assessment.findings.field_id == field_id]
    if findings.empty:
        return None
    found = with_share(findings, assessment.parts)
    words = teller.words
    rows = []
    for factor in assessment.crop.factors:
        here = found[(found.quality == factor.quality) & (found.factor == factor.name)]
        if len(here):
            seen = _seen(here, factor.name, teller)
            rows.append(
                (
                    words(f"factor_name.{factor.name}"),
                    "\n".join(seen),
                    _limit(factor, set(here.suitability_class.dropna()), teller),
                    _basis(factor, assessment.crop, words),
                )
            )
    heads = ("looked_at", "found", "limit", "rests_on")
    return Table(tuple(words(f"report.head.{h}") for h in heads), tuple(rows), (2.8, 4, 4, 2))


def with_share(findings: pd.DataFrame, parts: pd.DataFrame) -> pd.DataFrame:
    """Findings with ``share_pct``, the share of the field's surveyed ground their part has."""
    areas = parts.assign(drained=parts.drained.astype(bool))[[*_PART, "area_ha"]]
    total = areas.groupby("field_id").area_ha.transform("sum")
    areas = areas.assign(share_pct=100 * areas.area_ha / total)
    keyed = findings.assign(drained=findings.drained.astype(bool))
    return keyed.merge(areas, on=_PART, how="left")


def source_numbers(crop: Crop) -> dict[str, int]:
    """The number a source of the crop file goes by in the report, from 1."""
    return {key: n for n, key in enumerate(crop.sources, start=1)}


def _seen(here: pd.DataFrame, factor: str, teller: Teller) -> list[str]:
    unknown = teller.words("word.not_known")
    shown = [
        quantity(teller, factor, value, text)
        for value, text in zip(here.value, here.value_text, strict=True)
    ]
    table = here.assign(
        shown=[text or unknown for text in shown],
        klass=here.suitability_class.fillna("").astype(str),
        origin=here.origin.fillna("").astype(str),
    )
    lines = []
    shares = table.groupby(["klass", "shown", "origin"], sort=False).share_pct.sum()
    groups = [(*map(str, key), share) for key, share in shares.items()]
    for klass, text, origin, share in sorted(groups, key=lambda g: (_gravity(g[0]), -g[3])):
        where = teller.words("report.on_share", pct=teller.legend.pct(share)) if share > 0 else ""
        whose = teller.words("report.yours") if origin in ("grower", "farm file") else ""
        line = " ".join(t for t in (text, where, whose) if t)
        lines.append(f"{klass}: {line}" if klass else line)
    if len(lines) > _MOST_VALUES:
        rest = len(lines) - _MOST_VALUES
        lines = [*lines[:_MOST_VALUES], teller.words("report.more_values", n=rest)]
    return lines


def quantity(teller: Teller, factor: str, value: float, text: Any = None) -> str:
    """A factor's value with its unit, short enough for a table; empty where not known."""
    shown = teller.value(factor, value, text)
    key = f"report.quantity.{factor}"
    return teller.words(key, value=shown) if shown and teller.words.has(key) else shown


def _gravity(klass: str) -> int:
    return len(CLASSES) - CLASSES.index(klass) if klass in CLASSES else len(CLASSES) + 1


def _limit(factor: Factor, classes: set[str], teller: Teller) -> str:
    if factor.bounds:
        return "\n".join(_bound(factor.name, bound, teller) for bound in factor.bounds)
    lists: dict[str, list[str]] = {}
    for text, klass in factor.classes.items():
        lists.setdefault(klass, []).append(text)
    return "\n".join(f"{k}: {', '.join(lists[k])}" for k in CLASSES if k in classes and k in lists)


def _bound(name: str, bound: Bound, teller: Teller) -> str:
    good, fair, poor = (
        quantity(teller, name, level.value) for level in (bound.good, bound.fair, bound.poor)
    )
    return teller.words(f"report.limit_{bound.side}", good=good, fair=fair, poor=poor)


def _basis(factor: Factor, crop: Crop, words: Any) -> str:
    values = [level for b in factor.bounds for level in (b.good, b.fair, b.poor)]
    pairs = [(v.basis, v.source) for v in values] or [(factor.basis, factor.source)]
    numbers = source_numbers(crop)
    by_basis: dict[str, set[int]] = {}
    for basis, source in pairs:
        by_basis.setdefault(basis, set()).add(numbers[source])
    return "\n".join(
        f"{words(f'report.basis.{basis}')} [{', '.join(str(n) for n in sorted(cited))}]"
        for basis, cited in by_basis.items()
    )
