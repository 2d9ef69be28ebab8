"""What the soils of a map unit come to together: shares, means, and the share with a limitation.

Everything is weighted by the share of the map unit that each component takes up, and says how much
of the unit stands behind the figure. Risks are summed, never averaged: a tenth of very wet ground
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
    listed = share.groupby(table["mukey"]).transform(lambda pct: pct.sum(min_count=1))
    table["share_frac"] = (share / listed).where(listed > 0)
    table["listed_pct"] = listed
    return table.reset_index(drop=True)


def map_unit_mean(values: pd.DataFrame, column: str) -> pd.DataFrame:
    """Mean of a number over the components of a map unit that have it.

    Parameters
    ----------
    values : mukey, comppct_pct [pct], and ``column`` in any unit; components without a value or
        a share are left out of the mean.

    Returns
    -------
    Table with mukey (one row each unit of ``values``), ``column`` [same unit, NaN where no
    component has it], known_pct [pct of the map unit behind the mean].
    """
    known = values[values[column].notna() & values["comppct_pct"].notna()]
    weight = known["comppct_pct"]
    total = weight.groupby(known["mukey"]).sum()
    mean = (weight * known[column]).groupby(known["mukey"]).sum() / total.where(total > 0)
    units = pd.Index(values["mukey"].drop_duplicates(), name="mukey")
    table = pd.DataFrame({column: mean.reindex(units), "known_pct": total.reindex(units).fillna(0)})
    return table.reset_index()


def class_shares(values: pd.DataFrame, column: str) -> pd.DataFrame:
    """Percent of the map unit in each class of a text column.

    Returns
    -------
    Table with mukey, ``column``, class_pct [pct of the map unit, not scaled], dominant (True for
    the class with most of the unit; of equal ones the first in the alphabet). Ground of unknown
    class has no row.
    """
    known = values[values[column].notna() & values["comppct_pct"].notna()]
    shares = known.groupby(["mukey", column])["comppct_pct"].sum().rename("class_pct").reset_index()
    ranked = shares.sort_values(
        ["mukey", "class_pct", column], ascending=[True, False, True], kind="stable"
    )
    return ranked.assign(dominant=~ranked["mukey"].duplicated()).reset_index(drop=True)


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
