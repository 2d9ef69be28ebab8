"""The calendar days of first flower and first pods, by field, for its recommended sowing week."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.flowering import flowering
from suitability.stand_run import EMERGED_D, SOWN_D, STAND
from suitability.years import Years

COLUMNS = ("seed_type", "first_flower_mmdd", "latest_flower_mmdd", "first_pods_mmdd")
_YEAR = 2001  # a year without a leap day stands for all


def flowering_columns(
    years: Years, lat_deg: "pd.Series[float]", seed_type: str, crop: Crop
) -> pd.DataFrame:
    """Rough range of the first flower, and the first pods, of each field.

    Parameters
    ----------
    years : the simulated farm; the recommended week and the median day of emergence of its parts,
        weighted by their ground, are taken from it.
    lat_deg : latitude by field_id, north positive [deg].
    seed_type : one of ``flowering.SEED_TYPES``.

    Returns
    -------
    DataFrame indexed by field_id with COLUMNS, days as MM-DD; None where no stand ever comes up, or
    where it does not flower within a year.
    """
    weeks = {week: i for i, week in enumerate(years.simulated.weeks)}
    parts = years.parts[(years.parts["case"] >= 0) & years.parts["field_id"].isin(years.best.index)]
    week = parts["field_id"].map(years.best["sow_date"]).map(weeks).to_numpy(dtype=int)
    up_d = _median_emergence_d(years.simulated.result)[parts["case"].to_numpy(dtype=int), week]
    known = ~np.isnan(up_d)
    ground = parts.loc[known, "area_ha"]
    weighted = (ground * up_d[known]).groupby(parts.loc[known, "field_id"]).sum()
    mean_d = weighted / ground.groupby(parts.loc[known, "field_id"]).sum()
    dates: dict[tuple[date, float], list[str | None]] = {}  # fields share day and latitude
    rows = {}
    for field_id, after_d in mean_d.items():
        sown = _day(str(years.best.at[field_id, "sow_date"]))
        key = sown + timedelta(days=round(float(after_d))), round(float(lat_deg[field_id]), 2)
        if key not in dates:
            dates[key] = _dates(*key, seed_type, crop)
        rows[field_id] = [seed_type, *dates[key]]
    table = pd.DataFrame.from_dict(rows, orient="index", columns=list(COLUMNS), dtype=object)
    return table.reindex(years.best.index)


def _median_emergence_d(result: NDArray[np.float32]) -> NDArray[np.float64]:
    """Days from the first day of the week until it is up, by case and week; NaN without a stand."""
    after_d = result[..., SOWN_D].astype(float) + result[..., EMERGED_D] - 1
    after_d = np.where(result[..., STAND] != 0, after_d, np.nan)
    some = ~np.isnan(after_d).all(axis=1)
    found = np.full(some.shape, np.nan)
    if some.any():
        case, week = np.nonzero(some)
        found[some] = np.nanmedian(after_d[case, :, week], axis=1)
    return found


def _dates(up: date, lat_deg: float, seed_type: str, crop: Crop) -> list[str | None]:
    found = flowering(up.timetuple().tm_yday, lat_deg, seed_type, crop)
    days = (found.first_flower_d, found.latest_flower_d, found.first_pods_d)
    return [
        None if np.isnan(d) else (up + timedelta(days=round(d))).strftime("%m-%d") for d in days
    ]


def _day(mmdd: str) -> date:
    month, day = (int(part) for part in mmdd.split("-"))
    return date(_YEAR, month, day)
