"""What stands on a field at each age, in every year, for every sowing week."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.compiled import compiled
from suitability.engine import Simulated
from suitability.gap import gap_days
from suitability.sowing_weeks import weeks_in
from suitability.stand_run import (
    AGE_STEP_D,
    DROWNED_D,
    DRY_MATTER_KG_HA,
    EMERGED_D,
    END_D,
    HEIGHT_M,
    KNOWN_D,
    NITROGEN_KG_HA,
    SOWN_D,
    STAND,
)

Numbers = NDArray[np.float32]
_KEPT = (DRY_MATTER_KG_HA, HEIGHT_M, NITROGEN_KG_HA)
_LATE = 1e6  # days: no cold and no close before the stand is left


@dataclass(frozen=True)
class FieldStand:
    """Arrays (field, year, week) and, of what stands, (field, year, week, age).

    Ages are days after sowing in steps of 5 from 0, where nothing stands. Means are over the known
    ground of the field; ground without a stand counts with nothing on it, and so does one that
    drowned; after any other end it counts with what it had. NaN where not simulated. ``sown_d``
    counts from the first day of the sowing week; ``emerged_d`` and ``end_d`` from sowing and belong
    to the largest part with a stand; ``end_d`` is 0 without one.
    """

    field_ids: tuple[str, ...]
    years: tuple[int, ...]
    weeks: tuple[str, ...]
    ages_d: NDArray[np.float64]
    dry_matter_kg_ha: Numbers
    height_m: Numbers
    nitrogen_kg_ha: Numbers
    sown_d: Numbers
    emerged_d: Numbers
    end_d: Numbers


def field_stand(
    simulated: Simulated, parts: pd.DataFrame, fields: pd.DataFrame, field_ids: Iterable[str]
) -> FieldStand:
    """Gather the stands of some fields.

    Parameters
    ----------
    simulated : of ``engine.simulate``. parts : as ``Years.parts``: field_id, ``case``, area_ha.
    fields : FIELDS table with gap_opens and gap_closes. field_ids : the fields wanted.
    """
    ids = tuple(field_ids)
    gap = fields.set_index("field_id")[["gap_opens", "gap_closes"]]
    largest_first = parts[parts["case"] >= 0].sort_values("area_ha", ascending=False, kind="stable")
    of_field = dict(iter(largest_first.groupby("field_id")[["case", "area_ha"]]))
    n_ages = simulated.standing.shape[3]
    shape = (len(ids), len(simulated.years), len(simulated.weeks))
    standing = np.full((3, *shape, n_ages + 1), np.nan, dtype=np.float32)
    days = np.full((3, *shape), np.nan, dtype=np.float32)
    ages = np.arange(n_ages + 1) * float(AGE_STEP_D)
    for f, field_id in enumerate(ids):
        mine = of_field.get(field_id, largest_first.iloc[:0])
        opens, closes = gap.loc[field_id]
        close = _close_d(simulated.weeks, opens, closes)
        known_ha = np.zeros(shape[1:])
        sums = np.zeros((3, *shape[1:], n_ages + 1))
        for case, area_ha in zip(mine["case"], mine["area_ha"], strict=True):
            result = simulated.result[case]
            end, known = _end_d(result, close, n_ages)
            stand = known & (end > 0)
            drowned_d = result[..., DROWNED_D]
            drowned = (drowned_d > 0) & (drowned_d <= end)
            _add_to_the_last(simulated.standing[case], stand, end, drowned, ages, area_ha, sums)
            known_ha += area_ha * known
            first = known & (np.isnan(days[0, f]) | (stand & np.isnan(days[1, f])))
            for row, value in enumerate((result[..., SOWN_D], result[..., EMERGED_D], end)):
                days[row, f] = np.where(first, value, days[row, f])
        whole = known_ha > 0
        standing[:, f] = np.where(
            whole[..., None], sums / np.where(whole, known_ha, 1.0)[..., None], np.nan
        )
    return FieldStand(ids, simulated.years, simulated.weeks, ages, *standing, *days)


def at_age(values: Numbers, ages_d: NDArray[np.float64], age_d: Numbers) -> NDArray[np.float64]:
    """Value at an age, on a straight line between the ages that were kept.

    Parameters
    ----------
    values : (..., age). ages_d : (age,), in equal steps from 0. age_d : (...); NaN gives NaN.

    Notes
    -----
    Nothing is kept after the end of a stand: between the last age kept and its end it is taken to
    stand still.
    """
    step = ages_d[1] - ages_d[0]
    place = np.clip(np.nan_to_num(age_d, nan=0.0) / step, 0, len(ages_d) - 1)
    low = np.floor(place).astype(int)
    high = np.minimum(low + 1, len(ages_d) - 1)
    first = np.take_along_axis(values, low[..., None], axis=-1)[..., 0].astype(float)
    second = np.take_along_axis(values, high[..., None], axis=-1)[..., 0].astype(float)
    second = np.where(second == 0.0, first, second)
    result: NDArray[np.float64] = first + (place - low) * (second - first)
    return np.where(np.isnan(age_d), np.nan, result)


@compiled
def _add_to_the_last(
    standing: Numbers,
    stand: NDArray[np.bool_],
    end_d: NDArray[np.float64],
    drowned: NDArray[np.bool_],
    ages_d: NDArray[np.float64],
    area_ha: float,
    sums: NDArray[np.float64],
) -> None:
    """Add one soil of a field to ``sums`` (kind, year, week, age), times its area.

    After its end a stand keeps what it had, or has drowned. Soils of a field that were fit to sow
    some days apart are not of one age on the day on which the whole field is ended: the younger
    ones count with what they had then.
    """
    for y in range(stand.shape[0]):
        for w in range(stand.shape[1]):
            if not stand[y, w]:
                continue
            for kind in range(len(_KEPT)):
                here = 0.0
                for age in range(1, len(ages_d)):
                    if ages_d[age] <= end_d[y, w]:
                        value = standing[y, w, age - 1, _KEPT[kind]]
                        here = 0.0 if np.isnan(value) else float(value)
                    elif drowned[y, w]:
                        break
                    sums[kind, y, w, age] += area_ha * here


def _close_d(weeks: tuple[str, ...], opens: str, closes: str) -> NDArray[np.float64]:
    inside = set(weeks_in(opens, closes))
    return np.array([gap_days(w, closes) if w in inside else np.nan for w in weeks])


def _end_d(
    result: NDArray[np.float32], close: NDArray[np.float64], n_ages: int
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Age at which each stand is over (0: none came up), and which are known."""
    open_d = close - result[..., SOWN_D]
    followed_d = np.minimum(open_d, n_ages * AGE_STEP_D)
    known = result[..., KNOWN_D] >= followed_d  # false for NaN
    # Not known where a hole in the weather after the gap cut the run.
    stand = (result[..., STAND] != 0) & (result[..., EMERGED_D] <= open_d)
    cold = np.where(np.isnan(result[..., END_D]), _LATE, result[..., END_D])
    end = np.minimum(cold, followed_d)
    drowned = result[..., DROWNED_D]
    end = np.where((drowned > 0) & (drowned <= end), drowned, end)
    return np.where(stand, end, 0.0), known
