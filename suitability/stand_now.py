"""A stand sown this year: when grazing opens and closes, and how tall it is today."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.feed_window import WindowRule, feed_window
from suitability.field_stand import at_age, field_stand
from suitability.sowing_weeks import week_grid
from suitability.years import Years

Spread = tuple[float, float, float]
_SPREAD = (0.1, 0.5, 0.9)
_UNKNOWN: Spread = (np.nan, np.nan, np.nan)


@dataclass(frozen=True)
class StandNow:
    """Days after sowing on which grazing opens and closes, and what stands today.

    Each is early, usual and late (1, 5 and 9 years of 10); NaN where no year comes so far. Of years
    with a stand only; ``up_years_in_ten`` have one. ``height_m`` is simulated; ``carried_height_m``
    is a height measured in the field carried on to today, NaN where none was.
    """

    opens_d: Spread
    closes_d: Spread
    height_m: Spread
    carried_height_m: Spread
    dry_matter_kg_ha: Spread
    up_years_in_ten: float


def stand_now(
    years: Years,
    fields: pd.DataFrame,
    field_id: str,
    sown: date,
    age_d: int,
    seed_type: str,
    rule: WindowRule,
    crop: Crop,
    seen: tuple[int, float] | None = None,
) -> StandNow | None:
    """A stand sown on a day of this year; None where its sowing week is not simulated.

    Parameters
    ----------
    years : made on spliced weather, so that what fell since the sowing counts. age_d : days from
        the sowing to today. seen : days from the sowing to a measurement, and the height [m] then.
        In each year the simulated heights are taken larger or smaller by as much, and grazing opens
        by these; a year with nothing standing on that day opens by its days alone.
    """
    week = max((w for w in week_grid() if w <= f"{sown:%m-%d}"), default="")
    simulated = years.simulated.weeks
    if week not in simulated or field_id not in set(years.parts["field_id"]):
        return None
    stand = field_stand(years.simulated, years.parts, fields, [field_id])
    w = simulated.index(week)
    end_d = stand.end_d[0, :, w]
    known = ~np.isnan(end_d)
    if not known.any():
        return None
    today = np.full(end_d.shape, age_d, dtype=np.float32)
    up = end_d > 0
    height_m = _spread(at_age(stand.height_m[0, :, w], stand.ages_d, today)[up])
    carried_m = _UNKNOWN
    if seen is not None:
        seen_d, seen_m = seen
        then_m = at_age(
            stand.height_m, stand.ages_d, np.full(stand.end_d.shape, seen_d, np.float32)
        )
        factor = np.where(then_m > 0, seen_m / np.where(then_m > 0, then_m, 1.0), np.nan)
        stand = replace(stand, height_m=(stand.height_m * factor[..., None]).astype(np.float32))
        carried_m = _spread(at_age(stand.height_m[0, :, w], stand.ages_d, today)[up])
    lat_deg = fields.set_index("field_id")["lat_deg"].reindex([field_id]).to_numpy(dtype=float)
    window = feed_window(stand, lat_deg, seed_type, rule, crop)
    return StandNow(
        opens_d=_spread(window.opens_d[0, :, w]),
        closes_d=_spread(window.closes_d[0, :, w]),
        height_m=height_m,
        carried_height_m=carried_m,
        dry_matter_kg_ha=_spread(at_age(stand.dry_matter_kg_ha[0, :, w], stand.ages_d, today)[up]),
        up_years_in_ten=10 * float(up[known].mean()),
    )


def _spread(values: NDArray[np.float64]) -> Spread:
    known = values[~np.isnan(values)]
    if not len(known):
        return _UNKNOWN
    early, usual, late = (float(v) for v in np.quantile(known, _SPREAD))
    return early, usual, late
