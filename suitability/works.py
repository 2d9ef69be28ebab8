"""The verdict by years in ten: what the simulation says overrides the survey's rules."""

import numpy as np
import pandas as pd

from suitability.columns import CLASSES, VERDICTS, WORDS
from suitability.crop import Crop
from suitability.notes import Note
from suitability.rating import rate
from suitability.verdict import CONDITIONS, OF_LEFT_OUT, Judgement, typed
from suitability.years import Years
from suitability.years_notes import LAYER

# Quality, its factor of the crop file, and the column of odds that it is rated by.
_BY_YEARS = (
    ("germination", "no_stand_years_in_ten", "germination_risk_years_in_ten"),
    ("waterlogging", "drowned_years_in_ten", "waterlogging_years_in_ten"),
    ("season", "short_years_in_ten", "season_short_years_in_ten"),
)
_WORD_COLUMN = {
    "germination": "germination_risk",
    "waterlogging": "waterlogging",
    "season": "season_length",
}
_MILD = {"test_soil"}  # good advice anywhere; alone it asks for no care
_OF_YEARS = {
    "germination": "germination_care",
    "waterlogging": "watch_wet",
    "season": "season_tight",
}


def by_years(judged: Judgement, years: Years, crop: Crop) -> pd.DataFrame:
    """VERDICTS table in which fields with odds are judged by them.

    Parameters
    ----------
    judged : by survey rule (``verdict.judge``).
    years : of ``years.years_of_farm``.

    Notes
    -----
    Years in ten that work set the class: at least ``odds.good_years_in_ten`` S1, ``fair`` S2,
    ``poor`` S3, fewer N. Inoculation may make it worse, as far as it may by survey rule. Fields
    left out because most of them is too wet, and fields without odds, stay as they are; the former
    get the condition ``years_disagree`` where the years rate them two classes better. A field that
    the survey's rules rate two classes worse than the years is at most "sow with care"
    (``survey_doubts``): that the simulation is right about its soil is not proved. The verdict
    flips where the odds at ``years.low`` or ``years.high``, if looked for, lead to another one.
    """
    verdicts, best = judged.verdicts, years.best
    table = verdicts.set_index("field_id")
    too_wet = judged.too_wet.reindex(table.index).fillna(False).astype(bool)
    odds_of = table.index.intersection(best.index)
    rows = odds_of.difference(table.index[too_wet])
    against = _works_against(best.loc[odds_of.difference(rows)], crop)
    for field_id in against.index:
        said = {"years_disagree", *(table.at[field_id, "conditions"] or "").split()}
        table.at[field_id, "conditions"] = " ".join(c for c in CONDITIONS if c in said)
    shared = [c.name for c in VERDICTS if c.name in best.columns and c.name in table.columns]
    if not len(rows):
        return typed(table.reset_index())
    table["works_low_years_in_ten"] = years.low.reindex(rows).reindex(table.index)
    table["works_high_years_in_ten"] = years.high.reindex(rows).reindex(table.index)
    here = table.loc[rows]
    here[shared] = best.loc[rows, shared]
    here["survey_class"] = here["suitability_class"].where(
        here["suitability_class"].notna(), here["at_best"]
    )
    here["score_basis"] = "years in ten"
    codes = pd.DataFrame(index=rows)
    for quality, factor, odds in _BY_YEARS:
        limits = next(f for f in crop.of(quality) if f.name == factor)
        rated = rate(best.loc[rows, odds].round(6), limits)
        codes[quality] = rated["code"]
        here[f"{quality}_class"] = [CLASSES[c] for c in rated["code"]]
        here[f"{quality}_score"] = rated["score"]
        here[f"{quality}_factor"] = factor
        here[f"{quality}_value"] = best.loc[rows, odds]
        here[f"{quality}_value_text"] = None
        here[f"{quality}_share_pct"] = np.nan
        low_word, moderate, high_word = WORDS[quality]
        words = (low_word, moderate, high_word if quality != "season" else moderate, high_word)
        here[_WORD_COLUMN[quality]] = [words[c] for c in rated["code"]]
    inoculation = here["inoculation_class"].map({k: i for i, k in enumerate(CLASSES)})
    codes["inoculation"] = inoculation.fillna(-1).astype(int)
    works = _works_code(here["works_years_in_ten"], crop)
    overall = np.maximum(works, codes["inoculation"])
    here["suitability_class"] = [CLASSES[c] for c in overall]
    here["at_best"] = None
    unknown = codes["inoculation"] < 0
    here.loc[unknown, "at_best"] = here.loc[unknown, "suitability_class"]
    here.loc[unknown, "suitability_class"] = None
    failing = best.loc[rows, [odds for _, _, odds in _BY_YEARS]].set_axis(
        [quality for quality, _, _ in _BY_YEARS], axis=1
    )
    worst = failing.idxmax(axis=1).mask(codes["inoculation"] > works, "inoculation")
    here["limiting"] = worst.where(overall > 0, None)
    by_survey = here["survey_class"].map({k: i for i, k in enumerate(CLASSES)})
    here["conditions"] = _conditions(here["conditions"], codes, by_survey - overall >= 2, crop)
    here["verdict"] = _verdict(works, here["conditions"])
    flipped = [
        _verdict(
            _works_code(here[name].fillna(here["works_years_in_ten"]), crop), here["conditions"]
        )
        for name in ("works_low_years_in_ten", "works_high_years_in_ten")
    ]
    here["verdict_flips"] = [
        bool(a != v or b != v) for v, a, b in zip(here["verdict"], *flipped, strict=True)
    ]
    here["conditions"] = _without_advice(here["conditions"], here["verdict"])
    could = judged.sowable_ha.reindex(rows)
    here["sowable_ha"] = could.mask(here["verdict"] == "leave out", 0.0)
    others = table.drop(index=rows)
    return typed(pd.concat([others, here]).reindex(table.index).reset_index())


