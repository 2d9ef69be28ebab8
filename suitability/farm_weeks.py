"""The whole farm by sowing week: in how many years in ten it works, on the ground free then."""

import pandas as pd


def farm_weeks(weeks: pd.DataFrame, ground_ha: "pd.Series[float]") -> pd.DataFrame:
    """Odds of each sowing week, averaged over the fields that stand empty then, by their ground.

    Parameters
    ----------
    weeks : one row a field and sowing week with ``works_years_in_ten`` (``week_odds.week_odds``).
    ground_ha : ground that counts, by field_id; fields without any count nowhere, unless none of
        the fields has any.

    Returns
    -------
    DataFrame by the order of the year: sow_date, works_years_in_ten, n_fields, ground_ha.
    """
    own = weeks["field_id"].map(ground_ha).fillna(0.0)
    if not (own > 0).any():
        own = own + 1.0
    table = weeks.assign(ground_ha=own, works_ha=own * weeks["works_years_in_ten"])
    table = table[table["ground_ha"] > 0]
    sums = table.groupby("sow_date").agg(
        n_fields=("field_id", "nunique"),
        ground_ha=("ground_ha", "sum"),
        works_years_in_ten=("works_ha", "sum"),
    )
    sums["works_years_in_ten"] = sums["works_years_in_ten"] / sums["ground_ha"]
    return sums.reset_index()[["sow_date", "works_years_in_ten", "n_fields", "ground_ha"]]


def farm_years_in_ten(verdicts: pd.DataFrame) -> float:
    """Years in ten that the crop works, each field at its recommended week, by its sowable ground.

    Parameters
    ----------
    verdicts : VERDICTS table; fields without odds or without sowable ground count nowhere.

    Returns
    -------
    NaN where no field counts.
    """
    known = verdicts[(verdicts["sowable_ha"] > 0) & verdicts["works_years_in_ten"].notna()]
    ground = known["sowable_ha"].astype(float)
    if not len(known):
        return float("nan")
    return float((known["works_years_in_ten"].astype(float) * ground).sum() / ground.sum())
