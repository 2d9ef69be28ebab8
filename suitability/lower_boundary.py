"""The ground below a soil: fitted once, so that the survey's own water table comes out."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled
from suitability.ground_position import ground_row
from suitability.horizon_water import setting
from suitability.profile import Profiles, soil_rows
from suitability.published import table
from suitability.soil_column import (
    BASE_CM,
    COLUMN_CM,
    CONDUCTANCE,
    OUT_SIZE,
    STATE_SIZE,
    WATER_TABLE_CM,
    start_state,
)
from suitability.soil_water import water_step

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MONTHLY = "monthly water table"
BY_CLASS = "drainage class"
_BASES_CM = (-20.0, 0.0, 15.0, 30.0, 50.0, 75.0, 100.0, 130.0, 170.0, 250.0, 400.0)
_CONDUCTANCES_PER_D = (1e-4, 4e-4, 1.5e-3, 5e-3, 0.015, 0.05, 0.2)
_REFINEMENTS = 3
_LEAST_MONTHS = 6


@dataclass(frozen=True)
class LowerBoundary:
    """What was fitted, to what, and how near it comes. Agreement is calibration, not proof.

    ``base_cm`` depth of the water outside, negative above the surface; ``conductance_per_d`` mm/d
    per mm of head; ``fitted_to`` MONTHLY, BY_CLASS or empty (not fitted: base and conductance are
    NaN); ``error_cm`` mean absolute difference of the months compared; ``n_months`` compared and
    ``n_agree`` of them that agree within ``match_cm`` of ``tables/soil_water.csv``; ``table_cm``
    the twelve mean water tables that come out, ``target_cm`` the twelve aimed at (NaN: none).
    """

    base_cm: float
    conductance_per_d: float
    fitted_to: str
    error_cm: float
    n_months: int
    n_agree: int
    table_cm: Floats
    target_cm: Floats


def fit_lower_boundary(
    profile: Profiles,
    row: int,
    months: pd.DataFrame,
    drainage_class: str | None,
    rain_mm: ArrayLike,
    et0_mm: ArrayLike,
    month: ArrayLike,
) -> LowerBoundary:
    """Find the water outside the column that makes the survey's wetness come out.

    Parameters
    ----------
    profile, row : one component.
    months : MONTHS table; only the rows of this component are used.
    drainage_class : one of ``columns.DRAINAGE_CLASSES``; used where the survey lists no water
        table for at least half of the months. None: nothing to fit to.
    rain_mm, et0_mm, month : daily weather of the place in order of days [mm, mm, 1-12]; days with
        a missing number are passed over. At most ``fit_years`` of ``tables/soil_water.csv``.

    Returns
    -------
    LowerBoundary; not fitted where the component or its wetness is not known.

    Notes
    -----
    The column runs under turf in the place the survey describes (``unplaced``), over a fixed grid
    of bases and conductances that is narrowed three times around the best; nothing is random. A
    month's table is the mean over its days. The sum compared weighs a centimetre near the surface
    more than one far down: ln(1 + depth / near_surface_cm).
    """
    unknown = np.full(12, np.nan)
    aim = _aim(profile.cokeys[row], months, drainage_class)
    if not profile.known[row] or aim is None:
        return LowerBoundary(np.nan, np.nan, "", np.nan, 0, 0, unknown, unknown)
    record = _record(rain_mm, et0_mm, month)
    soil, ground = soil_rows(profile, row), ground_row(profile, row, COLUMN_CM, 0.0)
    cover = np.array([setting(f"fit_{n}") for n in ("basal_kc", "cover_frac", "root_cm")])
    drainable = float((profile.saturation_frac - profile.capacity_frac)[row].min())

    def simulated_cm(base_cm: float, per_d: float) -> Floats:
        ground[BASE_CM] = base_cm
        ground[CONDUCTANCE] = per_d * drainable / (drainable + per_d)
        return _monthly_table_cm(soil, ground, *record, cover, setting("fit_depletion_frac"))

    def misfit(base_cm: float, per_d: float) -> float:
        table_cm = simulated_cm(base_cm, per_d)
        return float(np.nanmean(np.abs(_felt(table_cm) - _felt(aim.of(table_cm)))))

    base_cm, per_d = _search(misfit)
    table_cm = simulated_cm(base_cm, per_d)
    target_cm = aim.of(table_cm)
    compared = ~np.isnan(target_cm)
    deep = setting("dry_from_cm")
    apart = np.abs(np.minimum(table_cm, deep) - np.minimum(target_cm, deep))
    return LowerBoundary(
        base_cm=base_cm,
        conductance_per_d=per_d,
        fitted_to=aim.kind,
        error_cm=float(np.abs(table_cm - target_cm)[compared].mean()),
        n_months=int(compared.sum()),
        n_agree=int((apart[compared] <= setting("match_cm")).sum()),
        table_cm=table_cm,
        target_cm=target_cm,
    )


def _felt(depth_cm: Floats) -> Floats:
    return np.log1p(depth_cm / setting("near_surface_cm"))


@dataclass(frozen=True)
class _Aim:
    """Twelve tables [cm], NaN where nothing is said; ``or_deeper`` where deeper is as good.

    With ``by_wetness`` the first of ``table_cm`` belongs to the wettest simulated ones.
    """

    kind: str
    table_cm: Floats
    or_deeper: NDArray[np.bool_]
    by_wetness: bool

    def of(self, table_cm: Floats) -> Floats:
        """The tables to compare ``table_cm`` with."""
        target, deeper = self.table_cm, self.or_deeper
        if self.by_wetness:
            rank = np.argsort(np.argsort(table_cm, kind="stable"), kind="stable")
            target, deeper = target[rank], deeper[rank]
        return np.where(deeper, np.fmax(table_cm, target), target)


def _aim(cokey: str, months: pd.DataFrame, drainage_class: str | None) -> _Aim | None:
    """The survey's twelve water tables, or else the definition of the drainage class."""
    mine = months[months["cokey"] == cokey].set_index("month").reindex(range(1, 13))
    wet = mine["water_table_cm"].to_numpy(dtype=float)
    dry_to = mine["moisture_listed_to_cm"].to_numpy(dtype=float)
    listed = np.minimum(np.where(np.isnan(wet), dry_to, wet), COLUMN_CM)
    if np.isfinite(listed).sum() >= _LEAST_MONTHS:
        return _Aim(MONTHLY, listed, np.isnan(wet), by_wetness=False)
    if drainage_class is None or pd.isna(drainage_class):
        return None
    row = table("drainage_classes").set_index("drainage_class").loc[drainage_class]
    is_wet = np.arange(12) < int(row["wet_months"])
    depths = np.where(is_wet, float(row["aim_cm"]), float(row["deep_cm"]))
    return _Aim(BY_CLASS, depths, ~is_wet, by_wetness=True)


