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

Floats = NDArray[np.float64]

NO_STAND = (COLD_SOIL, WET_SEEDBED)  # first and last code of years without a stand
_SHORT = (EARLY_COLD, TOO_LITTLE)
_AGES_D = (45, 60, 90)
_PERCENT = (10, 50, 90)
_FLOODS = ("frequent", "occasional", "rare")
_SAME = 1e-6  # years in ten by which rounding may part what is the same


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
    ``reach_45d``, ``reach_60d`` and ``reach_90d`` days of growth, which a flood ends too;
    ``growing_days_p50``; dry matter at 60 days and at the end [kg/ha] at 10, 50 and 90 %, of years
    without a flood. No row of odds has fewer than ``odds.least_years`` years. Where other weeks of
    its gap have fewer, a field has rows only if one of its weeks works in
    ``odds.good_years_in_ten``: the others might, and what is not known must not make it fail.
    """
    f, w, n = _enough(years, crop)
    known = ~_half_known(years, crop)[f]
    f, w, n = f[known], w[known], n[known]
    field_ids, stays, flood = _not_flooded(years, f, flood_years_in_ten)

    def share(low: int, high: int) -> Floats:
        hits = ((years.outcome >= low) & (years.outcome <= high)).sum(axis=1)[f, w]
        return np.asarray(hits / n)

    works = share(WORKS, WORKS)
    least, most = wilson_interval(works * n, n)
    table = {
        "field_id": field_ids,
        "sow_date": np.array(years.weeks, dtype=object)[w],
        "n_years": n.astype(float),
        "works_years_in_ten": 10 * works * stays,
        "germination_risk_years_in_ten": 10 * share(*NO_STAND) * stays,
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
        long = (years.growing_days >= age).sum(axis=1)[f, w]
        table[f"reach_{age}d_years_in_ten"] = 10 * long / n * stays
    table["growing_days_p50"] = _quantiles(years.growing_days, f, w, (0.5,))[:, 0]
    for name in ("dry_matter_60d_kg_ha", "dry_matter_end_kg_ha"):
        values = _quantiles(getattr(years, name), f, w, tuple(p / 100 for p in _PERCENT))
        table |= {f"{name}_p{p}": values[:, i] for i, p in enumerate(_PERCENT)}
    return pd.DataFrame(table).sort_values(["field_id", "sow_date"]).reset_index(drop=True)


def works_at(
    years: FieldYears,
    sow_date: "pd.Series[str]",
    flood_years_in_ten: "pd.Series[float]",
    crop: Crop,
) -> "pd.Series[float]":
    """``works_years_in_ten`` of each field at one week of its own, ``sow_date`` by field_id."""
    f, w, n = _enough(years, crop)
    field_ids, stays, _ = _not_flooded(years, f, flood_years_in_ten)
    works = (years.outcome == WORKS).sum(axis=1)[f, w]
    keys = [field_ids, np.array(years.weeks, dtype=object)[w]]
    at = pd.Series(10 * works / n * stays, index=pd.MultiIndex.from_arrays(keys))
    asked = pd.MultiIndex.from_arrays([sow_date.index, sow_date])
    return pd.Series(at.reindex(asked).to_numpy(dtype=float), index=sow_date.index)


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


def flood_class(flood_years_in_ten: float, crop: Crop) -> tuple[str, float, float] | None:
    """The survey's flood class that these odds are the middle of, and the years in ten it spans.

    None where they are of no class, as where nothing floods.
    """
    for frequency in _FLOODS:
        if abs(flood_years_in_ten - crop.number(f"odds.flood_{frequency}_years_in_ten")) < _SAME:
            ends = (f"odds.flood_{frequency}_{end}_years_in_ten" for end in ("least", "most"))
            low, high = (crop.number(name) for name in ends)
            return frequency, low, high
    return None


def _flood_odds(event: str, crop: Crop) -> float:
    if event.endswith(("extremely brief", "very brief")):
        return 0.0
    for frequency in _FLOODS:
        if frequency in event.split() and not event.startswith("very rare"):
            return crop.number(f"odds.flood_{frequency}_years_in_ten")
    return 0.0


def _enough(
    years: FieldYears, crop: Crop
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Fields and weeks with years enough for odds, and the number of their years."""
    n_years = (years.outcome != UNKNOWN).sum(axis=1)
    f, w = np.nonzero(n_years >= max(1.0, crop.number("odds.least_years")))
    return f, w, n_years[f, w]


def _half_known(years: FieldYears, crop: Crop) -> NDArray[np.bool_]:
    """Fields of which some weeks have years enough and none of those is good, and others have not.

    The others might be good: what is not known of them must not make the field fail.
    """
    n_years = (years.outcome != UNKNOWN).sum(axis=1)
    enough = n_years >= max(1.0, crop.number("odds.least_years"))
    in_gap = n_years > 0 if years.in_gap is None else years.in_gap
    works = 10 * (years.outcome == WORKS).sum(axis=1) / np.maximum(n_years, 1)
    good = enough & (works >= crop.number("odds.good_years_in_ten") - _SAME)
    return np.asarray((in_gap & ~enough).any(axis=1) & ~good.any(axis=1))


def _not_flooded(
    years: FieldYears, f: NDArray[np.int64], flood_years_in_ten: "pd.Series[float]"
) -> tuple[NDArray[np.object_], Floats, Floats]:
    """Field of each row, its share of years without a flood, and its flood years in ten."""
    of_field = flood_years_in_ten.reindex(list(years.field_ids)).fillna(0.0)
    flood = of_field.to_numpy(dtype=float)[f]
    return np.array(years.field_ids, dtype=object)[f], 1 - flood / 10, flood


def _quantiles(
    values: NDArray[np.float32],
    f: NDArray[np.int64],
    w: NDArray[np.int64],
    shares: tuple[float, ...],
) -> Floats:
    """Quantiles over the known years, shape (rows, shares), of the fields and weeks asked for.

    By a straight line between the values in order, as ``numpy.nanquantile`` and much faster.
    """
    ordered = np.sort(values[f, :, w], axis=1)  # not known comes last
    last = np.maximum((~np.isnan(ordered)).sum(axis=1) - 1, 0)
    place = last[:, None] * np.array(shares)
    below = place.astype(int)
    low = np.take_along_axis(ordered, below, axis=1).astype(float)
    high = np.take_along_axis(ordered, np.minimum(below + 1, last[:, None]), axis=1)
    return np.asarray(low + (place - below) * (high - low))