def left_out_against_years(judged: Judgement, years: Years, crop: Crop) -> tuple[Note, ...]:
    """A Note naming fields that the survey leaves out as too wet and that work by the years."""
    best = years.best
    wet = judged.too_wet.reindex(best.index).fillna(False).astype(bool)
    against = _works_against(best[wet], crop)
    if against.empty:
        return ()
    told = ", ".join(
        f"{field_id} (N by survey rule, {CLASSES[code]} by years)"
        for field_id, code in against.items()
    )
    text = (
        "The soil survey's rules leave out ground whose soils work in the simulated years: "
        f"{told}. "
        "The answer rests on the survey there; look at this ground before you trust either."
    )
    return (Note(LAYER, "caution", text, tuple(str(i) for i in against.index)),)


def _works_against(best: pd.DataFrame, crop: Crop) -> "pd.Series[int]":
    """Class by years of fields left out, by field_id, where it is two or more better than N."""
    code = _works_code(best["works_years_in_ten"].astype(float), crop)
    return code[code <= CLASSES.index("N") - 2]


def two_classes_apart(verdicts: pd.DataFrame) -> tuple[Note, ...]:
    """A Note naming the fields that survey rule and years rate two classes or more apart."""
    codes = {klass: code for code, klass in enumerate(CLASSES)}
    ours = verdicts["suitability_class"].fillna(verdicts["at_best"])
    apart = (ours.map(codes) - verdicts["survey_class"].map(codes)).abs() >= 2
    if not apart.any():
        return ()
    told = ", ".join(
        f"{field_id} ({survey} by survey rule, {klass} by years)"
        for field_id, survey, klass in zip(
            verdicts.loc[apart, "field_id"],
            verdicts.loc[apart, "survey_class"],
            ours[apart],
            strict=True,
        )
    )
    text = (
        f"The soil survey's rules and the simulated years differ by two classes or more: {told}. "
        "The verdict rests on the years; look at this ground before you trust either."
    )
    return (Note(LAYER, "caution", text, tuple(verdicts.loc[apart, "field_id"])),)


def _works_code(works: "pd.Series[float]", crop: Crop) -> "pd.Series[int]":
    levels = [crop.number(f"odds.{level}_years_in_ten") for level in ("good", "fair", "poor")]
    return sum(
        ((works + 1e-9 < level).astype(int) for level in levels), start=0 * works.astype(int)
    )


def _conditions(
    said: "pd.Series[str]", codes: pd.DataFrame, doubted: "pd.Series[bool]", crop: Crop
) -> "pd.Series[str]":
    """Conditions of the survey's rules out, those of the years in, in their fixed order."""
    replaced = {*_OF_YEARS.values(), *(f"{quality}_not_known" for quality in _OF_YEARS)}
    result = []
    for field_id, text in said.items():
        codes_now = set((text or "").split()) - replaced
        for quality, code in _OF_YEARS.items():
            if codes.at[field_id, quality] >= CLASSES.index(crop.care_from[quality]):
                codes_now.add(code)
        if doubted[field_id]:
            codes_now.add("survey_doubts")
        result.append(" ".join(c for c in CONDITIONS if c in codes_now) or None)
    return pd.Series(result, index=said.index, dtype=object)


def _without_advice(said: "pd.Series[str]", verdict: "pd.Series[str]") -> "pd.Series[str]":
    """A field to leave out is told what is not known of it, and nothing of how to sow it."""
    known = [
        " ".join(c for c in (text or "").split() if c in OF_LEFT_OUT) or None
        if left == "leave out"
        else text
        for text, left in zip(said, verdict, strict=True)
    ]
    return pd.Series(known, index=said.index, dtype=object)


def _verdict(works: "pd.Series[int]", conditions: "pd.Series[str]") -> list[str]:
    """Leave out at N; with care below S1 or where a condition asks for it; else sow."""
    verdicts = []
    for code, said in zip(works, conditions, strict=True):
        asks = bool(set((said or "").split()) - _MILD)
        care = asks or code > 0
        out = code == CLASSES.index("N")
        verdicts.append("leave out" if out else "sow with care" if care else "sow")
    return verdicts
