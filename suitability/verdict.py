"""From the findings of its parts to the verdict on a field."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from suitability.columns import CLASSES, FREEZE_COLUMNS, QUALITIES, VERDICTS, WORDS
from suitability.counted import Counted
from suitability.crop import Crop
from suitability.field_quality import field_quality
from suitability.herbicide import herbicide_stated
from suitability.inoculation import INOCULANT_CODES, hard_ground_pct, inoculant_code
from suitability.warm_columns import WARM_COLUMNS

OF_LEFT_OUT = (  # all that is told of a field to leave out: the rest is advice on sowing it
    "soil_cover_low",
    "years_disagree",
    "drains_unknown",
    "germination_not_known",
    "waterlogging_not_known",
    "inoculation_not_known",
    "season_not_known",
)
CONDITIONS = (  # the first that holds is told with the verdict
    "herbicide",
    "leave_wet_ground",
    "wet_unplaced",
    "survey_doubts",
    "herbicide_not_known",
    "watch_wet",
    "season_tight",
    "germination_care",
    "inoculation_care",
    "test_soil",
    *OF_LEFT_OUT,
)
_WORD_COLUMN = {
    "germination": "germination_risk",
    "waterlogging": "waterlogging",
    "season": "season_length",
}
_OF_UNDRAINED = ("water_table_cm", "drainage_class")  # what drains change
_BY_CODE = {  # the word for S1, S2, S3 and N
    "germination": ("low", "moderate", "high", "high"),
    "waterlogging": ("low", "moderate", "high", "high"),
    "season": ("long enough", "tight", "tight", "too short"),
}


@dataclass(frozen=True)
class Judgement:
    """The answer and the ground it leaves out.

    ``verdicts`` keeps VERDICTS. ``wet_units`` has field_id, mukey, cause and compname of the map
    units too wet to sow; they can be drawn because the survey maps them. ``sowable_ha``, by
    field_id, is the ground that could be sown whatever the verdict; ``too_wet`` tells fields of
    which too little can.
    """

    verdicts: pd.DataFrame
    wet_units: pd.DataFrame
    sowable_ha: "pd.Series[float]"
    too_wet: "pd.Series[bool]"


def judge(
    fields: pd.DataFrame, counted: Counted, findings: pd.DataFrame, crop: Crop, year: int
) -> Judgement:
    """Verdict of every field by the worst quality of its sowable ground.

    Parameters
    ----------
    fields : FIELDS table with ``soil_cover_pct`` and, where known, FREEZE_COLUMNS and WARM_COLUMNS.
    counted : the parts that count, of ``counted.counted``. findings : FINDINGS table.
    year : year of sowing; decides how long ago a legume grew.

    Notes
    -----
    A class governs a field in a quality when more than ``policy.field_fails_pct`` of its sowable
    ground is that bad or worse. Map units full of wet soil leave the sowable ground; wet soil
    that nothing places is named as a share. The worst quality governs (FAO 1976, A framework for
    land evaluation, maximum limitation). Unknown is neither good nor bad: where the ground is not
    known at all (neither germination nor waterlogging) there is no verdict, unless the gap alone
    is too short; with any quality unknown it is at most "sow with care", and so it is where a
    herbicide stays in the soil or the grower does not say that none does.
    """
    shares = counted.shares
    columns = ["field_id", "area_ha", "soil_cover_pct", *FREEZE_COLUMNS, *WARM_COLUMNS]
    table = fields.reindex(columns=columns).set_index("field_id")
    table = table.join(shares.by_field)
    table["sowable_ha"] = (table["area_ha"] - table["not_sowable_ha"]).clip(lower=0)
    table["wet_unplaced_pct"] = 100 * table["wet_unplaced_ha"] / table["area_ha"]
    too_wet = shares.too_wet.reindex(table.index)
    codes = pd.DataFrame(index=table.index)
    by_quality = field_quality(counted.parts, findings, crop)
    for quality in QUALITIES:
        governing = by_quality.loc[quality]
        codes[quality] = governing["code"].reindex(table.index).fillna(-1).astype(int)
        known = governing[governing["code"] >= 0].drop(columns="code")
        table = table.join(known.add_prefix(f"{quality}_"))
        table[f"{quality}_class"] = _class_text(codes[quality])
    told = fields.set_index("field_id")[
        ["soil_test_ph", "herbicide_product", "herbicide_date", "drained"]
    ]
    table = table.assign(**_weighed(table, codes, too_wet, told, crop))
    could_be_sown = table["sowable_ha"].copy()
    known = table["verdict"] != "not known"
    table["wet_unplaced_pct"] = table["wet_unplaced_pct"].where(known)
    table["sowable_ha"] = (
        table["sowable_ha"].mask(table["verdict"] == "leave out", 0.0).where(known)
    )
    hard = hard_ground_pct(counted.parts, findings, crop).reindex(table.index).fillna(0.0)
    named = herbicide_stated(told["herbicide_product"]) == "named"
    table["herbicide_product"] = told["herbicide_product"].where(named, None)
    put_on = pd.to_datetime(told["herbicide_date"]).dt.strftime("%Y-%m-%d")
    table["herbicide_on"] = put_on.where(named, None)
    table["inoculant_reason"] = inoculant_code(
        fields.set_index("field_id")["legume_last_year"].astype(float),
        hard["ph_pct"],
        hard["sand_pct"],
        crop,
        year,
    )
    table["inoculation_need"] = np.where(
        table["inoculant_reason"] == INOCULANT_CODES[-1], *WORDS["inoculation"]
    )
    return Judgement(typed(table.reset_index()), shares.wet_units, could_be_sown, too_wet)


def typed(table: pd.DataFrame) -> pd.DataFrame:
    """The columns of VERDICTS: floats, and else objects; missing where the table has none."""
    whole = {}
    for column in VERDICTS:
        values = table.get(column.name, pd.Series(np.nan, index=table.index))
        if column.kind != "number":
            values = pd.Series(np.where(values.isna(), None, values), table.index, dtype=object)
        whole[column.name] = values.astype(float) if column.kind == "number" else values
    return pd.DataFrame(whole)


def _weighed(
    table: pd.DataFrame,
    codes: pd.DataFrame,
    too_wet: "pd.Series[bool]",
    told: pd.DataFrame,
    crop: Crop,
) -> "dict[str, pd.Series[Any]]":
    """Verdict, classes, words and conditions of each field as columns of VERDICTS."""
    overall = codes.max(axis=1).mask(too_wet, 3)
    out = overall == 3
    unknown = codes < 0
    nothing = unknown[["germination", "waterlogging"]].all(axis=1) & ~out
    any_unknown = unknown.any(axis=1)
    cares = pd.DataFrame({q: codes[q] >= CLASSES.index(crop.care_from[q]) for q in QUALITIES})
    placed = (table["not_sowable_ha"] > table["area_ha"] * 1e-9) & ~nothing
    unplaced = table["wet_unplaced_pct"] > crop.number("policy.unplaced_wet_pct")
    herbicide = herbicide_stated(told["herbicide_product"])
    care = any_unknown | cares.any(axis=1) | placed | unplaced | (herbicide != "none")
    verdict = np.select(
        [nothing, out, care], ["not known", "leave out", "sow with care"], default="sow"
    )
    klass = _class_text(overall)
    low_cover = table["soil_cover_pct"] < crop.number("policy.least_soil_cover_pct")
    conditions = {
        "herbicide": (herbicide == "named") & ~out,
        "herbicide_not_known": (herbicide == "not stated") & ~out & ~nothing,
        "leave_wet_ground": placed & ~out,
        "wet_unplaced": unplaced & ~out,
        "watch_wet": cares["waterlogging"] & ~out,
        "season_tight": cares["season"] & ~out,
        "germination_care": cares["germination"] & ~out,
        "inoculation_care": cares["inoculation"] & ~out,
        "test_soil": (codes["inoculation"] > 0) & told["soil_test_ph"].isna() & ~out,
        "soil_cover_low": low_cover & (table["soil_cover_pct"] > 0),
        # The years are not asked yet; ``works.by_years`` says these.
        "years_disagree": False,
        "survey_doubts": False,
        "drains_unknown": too_wet
        & told["drained"].isna()
        & table["waterlogging_factor"].isin(_OF_UNDRAINED),
        **{f"{q}_not_known": unknown[q] for q in QUALITIES},
    }
    flags = pd.DataFrame(conditions)[list(CONDITIONS)].to_numpy(dtype=bool)
    words = {
        column: codes[quality].map(dict(enumerate(_BY_CODE[quality]))).astype(object)
        for quality, column in _WORD_COLUMN.items()
    }
    return {
        "verdict": pd.Series(verdict, index=table.index),
        "suitability_class": klass.where(~any_unknown, None),
        "at_best": klass.where(any_unknown & ~nothing, None),
        "limiting": codes.idxmax(axis=1).where(overall > 0, None).mask(too_wet, "waterlogging"),
        "score_basis": pd.Series("survey rule", index=table.index).where(~nothing, None),
        "conditions": pd.Series(
            [" ".join(np.array(CONDITIONS)[row]) or None for row in flags], index=table.index
        ),
        **words,
    }


def _class_text(code: "pd.Series[int]") -> "pd.Series[str]":
    return code.map(dict(enumerate(CLASSES))).astype(object)
