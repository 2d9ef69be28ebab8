"""How wet the survey says a soil stands in the months of a gap."""

from collections.abc import Iterable

import pandas as pd

from suitability.columns import DURATIONS, FREQUENCIES


def wet_months(months: pd.DataFrame, gap_months: Iterable[int]) -> pd.DataFrame:
    """Worst water table, ponding and flooding of a component in the months of a gap.

    Parameters
    ----------
    months : MONTHS table.
    gap_months : months of the year that count, 1-12.

    Returns
    -------
    DataFrame indexed by cokey: ``water_table_cm``, the shallowest of those months, or, where
    no wet layer is listed, the depth down to which the survey lists none; ``ponding`` and
    ``flooding``, the worst frequency and its longest duration as one text. Missing where the
    survey has no entry for any of those months.

    Notes
    -----
    The survey's odds are for the year: for one month they are an upper bound.
    """
    inside = months[months["month"].isin(list(gap_months))]
    worst = pd.DataFrame(
        {
            "higher_cm": -inside["water_table_cm"].fillna(inside["moisture_listed_to_cm"]),
            "ponding": _rank(inside["pond_frequency"], inside["pond_duration"]),
            "flooding": _rank(inside["flood_frequency"], inside["flood_duration"]),
        }
    )
    by = worst.groupby(inside["cokey"].to_numpy()).max()
    result = pd.DataFrame({"water_table_cm": -by["higher_cm"]})
    for name in ("ponding", "flooding"):
        result[name] = by[name].map(_TEXT_OF_RANK).astype(object)
    return result


# What is worse has a higher rank: first by frequency, then by duration, last where it is not known.
_FREQUENCY = {f: 10.0 * i for i, f in enumerate(FREQUENCIES)}
_DURATION = {d: i + 1.0 for i, d in enumerate(DURATIONS)}
_TEXT_OF_RANK = {rank: f for f, rank in _FREQUENCY.items()} | {
    _FREQUENCY[f] + rank: f"{f} {d}" for f in FREQUENCIES[1:] for d, rank in _DURATION.items()
}


def _rank(frequency: "pd.Series[str]", duration: "pd.Series[str]") -> "pd.Series[float]":
    lasting = duration.map(_DURATION).astype(float).fillna(0.0)
    often = frequency.map(_FREQUENCY).astype(float)
    return often + lasting.where(often > 0, 0.0)
