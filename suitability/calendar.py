"""When each field is warm, sown, up, grazed or cut, ended and sown again; each with its spread."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

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
)
_YEAR = 2001  # a year without a leap day stands for all
_LAST_OF_WEEK_D = 6
_SPREAD = (0.1, 0.5, 0.9)


def calendar(plan: Plan, fields: pd.DataFrame, verdicts: pd.DataFrame) -> pd.DataFrame:
    """Dates of every field that could be planned, in its week of the plan or its best one.

    Parameters
    ----------
    plan : of ``plan.make_plan``. fields, verdicts : tables of the contract.

    Returns
    -------
    DataFrame: field_id, sown (by the plan), event (of EVENTS), early_mmdd, usual_mmdd, late_mmdd
    (MM-DD; None where not known) and n_years behind them. The spread is 1 to 9 years of 10, over
    the years with a stand; of ``soil_warm``, 5 and 8 years of 10; of ``sow``, the week. A stand is
    ended before the first pods, before the gap closes, and by the first killing cold. Fields grown
    as cover have no days of feed. No row is made where nothing is known.
    """
    ground, stand = plan.ground, plan.ground.stand
    about = verdicts.set_index("field_id")
    closes = fields.set_index("field_id")["gap_closes"]
    column = {week: w for w, week in enumerate(stand.weeks)}
    row_of = {i: f for f, i in enumerate(stand.field_ids)}
    rows: list[dict[str, Any]] = []
    for planned in plan.fields.itertuples(index=False):
        i, week = str(planned.field_id), planned.sow_date
        if i not in row_of or week not in column:
            continue
        f, w = row_of[i], column[week]
        start = date.fromisoformat(f"{_YEAR}-{week}")
        up = stand.end_d[f, :, w] > 0
        sown_d = stand.sown_d[f, :, w]
        end_d = np.minimum(stand.end_d[f, :, w], ground.window.pods_d[f, :, w])
        dates: dict[str, tuple[str | None, str | None, str | None]] = {
            "soil_warm": (
                None,
                _text(about.loc[i, "soil_65f_held_p50"]),
                _text(about.loc[i, "soil_65f_held_p80"]),
            ),
            "sow": (week, week, f"{start + timedelta(days=_LAST_OF_WEEK_D):%m-%d}"),
            "check_stand": _days(start, (sown_d + stand.emerged_d[f, :, w])[up]),
            "end_stand": _days(start, (sown_d + end_d)[up]),
            "next_seeding": (None, _text(closes.get(i)), None),
        }
        if planned.use != "cover":
            dates["feed_opens"] = _days(start, sown_d + ground.window.opens_d[f, :, w])
            dates["feed_closes"] = _days(start, sown_d + ground.window.closes_d[f, :, w])
        for event in EVENTS:
            early, usual, late = dates.get(event, (None, None, None))
            if usual is not None:
                rows.append(
                    {
                        "field_id": i,
                        "sown": bool(planned.sown),
                        "event": event,
                        "early_mmdd": early,
                        "usual_mmdd": usual,
                        "late_mmdd": late,
                        "n_years": int(up.sum()),
                    }
                )
    names = ["field_id", "sown", "event", "early_mmdd", "usual_mmdd", "late_mmdd", "n_years"]
    return pd.DataFrame(rows, columns=names).astype({"sown": bool})


def _days(start: date, days: ArrayLike) -> tuple[str | None, str | None, str | None]:
    known = np.asarray(days, dtype=float)
    known = known[np.isfinite(known)]
    if not len(known):
        return None, None, None
    early, usual, late = (
        f"{start + timedelta(days=round(float(d))):%m-%d}" for d in np.quantile(known, _SPREAD)
    )
    return early, usual, late


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None
