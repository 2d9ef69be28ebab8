"""When a stand can be grazed or cut: from an age or height on, until its quality is gone."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from suitability.crop import Crop
from suitability.field_stand import FieldStand
from suitability.flowering import flowering

Floats = NDArray[np.float64]
_YEAR = 2001  # a year without a leap day stands for all
_YEAR_D = 365
NITROGEN_TO_PROTEIN = 6.25  # crude protein is defined so


@dataclass(frozen=True)
class WindowRule:
    """Opens at ``opens_d`` or ``opens_height_m``, whichever comes first.

    Closes where crude protein of the whole plant falls under ``least_protein_pct``, at ``closes_d``
    and at the first pods, whichever comes first.
    """

    opens_d: float
    opens_height_m: float
    closes_d: float
    least_protein_pct: float


@dataclass(frozen=True)
class FeedWindow:
    """Days after sowing, arrays (field, year, week); NaN where no window opens.

    ``pods_d`` is the first day with pods (the early end of a wide range), infinite where there are
    none within a year.
    """

    opens_d: Floats
    closes_d: Floats
    pods_d: Floats


def window_rule(
    crop: Crop,
    opens_d: float | None = None,
    opens_height_m: float | None = None,
    closes_d: float | None = None,
) -> WindowRule:
    """The crop file's rule, with what the grower sets instead."""
    return WindowRule(
        crop.number("feed.opens_d") if opens_d is None else opens_d,
        crop.number("feed.opens_height_m") if opens_height_m is None else opens_height_m,
        crop.number("feed.closes_d") if closes_d is None else closes_d,
        crop.number("feed.least_protein_pct"),
    )


def feed_window(
    stand: FieldStand, lat_deg: NDArray[np.float64], seed_type: str, rule: WindowRule, crop: Crop
) -> FeedWindow:
    """Window of every stand.

    Parameters
    ----------
    stand : of ``field_stand``. lat_deg : (field,). seed_type : of ``flowering.SEED_TYPES``.
    """
    ages = stand.ages_d
    tall = _first_age(stand.height_m >= rule.opens_height_m, stand.height_m, rule, ages)
    opens = np.minimum(tall, rule.opens_d)
    pods = _pods_d(stand, lat_deg, seed_type, crop)
    standing = stand.dry_matter_kg_ha > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        protein = 100 * NITROGEN_TO_PROTEIN * stand.nitrogen_kg_ha / stand.dry_matter_kg_ha
    poor = _poor_d(protein, standing, rule.least_protein_pct, ages)
    closes = np.minimum(np.minimum(np.minimum(poor, rule.closes_d), pods), stand.end_d)
    open_at_all = closes > opens  # false for NaN
    return FeedWindow(
        np.where(open_at_all, opens, np.nan), np.where(open_at_all, closes, np.nan), pods
    )


def _first_age(
    reached: NDArray[np.bool_], height_m: NDArray[np.float32], rule: WindowRule, ages: Floats
) -> Floats:
    """Age at which the height is reached, on a straight line between the ages kept."""
    any_reached = reached.any(axis=-1)
    i = np.argmax(reached, axis=-1)
    before = np.maximum(i - 1, 0)
    high = np.take_along_axis(height_m, i[..., None], axis=-1)[..., 0]
    low = np.take_along_axis(height_m, before[..., None], axis=-1)[..., 0]
    rise = np.where(high > low, high - low, 1.0)
    share = np.where(i > 0, np.clip((rule.opens_height_m - low) / rise, 0.0, 1.0), 0.0)
    age = ages[before] + share * (ages[i] - ages[before])
    return np.where(any_reached, age, np.inf)


def _poor_d(
    protein_pct: NDArray[np.float32], standing: NDArray[np.bool_], least_pct: float, ages: Floats
) -> Floats:
    """First age at which protein is under the limit, on a straight line; infinite if never."""
    poor = standing & (protein_pct < least_pct)
    i = np.argmax(poor, axis=-1)
    before = np.maximum(i - 1, 0)
    now = np.take_along_axis(protein_pct, i[..., None], axis=-1)[..., 0]
    then = np.take_along_axis(protein_pct, before[..., None], axis=-1)[..., 0]
    fall = np.where(then > now, then - now, 1.0)
    share = np.where(then > now, np.clip((then - least_pct) / fall, 0.0, 1.0), 1.0)
    age = ages[before] + share * (ages[i] - ages[before])
    return np.where(poor.any(axis=-1), age, np.inf)


def _pods_d(stand: FieldStand, lat_deg: NDArray[np.float64], seed_type: str, crop: Crop) -> Floats:
    pods = np.full(stand.end_d.shape, np.inf)
    came_up_d = stand.sown_d + stand.emerged_d
    up = (stand.end_d > 0) & ~np.isnan(came_up_d)
    first = [date.fromisoformat(f"{_YEAR}-{week}").timetuple().tm_yday for week in stand.weeks]
    up_doy = (np.array(first) - 1 + np.rint(came_up_d)) % _YEAR_D + 1
    near_deg = np.array([round(float(lat), 1) for lat in lat_deg])
    for lat in np.unique(near_deg):
        here = up & (near_deg == lat)[:, None, None]
        doys, of_stand = np.unique(up_doy[here], return_inverse=True)
        found = [flowering(int(doy), float(lat), seed_type, crop).first_pods_d for doy in doys]
        after_d = np.array(found)[of_stand]
        pods[here] = np.where(np.isnan(after_d), np.inf, stand.emerged_d[here] + after_d)
    return pods
