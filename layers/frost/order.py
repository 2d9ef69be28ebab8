"""Freeze dates by odds must run one way; a table that runs the other way was read or made wrong."""

from pathlib import Path

import pandas as pd

from suitability.errors import InputError, listed
from suitability.july_days import july_day

_MOST_SHOWN = 6
_EVENTS = {
    "last_spring": "last spring freeze",
    "first_autumn": "first fall freeze",
    "season": "season between freezes",
}
_WAYS = {
    "last_spring": "later dates have smaller odds of a freeze on or after them",
    "first_autumn": "later dates have larger odds of a freeze on or before them",
    "season": "longer seasons have smaller odds",
}
# A first freeze of half of all years that comes from mid March to June, or a last one from mid July
# to mid November, is the other event under a wrong name; such odds stand nowhere on earth north of
# the tropics.
_FIRST_ENDS, _LAST_BEGINS, _LAST_MISTAKEN = july_day("03-15"), july_day("11-15"), july_day("07-15")


def check_order(table: pd.DataFrame, source: Path, who: list[str]) -> None:
    """Hold dates and lengths to the direction of their odds.

    Parameters
    ----------
    table : rows of FROST with the columns ``who`` that say whose they are.

    Raises
    ------
    InputError : odds in the wrong direction, two values for the same odds, or events swapped.
    """
    faults: list[str] = []
    table = table.assign(place=table["date_mmdd"].map(july_day, na_action="ignore").astype(float))
    season = table["event"] == "season"
    table["place"] = table["place"].where(~season, table["season_d"])
    keys = [*who, "event", "threshold_c"]
    suspected = table[_suspected(table, table.groupby(keys, dropna=False).ngroup())]
    for key, rows in suspected.groupby(keys, dropna=False, sort=False):
        label = _label(key, rows.iloc[0])
        twice = rows["prob_pct"][rows["prob_pct"].duplicated()]
        if len(twice):
            faults.append(f"{label}: odds of {twice.iloc[0]:g} % stand twice")
            continue
        faults.extend(f"{label}: {fault}" for fault in _faults(rows))
    if faults:
        more = len(faults) - _MOST_SHOWN
        shown = faults[:_MOST_SHOWN] + ([f"and {more} more"] if more > 0 else [])
        raise InputError(
            listed(
                f"{source}: freeze dates that cannot be",
                shown,
                "10 % is a late last freeze, an early first freeze and a long season. Mend the "
                "table, or its odds.",
            )
        )


def _suspected(table: pd.DataFrame, group: "pd.Series[int]") -> "pd.Series[bool]":
    """Rows of the groups in which something is wrong: few, of thousands of stations."""
    known = table.assign(group=group).dropna(subset=["place"]).sort_values(["group", "prob_pct"])
    step = known["place"].diff().where(known["group"].diff() == 0)
    wrong = step.where(known["event"] != "first_autumn", -step) > 0
    twice = group[table.assign(group=group).duplicated(["group", "prob_pct"])]
    return group.isin({*known["group"][wrong | _odd(known)], *twice})


def _odd(known: pd.DataFrame) -> "pd.Series[bool]":
    """Whether a date of half of the years or fewer looks like the other event."""
    place, event = known["place"], known["event"]
    late_first = (event == "first_autumn") & (place > _FIRST_ENDS)
    early_last = (event == "last_spring") & (place < _LAST_BEGINS) & (place > _LAST_MISTAKEN)
    return (known["prob_pct"] <= 50) & (late_first | early_last)


def _faults(rows: pd.DataFrame) -> list[str]:
    event = str(rows["event"].iloc[0])
    known = rows.dropna(subset=["place"]).sort_values("prob_pct")
    faults = []
    steps = known["place"].diff().iloc[1:]
    wrong = steps[steps < 0] if event == "first_autumn" else steps[steps > 0]
    if len(wrong):
        at = known.index.get_loc(wrong.index[0])
        before, after = known.iloc[at - 1], known.iloc[at]
        faults.append(
            f"{before['prob_pct']:g} % is {_shown(before)} and {after['prob_pct']:g} % is "
            f"{_shown(after)}, but {_WAYS[event]}"
        )
    odd = known[_odd(known)]
    if len(odd):
        faults.append(
            f"{_shown(odd.iloc[0])} at {odd.iloc[0]['prob_pct']:g} %: are events swapped?"
        )
    return faults


def _shown(row: pd.Series) -> str:
    return f"{row['season_d']:g} days" if row["event"] == "season" else str(row["date_mmdd"])


def _label(key: object, row: pd.Series) -> str:
    whose = (key if isinstance(key, tuple) else (key,))[:-2]
    who = [str(part) for part in whose if not pd.isna(part) and part != ""]
    return f"{' '.join(who)}, {_EVENTS[row['event']]} at {row['threshold_c']:g} C".removeprefix(
        ", "
    )
