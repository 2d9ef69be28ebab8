"""How wet the survey says a soil stands in the months of a gap."""

from collections.abc import Iterable

import numpy as np
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
    table = inside["water_table_cm"].fillna(inside["moisture_listed_to_cm"])
    result = pd.DataFrame({"water_table_cm": table.groupby(inside["cokey"]).min()})
    for event, name in (("pond", "ponding"), ("flood", "flooding")):
        worst = _worst(inside, f"{event}_frequency", f"{event}_duration")
        result[name] = worst.reindex(result.index)
    return result


def _worst(inside: pd.DataFrame, frequency: str, duration: str) -> "pd.Series[str]":
    rank_f = inside[frequency].map({f: i for i, f in enumerate(FREQUENCIES)}).astype(float)
    rank_d = inside[duration].map({d: i for i, d in enumerate(DURATIONS)}).astype(float)
    known = inside[rank_f.notna()].assign(
        rank=rank_f * 10 + rank_d.where(rank_f > 0).fillna(-1) + 1
    )
    if known.empty:
        return pd.Series(dtype=object)
    row = known.loc[known.groupby("cokey")["rank"].idxmax()].set_index("cokey")
    event = row[frequency].astype(object)
    lasting = row[duration].notna() & (event != FREQUENCIES[0])
    text = np.where(lasting, event + " " + row[duration].fillna("").astype(str), event)
    return pd.Series(text, index=row.index, dtype=object)
