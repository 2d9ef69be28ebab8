"""How a field was judged, limit by limit: what was found, on how much ground, against what."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from maps.assessment import Assessment
from maps.of_field import rows_of, verdict_rows
from maps.remembered import remembering
from maps.report_table import Table
from maps.sentences import Teller
from maps.words import Words
from suitability.columns import CLASSES, QUALITIES, UNSURVEYED
from suitability.crop import Bound, Crop, Factor

# Less unsurveyed ground than this is where two borders do not quite meet.
SLIVER_PCT = 0.05
_FACTORS = 64  # at most, of a crop file
_PART = ("mukey", "cokey", "position", "drained")
_TEXTS = ("value_text", "suitability_class")


class Found(NamedTuple):
    """A finding on a part of a field; texts are empty and numbers NaN where not known."""

    mukey: str
    cokey: str
    share_pct: float
    quality: str
    factor: str
    value: float
    value_text: str
    suitability_class: str
    origin: str


def limits_table(found: list[Found], crop: Crop, teller: Teller) -> Table | None:
    """What was looked at, what was found with its class, the limit and what that rests on.

    Parameters
    ----------
    found : of ``found_on``.

    Returns
    -------
    A row for each factor of the crop file that gave a class on the field; None without any.
    """
    by_factor: dict[tuple[str, str], list[Found]] = {}
    for one in found:
        if one.mukey != UNSURVEYED or one.share_pct >= SLIVER_PCT:
            by_factor.setdefault((one.quality, one.factor), []).append(one)
    words = teller.words
    rows = []
    for factor in crop.factors:
        here = by_factor.get((factor.quality, factor.name), [])
        classes = {one.suitability_class for one in here} - {""}
        if classes:
            rows.append(
                (
                    words(f"factor_name.{factor.name}"),
                    "\n".join(_seen(here, factor.name, teller)),
                    _limit(factor, classes, teller),
                    _basis(factor, crop, words),
                )
            )
    if not rows:
        return None
    heads = ("looked_at", "found", "limit", "rests_on")
    return Table(tuple(words(f"report.head.{h}") for h in heads), tuple(rows), (2.8, 4, 4, 2))


def not_judged(assessment: Assessment, words: Words, field_id: str, found: list[Found]) -> str:
    """Name in a sentence the factors that gave no class on this field; empty where all did.

    Parameters
    ----------
    found : of ``found_on`` for the field.
    """
    judged = {one.factor for one in found if one.suitability_class}
    if judged:  # what the years rate is no finding on any soil
        verdict = verdict_rows(assessment)[field_id]
        judged |= {verdict[f"{quality}_factor"] for quality in QUALITIES}
    left = [words(f"factor_name.{f.name}") for f in assessment.crop.factors if f.name not in judged]
    return words("report.not_judged", factors="; ".join(left)) if left and judged else ""


def found_on(assessment: Assessment, field_id: str) -> list[Found]:
    """What was found on a field, with the share of its ground that each part has."""
    findings = rows_of(assessment.findings, field_id)
    parts = rows_of(assessment.parts, field_id)
    share_pct = 100 * parts["area_ha"] / parts["area_ha"].sum()
    shares = dict(zip(_keys(parts), share_pct.tolist(), strict=True))
    columns = ("quality", "factor", "value", "value_text", "suitability_class", "origin")
    told = {name: findings[name].tolist() for name in columns}
    told |= {name: [_text(value) for value in told[name]] for name in _TEXTS}
    rows = zip(_keys(findings), *told.values(), strict=True)
    return [Found(key[0], key[1], shares.get(key, np.nan), *values) for key, *values in rows]


def _text(value: Any) -> str:
    return value if isinstance(value, str) else ""


def _keys(table: pd.DataFrame) -> list[tuple[Any, ...]]:
    """What tells the parts of a field apart, a row each."""
    return list(zip(*(table[name].tolist() for name in _PART), strict=True))


def source_numbers(crop: Crop) -> dict[str, int]:
    """The number a source of the crop file goes by in the report, from 1."""
    return {key: n for n, key in enumerate(crop.sources, start=1)}


def _seen(here: list[Found], factor: str, teller: Teller) -> list[str]:
    """Give a line for each class, the worst first, with its values and its share of the ground."""
    words, legend = teller.words, teller.legend
    groups: dict[tuple[str, bool], list[Found]] = {}
    for one in here:
        yours = one.origin in ("grower", "farm file")
        groups.setdefault((one.suitability_class, yours), []).append(one)
    lines = []
    for (klass, yours), some in sorted(groups.items(), key=lambda g: (_gravity(g[0][0]), g[0])):
        share = float(np.nansum([one.share_pct for one in some]))
        # All of the ground needs no share; 99.5 leaves room for rounding of the areas.
        where = words("report.on_share", pct=legend.pct(share)) if 0 < share < 99.5 else ""
        whose = words("report.yours") if yours else ""
        found = _values(some, factor, teller) or words("word.not_known")
        line = " ".join(text for text in (found, where, whose) if text)
        lines.append(f"{klass}: {line}" if klass else line)
    return lines


def _values(some: list[Found], factor: str, teller: Teller) -> str:
    texts = sorted({teller.words.term(one.value_text) for one in some if one.value_text})
    if texts:
        return ", ".join(texts)
    numbers = [one.value for one in some if not np.isnan(one.value)]
    if not numbers:
        return ""
    first, last = (quantity(teller, factor, number) for number in (min(numbers), max(numbers)))
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
        return _bounds(factor, teller)
    lists: dict[str, list[str]] = {}
    for text, klass in factor.classes.items():
        lists.setdefault(klass, []).append(teller.words.term(text))
    return "; ".join(f"{k}: {', '.join(lists[k])}" for k in CLASSES if k in classes and k in lists)


@remembering(_FACTORS)
def _bounds(factor: Factor, teller: Teller) -> str:
    return "\n".join(_bound(factor.name, bound, teller) for bound in factor.bounds)


def _bound(name: str, bound: Bound, teller: Teller) -> str:
    levels = (bound.good, bound.fair, bound.poor)
    good, fair, poor = _one_unit([quantity(teller, name, level.value) for level in levels])
    return teller.words(f"report.limit_{bound.side}", good=good, fair=fair, poor=poor)


@remembering(_FACTORS)
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
