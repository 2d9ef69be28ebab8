"""In how many years in ten ground stands wet longer than the crop bears after sowing."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.bare_days import BareDays, bare_days
from suitability.crop import Crop
from suitability.engine import Simulated
from suitability.establishment import WET
from suitability.ground_position import ground_row
from suitability.pond_weeks import WetYears
from suitability.ponds import PondCurves, PondState, pond_days
from suitability.prepared import Engine
from suitability.profile import soil_rows
from suitability.soil_column import BASE_CM
from suitability.stand_run import (
    CAUSE,
    DROWNED_D,
    ET0_MM,
    FAILED_D,
    KNOWN_D,
    RAIN_MM,
    RUN_EARLY_D,
)

Floats = NDArray[np.float64]
_CM_PER_M = 100.0
_MOST_POND_DAYS = 1_000_000  # at once: 8 MB an array
_ROOTED_LAYERS = 4  # 0-60 cm: the slowest of them lets pond water into the soil


def part_odds(simulated: Simulated, parts: pd.DataFrame, crop: Crop) -> Floats:
    """Years in ten in which each part is too wet in the weeks after sowing, by sowing week.

    Parameters
    ----------
    simulated : of ``engine.simulate``. parts : with ``case``, -1 for none.

    Returns
    -------
    Array (n_parts, n_weeks) of the weeks simulated: saturated on end for longer than
    ``wet_runs.run_poor_d`` within ``wet_runs.early_d`` days, or no stand because of it; of the
    years whose weather is known for so many days. NaN where it is not simulated.
    """
    result = simulated.result
    early_d = crop.number("wet_runs.early_d")
    # Whatever became of the stand: to count it where it drowned before a hole in the weather, but
    # not where it lived to see the hole, would mislead.
    known = result[..., KNOWN_D] >= early_d
    drowned = result[..., DROWNED_D]
    wet = result[..., RUN_EARLY_D] > crop.number("wet_runs.run_poor_d")
    wet |= (drowned > 0) & (drowned <= early_d)
    wet |= (result[..., FAILED_D] > 0) & (result[..., CAUSE] == WET)
    n_years = known.sum(axis=1)
    of_case = np.full(n_years.shape, np.nan)
    np.divide(10.0 * (wet & known).sum(axis=1), n_years, out=of_case, where=n_years > 0)
    case = parts["case"].to_numpy(dtype=int)
    odds = np.full((len(parts), len(simulated.weeks)), np.nan)
    odds[case >= 0] = of_case[case[case >= 0]]
    return odds


def pond_odds(
    engine: Engine,
    curves: PondCurves,
    catchment_ha: Floats,
    height_m: Floats,
    floor: tuple[str, ...],
    catchment: tuple[str, ...],
    own_soil: NDArray[np.bool_],
    weather_id: str,
    weeks: tuple[str, ...],
) -> dict[str, Floats]:
    """Years in ten in which water stands too long in each depression, by sowing week.

    Parameters
    ----------
    engine : of ``prepared.prepare``. curves, catchment_ha, height_m : of the depressions.
    floor, catchment : (n_ponds,) cokeys of the soil under each pond and of its catchment; a pond
        without either is not simulated.
    own_soil : (n_ponds,) True where the water table of the soil under the pond counts from its
        floor; else it counts from the brim, as that of the ground around.
    weather_id : of the ground. weeks : sowing weeks asked for, MM-DD.

    Returns
    -------
    For each week an array (n_ponds, n_classes); NaN where not simulated.
    """
    crop, record = engine.crop, engine.weather[weather_id]
    cokeys = sorted({*floor, *catchment} - {""})
    days = {cokey: _bare(engine, cokey, weather_id) for cokey in cokeys}
    none = np.full(record.values.shape[1], np.nan)
    by_soil = [*(days[cokey] for cokey in cokeys), BareDays(none, none, none, none)]
    number = {cokey: i for i, cokey in enumerate(cokeys) if days[cokey] is not None}
    soil, around = (np.array([number.get(k, -1) for k in keys]) for keys in (floor, catchment))
    known = (soil >= 0) & (around >= 0)
    ksat = np.array(
        [_intake_mm_d(engine, cokey) if k else 0.0 for cokey, k in zip(floor, known, strict=True)]
    )
    runoff, table, free, lost = (
        np.array([getattr(d or by_soil[-1], name) for d in by_soil])
        for name in ("runoff_mm", "water_table_cm", "free_mm", "lost_mm")
    )
    rain, et0 = record.values[RAIN_MM], record.values[ET0_MM]
    whole = (
        np.isfinite(rain)
        & np.isfinite(et0)
        & np.isfinite(runoff[np.unique(around[known])]).all(axis=0)
    )
    sow_day = [[record.row(year, week) for year in record.years] for week in weeks]
    window = int(crop.number("wet_runs.early_d"))
    years = WetYears(height_m, sow_day, whole, window, crop.number("wet_runs.run_poor_d"))
    # Ground around the pond holds less under the floor than under the brim.
    sunk_cm = np.where(own_soil, 0.0, curves.brim_m - curves.level_m[:, 0])[:, None] * _CM_PER_M
    table_from_m = np.where(own_soil, curves.level_m[:, 0], curves.brim_m)
    state = PondState.dry(curves)
    stretch_d = max(1, _MOST_POND_DAYS // len(floor))
    for first in range(0, len(rain), stretch_d):
        here = slice(first, first + stretch_d)
        below_cm = table[soil, here]
        share = np.clip(1.0 - sunk_cm / np.maximum(below_cm, 1.0), 0.0, 1.0)
        stood = pond_days(
            curves,
            catchment_ha,
            np.where(known[:, None], runoff[around, here], 0.0),
            rain[here],
            et0[here],
            ksat,
            below_cm,
            table_from_m,
            share * free[soil, here],
            lost[soil, here],
            state,
        )
        years.take(stood.level_m)
    return {
        week: np.where(known[:, None], years.years_in_ten(i), np.nan)
        for i, week in enumerate(weeks)
    }


def _bare(engine: Engine, cokey: str, weather_id: str) -> BareDays | None:
    boundary = engine.boundaries.get((cokey, weather_id))
    if boundary is None:  # a soil that only fields of another weather cell have
        others = (b for (key, _), b in engine.boundaries.items() if key == cokey)
        boundary = next(others, None)
    if boundary is None or not boundary.is_fitted:
        return None
    row, record = engine.profile.row(cokey), engine.weather[weather_id]
    ground = ground_row(engine.profile, row, 0.0, boundary.conductance_per_d)
    return bare_days(
        record.values[RAIN_MM],
        record.values[ET0_MM],
        boundary.outside_by_day(record.doy) + ground[BASE_CM],
        soil_rows(engine.profile, row),
        ground,
        engine.crop,
    )


def _intake_mm_d(engine: Engine, cokey: str) -> float:
    return float(engine.profile.ksat_mm_d[engine.profile.row(cokey), :_ROOTED_LAYERS].min())
