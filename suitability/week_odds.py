"""In how many years in ten each sowing week works, what fails the others, and the week to take."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.field_years import FieldYears
from suitability.odds import wilson_interval
from suitability.outcomes import (
    COLD_SOIL,
    DROWNED,
    EARLY_COLD,
    TOO_LITTLE,
    UNKNOWN,
    WET_SEEDBED,
    WHY_NOT,
    WORKS,
)

_NO_STAND = (COLD_SOIL, WET_SEEDBED)  # first and last code of years without a stand
_SHORT = (EARLY_COLD, TOO_LITTLE)
_AGES_D = (45, 60, 90)


def week_odds(
    years: FieldYears, flood_years_in_ten: "pd.Series[float]", crop: Crop
) -> pd.DataFrame:
    """One row a field and sowing week that has been simulated.

    Parameters
    ----------
    years : of ``field_years``.
    flood_years_in_ten : odds of a harmful river flood in the gap, by field_id; the simulation
        knows no rivers, so these years are taken off, as independent of the rest.

    Returns
    -------
    DataFrame: field_id, sow_date (MM-DD, first day of the week), n_years, and in years of ten
    ``works``, ``germination_risk`` (no stand), ``waterlogging`` (drowned or flooded) and
    ``season_short`` (too short, or too little growth), which add up to ten, each with the suffix
    ``_years_in_ten``; ``works_least`` and ``works_most``, the 95 % Wilson interval;
    ``reach_45d``, ``reach_60d`` and ``reach_90d`` days of growth; ``growing_days_p50``; dry matter
    at 60 days and at the end [kg/ha] at 10, 50 and 90 %. No row of odds has fewer than
    ``odds.least_years`` years.
    """
    known = years.outcome != UNKNOWN
    n = known.sum(axis=1)
    enough = n >= crop.number("odds.least_years")
    f, w = np.nonzero(enough)
    field_ids = np.array(years.field_ids, dtype=object)[f]
    flood = flood_years_in_ten.reindex(field_ids).fillna(0.0).to_numpy(dtype=float)
    stays = 1 - flood / 10

    def share(low: int, high: int) -> NDArray[np.float64]:
        hits = ((years.outcome >= low) & (years.outcome <= high)).sum(axis=1)[f, w]
        return np.asarray(hits / n[f, w])

    works = share(WORKS, WORKS)
    least, most = wilson_interval(works * n[f, w], n[f, w])
    table = {
        "field_id": field_ids,
        "sow_date": np.array(years.weeks, dtype=object)[w],
        "n_years": n[f, w].astype(float),
        "works_years_in_ten": 10 * works * stays,
        "germination_risk_years_in_ten": 10 * share(*_NO_STAND) * stays,
        "waterlogging_years_in_ten": 10 * share(DROWNED, DROWNED) * stays + flood,
        "season_short_years_in_ten": 10 * share(*_SHORT) * stays,
        "works_least_years_in_ten": 10 * least * stays,
        "works_most_years_in_ten": 10 * most * stays,
    }
    for code, why in enumerate(WHY_NOT):
        if why:
            name = why.replace(" ", "_")
            table[f"{name}_years_in_ten"] = 10 * share(code, code) * stays
    for age in _AGES_D:
        long = ((years.growing_days >= age) & known).sum(axis=1)[f, w]
        table[f"reach_{age}d_years_in_ten"] = 10 * long / n[f, w]
    table["growing_days_p50"] = _quantile(years.growing_days, f, w, 0.5)
    for name in ("dry_matter_60d_kg_ha", "dry_matter_end_kg_ha"):
        for percent in (10, 50, 90):
            values = _quantile(getattr(years, name), f, w, percent / 100)
            table[f"{name}_p{percent}"] = values
    return pd.DataFrame(table).sort_values(["field_id", "sow_date"]).reset_index(drop=True)


def best_weeks(odds: pd.DataFrame, warm_from_mmdd: "pd.Series[str]", crop: Crop) -> pd.DataFrame:
    """The recommended week of each field: one row of ``odds`` a field, indexed by field_id.

    Parameters
    ----------
    odds : of ``week_odds``. warm_from_mmdd : by field_id, the day by which the soil is warm and
        holding in 8 years of 10; missing where not known.

    Notes
    -----
    Weeks that begin before the soil is warm are passed over where a later one is left.
    Of the weeks that work in nearly as many years as the best (``odds.near_best_years_in_ten``),
    the one with most dry matter at the end; of equals the earlier.
    """
    warm_from = odds["field_id"].map(warm_from_mmdd).astype(object)
    warm = warm_from.isna() | (odds["sow_date"] >= warm_from.where(warm_from.notna(), ""))
    any_warm = warm.groupby(odds["field_id"]).transform("any")
    odds = odds[warm | ~any_warm]
    top = odds.groupby("field_id")["works_years_in_ten"].transform("max")
    near = odds[
        odds["works_years_in_ten"] >= top - crop.number("odds.near_best_years_in_ten") - 1e-9
    ]
    ranked = near.sort_values(
        ["field_id", "dry_matter_end_kg_ha_p50", "sow_date"], ascending=[True, False, True]
    )
    return ranked.groupby("field_id").head(1).set_index("field_id")


def flood_years_in_ten(
    counted: pd.DataFrame, findings: pd.DataFrame, crop: Crop
) -> "pd.Series[float]":
    """Odds of a harmful flood in the gap by the soil survey, by field.

    Parameters
    ----------
    counted : parts that count, with PART_KEYS and area_ha. findings : FINDINGS table; its
        ``flooding`` rows carry frequency and duration of the worst month of the gap.

    Notes
    -----
    Floods of hours do no harm. The odds are those of the whole year, an upper bound for the gap;
    they govern a field where more than ``policy.field_fails_pct`` of its ground has them.
    """
    floods = findings[(findings["factor"] == "flooding") & findings["value_text"].notna()]
    keys = [c for c in counted.columns if c in findings.columns]
    table = counted[[*keys, "area_ha"]].merge(floods[[*keys, "value_text"]], on=keys)
    years = table["value_text"].map(lambda text: _flood_odds(str(text), crop))
    total = counted.groupby("field_id")["area_ha"].sum()
    most = crop.number("policy.field_fails_pct") / 100
    result = pd.Series(0.0, index=total.index)
    for level in sorted(years.unique()):
        here = table.loc[years >= level].groupby("field_id")["area_ha"].sum()
        result = result.mask(here.reindex(total.index).fillna(0.0) > most * total, level)
    return result


def _flood_odds(event: str, crop: Crop) -> float:
    if event.endswith(("extremely brief", "very brief")):
        return 0.0
    for frequency in ("frequent", "occasional", "rare"):
        if frequency in event.split() and not event.startswith("very rare"):
            return crop.number(f"odds.flood_{frequency}_years_in_ten")
    return 0.0


def _quantile(
    values: NDArray[np.float32], f: NDArray[np.int64], w: NDArray[np.int64], q: float
) -> NDArray[np.float64]:
    """Quantile over the years, only of the fields and weeks asked for."""
    picked = values[f, :, w]
    return np.asarray(np.nanquantile(picked, q, axis=1)) if len(picked) else np.empty(0)
