"""When each field is warm, sown, up, grazed or cut, ended and sown again; each with its spread."""

import math
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from suitability.gap import gap_days
from suitability.plan import Plan

# In the order of the year.
EVENTS = (
    "soil_warm",
    "sow",
    "check_stand",
    "feed_opens",
    "feed_closes",
    "end_stand",
    "next_seeding",
    "gap_closes",
)
_COLUMNS = [
    "field_id",
    "sown",
    "sow_date",
    "event",
    "early_mmdd",
    "usual_mmdd",
    "late_mmdd",
    "n_years",
]
_YEAR = 2001  # a year without a leap day stands for all
_SPREAD = (0.1, 0.5, 0.9)


def calendar(plan: Plan, fields: pd.DataFrame, verdicts: pd.DataFrame) -> pd.DataFrame:
    """Dates of every field that could be planned, in its week of the plan or its best one.

    Parameters
    ----------
    plan : of ``plan.make_plan``. fields, verdicts : tables of the contract.

    Returns
    -------
    DataFrame: field_id, sown (by the plan), sow_date (first day of its week), event (of EVENTS),
    early_mmdd, usual_mmdd, late_mmdd (MM-DD; None where not known) and n_years behind them. The
    spread is 1 to 9 years of 10; of ``soil_warm``, 5 and 8 years of 10. ``sow`` is the day of the
    week on which the simulation sowed; it and all later days are of the same years: those with a
    stand, of ground to graze or cut those in which it can be. A stand is ended before the first
    pods, by the first killing cold, and at latest on the day before the gap closes. Fields grown as
    cover have no days of feed. The gap ends with ``next_seeding`` where a next crop is named, else
    with ``gap_closes``. No row is made where nothing is known.
    """
    ground, stand = plan.ground, plan.ground.stand
    about = verdicts.set_index("field_id")
    gaps = fields.set_index("field_id")
    column = {week: w for w, week in enumerate(stand.weeks)}
    row_of = {i: f for f, i in enumerate(stand.field_ids)}
    rows: list[dict[str, Any]] = []
    for planned in plan.fields.itertuples(index=False):
        i, week = str(planned.field_id), planned.sow_date
        if i not in row_of or week not in column:
            continue
        f, w = row_of[i], column[week]
        start = date.fromisoformat(f"{_YEAR}-{week}")
        closes = _text(gaps.loc[i, "gap_closes"])
        fed = planned.use != "cover"
        opens_d, feed_closes_d = (
            d[f, :, w] for d in (ground.window.opens_d, ground.window.closes_d)
        )
        told = stand.end_d[f, :, w] > 0
        if fed and (told & np.isfinite(opens_d)).any():
            told = told & np.isfinite(opens_d)
        sown_d = stand.sown_d[f, :, w]
        last_d = np.inf if closes is None else gap_days(week, closes) - 1
        end_d = np.minimum(stand.end_d[f, :, w], ground.window.pods_d[f, :, w])
        dates: dict[str, tuple[str | None, str | None, str | None]] = {
            "soil_warm": (
                None,
                _text(about.loc[i, "soil_65f_held_p50"]),
                _text(about.loc[i, "soil_65f_held_p80"]),
            ),
            "sow": _days(start, sown_d[told] if told.any() else sown_d),
            "check_stand": _days(start, (sown_d + stand.emerged_d[f, :, w])[told]),
            "end_stand": _days(start, np.minimum(sown_d + end_d, last_d)[told]),
        }
        followed = _text(gaps.loc[i, "next_crop"]) is not None
        dates["next_seeding" if followed else "gap_closes"] = (None, closes, None)
        if fed:
            dates["feed_opens"] = _days(start, (sown_d + opens_d)[told])
            dates["feed_closes"] = _days(start, np.minimum(sown_d + feed_closes_d, last_d)[told])
        for event in EVENTS:
            early, usual, late = dates.get(event, (None, None, None))
            if usual is not None:
                rows.append(
                    {
                        "field_id": i,
                        "sown": bool(planned.sown),
                        "sow_date": week,
                        "event": event,
                        "early_mmdd": early,
                        "usual_mmdd": usual,
                        "late_mmdd": late,
                        "n_years": int(told.sum()),
                    }
                )
    return pd.DataFrame(rows, columns=_COLUMNS).astype({"sown": bool})


def _days(start: date, days: ArrayLike) -> tuple[str | None, str | None, str | None]:
    known = np.asarray(days, dtype=float)
    known = known[np.isfinite(known)]
    if not len(known):
        return None, None, None
    # Halves are rounded up, so that two days stay as far apart as they were.
    early, usual, late = (
        f"{start + timedelta(days=math.floor(float(d) + 0.5)):%m-%d}"
        for d in np.quantile(known, _SPREAD)
    )
    return early, usual, late


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None