def _search(misfit: Callable[[float, float], float]) -> tuple[float, float]:
    tried = {(b, c): misfit(b, c) for b in _BASES_CM for c in _CONDUCTANCES_PER_D}
    base_step, factor = 0.5, 2.0
    for _ in range(_REFINEMENTS):
        base, per_d = min(tried, key=lambda k: (tried[k], k))
        spread = max(10.0, abs(base)) * base_step
        for b in (base - spread, base, base + spread):
            for c in (per_d / factor, per_d, per_d * factor):
                if (b, c) not in tried:
                    tried[b, c] = misfit(b, c)
        base_step, factor = base_step / 2, factor**0.5
    return min(tried, key=lambda k: (tried[k], k))


def _record(rain_mm: ArrayLike, et0_mm: ArrayLike, month: ArrayLike) -> tuple[Floats, Floats, Ints]:
    days = int(setting("fit_years") * 366)
    rain, et0 = np.asarray(rain_mm, dtype=float), np.asarray(et0_mm, dtype=float)
    whole = ~(np.isnan(rain) | np.isnan(et0))
    months = np.asarray(month, dtype=np.int64)
    return rain[whole][-days:], et0[whole][-days:], months[whole][-days:]


@compiled
def _monthly_table_cm(
    soil: Floats,
    ground: Floats,
    rain_mm: Floats,
    et0_mm: Floats,
    month: Ints,
    cover: Floats,
    depletion_frac: float,
) -> Floats:
    """Mean water table of the twelve months [cm]; the first year only wets the column."""
    state, out = np.zeros(STATE_SIZE), np.zeros(OUT_SIZE)
    sums, days = np.zeros(12), np.zeros(12)
    start_state(state, soil)
    spin_up = min(365, len(rain_mm) // 2)
    for day in range(len(rain_mm)):
        water_step(
            state,
            soil,
            ground,
            rain_mm[day],
            0.0,
            0.0,
            et0_mm[day],
            cover[0],
            cover[1],
            cover[2],
            depletion_frac,
            out,
        )
        if day >= spin_up:
            sums[month[day] - 1] += out[WATER_TABLE_CM]
            days[month[day] - 1] += 1.0
    for m in range(12):
        sums[m] = sums[m] / days[m] if days[m] > 0.0 else np.nan
    return sums
