"""How a field was judged, limit by limit: what was found, on how much ground, against what."""

from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.report_table import Table
from maps.sentences import Teller
from maps.words import Words
from suitability.columns import CLASSES, UNSURVEYED
from suitability.crop import Bound, Crop, Factor

# Less unsurveyed ground than this is where two borders do not quite meet.
SLIVER_PCT = 0.05
_PART = ["field_id", "mukey", "cokey", "position", "drained"]


def limits_table(assessment: Assessment, teller: Teller, field_id: str) -> Table | None:
    """What was looked at, what was found with its class, the limit and what that rests on.

    Returns
    -------
    A row for each factor of the crop file that gave a class on the field; None without any.
    """
    findings = assessment.findings[assessment.findings.field_id == field_id]
    if findings.empty:
        return None
    found = with_share(findings, assessment.parts)
    found = found[~((found.mukey == UNSURVEYED) & (found.share_pct < SLIVER_PCT))]
    words = teller.words
    rows = []
    for factor in assessment.crop.factors:
        here = found[(found.quality == factor.quality) & (found.factor == factor.name)]
        if here.suitability_class.notna().any():
            seen = _seen(here, factor.name, teller)
            rows.append(
                (
                    words(f"factor_name.{factor.name}"),
                    "\n".join(seen),
                    _limit(factor, set(here.suitability_class.dropna()), teller),
                    _basis(factor, assessment.crop, words),
                )
            )
    if not rows:
        return None
    heads = ("looked_at", "found", "limit", "rests_on")
    return Table(tuple(words(f"report.head.{h}") for h in heads), tuple(rows), (2.8, 4, 4, 2))


def not_judged(assessment: Assessment, words: Words, field_id: str) -> str:
    """Name in a sentence the factors that gave no class on this field; empty where all did."""
    here = assessment.findings[assessment.findings.field_id == field_id]
    judged = set(here.factor[here.suitability_class.notna()])
    left = [words(f"factor_name.{f.name}") for f in assessment.crop.factors if f.name not in judged]
    return words("report.not_judged", factors="; ".join(left)) if left and judged else ""


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
    """Give a line for each class, the worst first, with its values and its share of the ground."""
    words, legend = teller.words, teller.legend
    table = here.assign(
        klass=here.suitability_class.fillna("").astype(str),
        yours=here.origin.isin(["grower", "farm file"]),
    )
    groups = [(klass, yours, rows) for (klass, yours), rows in table.groupby(["klass", "yours"])]
    lines = []
    for klass, yours, rows in sorted(groups, key=lambda group: _gravity(str(group[0]))):
        share = rows.share_pct.sum()
        # All of the ground needs no share; 99.5 leaves room for rounding of the areas.
        where = words("report.on_share", pct=legend.pct(share)) if 0 < share < 99.5 else ""
        whose = words("report.yours") if yours else ""
        found = _values(rows, factor, teller) or words("word.not_known")
        line = " ".join(text for text in (found, where, whose) if text)
        lines.append(f"{klass}: {line}" if klass else line)
    return lines


def _values(rows: pd.DataFrame, factor: str, teller: Teller) -> str:
    texts = sorted({teller.words.term(str(text)) for text in rows.value_text.dropna()})
    if texts:
        return ", ".join(texts)
    numbers = rows.value.dropna()
    if numbers.empty:
        return ""
    low, high = float(numbers.min()), float(numbers.max())
    first, last = quantity(teller, factor, low), quantity(teller, factor, high)
    if first == last:
        return last
    low_text, high_text = _one_unit([first, last])
    return teller.words("report.range", low=low_text, high=high_text)


def _one_unit(texts: list[str]) -> list[str]:
    """Leave the unit to the last of several quantities, where all have the same."""
    units = {text.partition(" ")[2] for text in texts}
    return texts if len(units) > 1 else [*(t.partition(" ")[0] for t in texts[:-1]), texts[-1]]


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
        lists.setdefault(klass, []).append(teller.words.term(text))
    return "; ".join(f"{k}: {', '.join(lists[k])}" for k in CLASSES if k in classes and k in lists)


def _bound(name: str, bound: Bound, teller: Teller) -> str:
    levels = (bound.good, bound.fair, bound.poor)
    good, fair, poor = _one_unit([quantity(teller, name, level.value) for level in levels])
    return teller.words(f"report.limit_{bound.side}", good=good, fair=fair, poor=poor)


def _basis(factor: Factor, crop: Crop, words: Words) -> str:
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
