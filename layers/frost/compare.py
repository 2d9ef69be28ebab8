"""Published freeze dates beside our own: which is used, and how many days they differ."""

from collections.abc import Hashable
from itertools import groupby
from operator import itemgetter
from typing import Any

import pandas as pd

from layers.frost.stated import LAYER
from suitability.columns import FROST
from suitability.contract import check, names
from suitability.july_days import july_day
from suitability.notes import Note

_GROUP = ["field_id", "event", "threshold_c"]
_TOLD_PCT = (10, 50)
# Tables in whole tenths of degC give 28 F as -2.2.
_SAME_THRESHOLD_C = 0.06


def choose(published: pd.DataFrame, own: pd.DataFrame) -> tuple[pd.DataFrame, list[Note]]:
    """Published dates where there are any for a field, event and temperature, else our own.

    Parameters
    ----------
    published, own : FROST tables.

    Returns
    -------
    One FROST table, and a Note for each event and temperature that has both: dates of the same
    odds are compared with each other, and no length is made out of two dates.
    """
    own = own.assign(threshold_c=_as_published(own["threshold_c"], published["threshold_c"]))
    given = pd.MultiIndex.from_frame(published[_GROUP])
    beside = pd.MultiIndex.from_frame(own[_GROUP]).isin(given)
    notes = _notes(published, own[beside]) if len(own) else []
    kept = [table for table in (published, own[~beside]) if len(table)]
    frost = pd.concat(kept, ignore_index=True) if kept else published
    frost["date_mmdd"] = frost["date_mmdd"].astype(object).where(frost["date_mmdd"].notna(), None)
    return check(frost[names(FROST)], FROST, "The table of freeze dates"), notes


def _as_published(own_c: "pd.Series[float]", published_c: "pd.Series[float]") -> "pd.Series[float]":
    known = published_c.unique()
    near = {
        value: next((k for k in known if abs(k - value) <= _SAME_THRESHOLD_C), value)
        for value in own_c.unique()
    }
    return own_c.map(near).astype(float)


def _notes(published: pd.DataFrame, own: pd.DataFrame) -> list[Note]:
    keys = [*_GROUP, "prob_pct"]
    both = published.merge(own, on=keys, suffixes=("", "_own"))
    both = both[both["prob_pct"].isin(_TOLD_PCT)].sort_values(keys)
    seasons = both.groupby("field_id")["n_years_own"].max()
    by_text: dict[str, list[str]] = {}
    for field_id, of_field in groupby(both.to_dict("records"), itemgetter("field_id")):
        years = seasons[field_id]
        same: list[str] = []
        for (event, threshold_c), rows in groupby(of_field, itemgetter("event", "threshold_c")):
            what = f"{_EVENTS[event]} at {threshold_c * 1.8 + 32:.0f} F ({threshold_c:.1f} C)"
            told = [told for row in rows if (told := _told(row))]
            if told and all(one.endswith(_SAME) for one in told):
                same.append(what)
            elif told:
                text = (
                    f"{what}: {'; '.join(told)}. The published one is used; ours rests on "
                    f"{years:.0f} seasons of the daily weather."
                )
                by_text.setdefault(text, []).append(str(field_id))
        if same:
            text = (
                f"Published dates and our own, from {years:.0f} seasons of the daily weather, are "
                f"the same in 1 and 5 years of 10: {'; '.join(same)}."
            )
            by_text.setdefault(text, []).append(str(field_id))
    return [Note(LAYER, "info", text, tuple(ids)) for text, ids in by_text.items()]


_SAME = "(the same)"
_EVENTS = {
    "last_spring": "Last spring freeze",
    "first_autumn": "First fall freeze",
    "season": "Season between freezes",
}


def _told(row: dict[Hashable, Any]) -> str:
    odds = f"{row['prob_pct']:g} %"
    if row["event"] == "season":
        if pd.isna(row["season_d"]) or pd.isna(row["season_d_own"]):
            return ""
        longer = row["season_d_own"] - row["season_d"]
        return (
            f"{odds} published {row['season_d']:.0f} days, by our own computation "
            f"{row['season_d_own']:.0f} ({_days(longer, 'longer', 'shorter')})"
        )
    if row["date_mmdd"] is None and row["date_mmdd_own"] is None:
        return ""
    if row["date_mmdd"] is None or row["date_mmdd_own"] is None:
        shown = [d or "none by then" for d in (row["date_mmdd"], row["date_mmdd_own"])]
        return f"{odds} published {shown[0]}, by our own computation {shown[1]}"
    later = july_day(row["date_mmdd_own"]) - july_day(row["date_mmdd"])
    return (
        f"{odds} published {row['date_mmdd']}, by our own computation {row['date_mmdd_own']} "
        f"({_days(later, 'later', 'earlier')})"
    )


def _days(more: float, above: str, below: str) -> str:
    if more == 0:
        return _SAME[1:-1]
    return f"{abs(more):.0f} day{'' if abs(more) == 1 else 's'} {above if more > 0 else below}"
