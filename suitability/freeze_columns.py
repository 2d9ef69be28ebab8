"""The freeze dates that stand in the verdict of a field, out of its table of freeze dates."""

import numpy as np
import pandas as pd

from suitability.columns import FREEZE_COLUMNS
from suitability.freeze_odds import threshold_of_f
from suitability.july_days import YEAR_END, july_day

# Tables in whole tenths of degC give 28 F as -2.2.
_SAME_THRESHOLD_C = 0.06
# Column of the verdicts: event, temperature [F], odds [pct].
_DATES = {
    "last_freeze_p10": ("last_spring", 32, 10),
    "last_freeze_p50": ("last_spring", 32, 50),
    "first_freeze_p10": ("first_autumn", 32, 10),
    "first_freeze_p50": ("first_autumn", 32, 50),
    "first_freeze_28f_p10": ("first_autumn", 28, 10),
    "first_freeze_28f_p50": ("first_autumn", 28, 50),
}


def freeze_columns(frost: pd.DataFrame) -> pd.DataFrame:
    """Freeze dates of each field, as VERDICTS declares them.

    Parameters
    ----------
    frost : FROST table.

    Returns
    -------
    Indexed by field_id: dates MM-DD, None where not known or where no freeze comes by then, and
    ``freeze_years_in_ten``: years in ten with a 28 F freeze by 31 December. Where the table does
    not state the latter, it is read off the dates of the first 28 F freeze by odds: linear between
    two dates; beyond the outermost ones with the slope of the nearest tenth, within 0 and the
    years that have such a freeze at all. Our judgement.
    """
    table = pd.DataFrame(index=pd.Index(frost["field_id"].unique(), name="field_id"))
    for column, (event, threshold_f, odds_pct) in _DATES.items():
        rows = _of(frost, event, threshold_f)
        rows = rows[rows["prob_pct"] == odds_pct].set_index("field_id")
        dates = rows["date_mmdd"].reindex(table.index).astype(object)
        table[column] = dates.where(dates.notna(), None)
    killing = _of(frost, "first_autumn", 28).groupby("field_id")
    years = {field_id: _by_year_end(rows) for field_id, rows in killing}
    table["freeze_years_in_ten"] = pd.Series(years, dtype=float).reindex(table.index)
    return table[list(FREEZE_COLUMNS)]


def _of(frost: pd.DataFrame, event: str, threshold_f: float) -> pd.DataFrame:
    near = (frost["threshold_c"] - threshold_of_f(threshold_f)).abs() <= _SAME_THRESHOLD_C
    return frost[near & (frost["event"] == event)]


def _by_year_end(rows: pd.DataFrame) -> float:
    """Years in ten with a freeze by 31 December, of one field and temperature."""
    stated = rows["by_year_end_years_in_ten"].dropna()
    if len(stated):
        return float(stated.iloc[0])
    at_all = rows["freeze_years_in_ten"].dropna()
    most = float(at_all.iloc[0]) if len(at_all) else 10.0
    dated = rows.dropna(subset=["date_mmdd"]).sort_values("prob_pct")
    days = dated["date_mmdd"].map(july_day).to_numpy(dtype=float)
    odds = dated["prob_pct"].to_numpy(dtype=float) / 10
    days, last_of_day = np.unique(days[::-1], return_index=True)  # of equal days the highest odds
    odds = odds[::-1][last_of_day]
    if len(days) < 2:
        return 0.0 if most == 0 else float("nan")
    if YEAR_END < days[0] or YEAR_END > days[-1]:
        end = slice(0, 2) if YEAR_END < days[0] else slice(-2, None)
        slope = np.diff(odds[end])[0] / np.diff(days[end])[0]
        value = odds[end][0] + slope * (YEAR_END - days[end][0])
    else:
        value = np.interp(YEAR_END, days, odds)
    return float(np.clip(value, 0, most))
