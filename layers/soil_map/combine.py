"""What the soils of a map unit come to together: shares, and the share with a limitation.

Risks are summed, never averaged: a tenth of very wet ground
is a tenth of very wet ground.
"""

from collections.abc import Sequence

import pandas as pd


def component_shares(components: pd.DataFrame, kinds: Sequence[str] = ("soil",)) -> pd.DataFrame:
    """Share of each component in what the survey lists of its map unit.

    Parameters
    ----------
    components : cokey, mukey, kind, comppct_pct [pct, 0-100].
    kinds : kinds of component to share the unit out among; all three where open water and other
        ground must keep their area.

    Returns
    -------
    Table of the components of these kinds (keys as given, same order): cokey, mukey, share_frac
    [frac 0-1, adds up to 1 in a unit; NaN where the survey gives no share], listed_pct [pct of the
    map unit that these components make up, before scaling].
    """
    table = components.loc[components["kind"].isin(kinds), ["cokey", "mukey"]].copy()
    share = components.loc[table.index, "comppct_pct"].astype("float64")
    listed = table["mukey"].map(share.groupby(table["mukey"]).sum(min_count=1)).astype("float64")
    table["share_frac"] = (share / listed).where(listed > 0)
    table["listed_pct"] = listed
    return table.reset_index(drop=True)


def limited_pct(values: pd.DataFrame, column: str) -> pd.DataFrame:
    """How much of the map unit has a limitation, and how much may have.

    Parameters
    ----------
    values : mukey, comppct_pct [pct], and ``column`` with True, False, or missing for not known.

    Returns
    -------
    Table with mukey, limited_pct [pct where the column is True], unknown_pct [pct where it is
    missing]; neither scaled, so that what the survey does not list is in neither.
    """
    share = values["comppct_pct"].fillna(0.0)
    parts = pd.DataFrame(
        {
            "mukey": values["mukey"],
            "limited_pct": share.where(values[column].eq(True).fillna(False).astype(bool), 0.0),
            "unknown_pct": share.where(values[column].isna(), 0.0),
        }
    )
    return parts.groupby("mukey", sort=False, as_index=False).sum()
