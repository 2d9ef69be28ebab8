"""The ground below a soil: fitted once, so that the survey's own water table comes out."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled
from suitability.ground_position import damped_per_d, ground_row, least_drainable_frac
from suitability.horizon_water import setting
from suitability.profile import Profiles, soil_rows
from suitability.published import table
from suitability.side_by_side import LANES, in_lanes, start_lanes, water_step_lanes
from suitability.soil_column import (
    AIR_LIMIT,
    BASE_CM,
    COLUMN_CM,
    CONDUCTANCE,
    OUT_SIZE,
    STATE_SIZE,
    WATER_TABLE_CM,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MONTHLY = "monthly water table"
BY_CLASS = "drainage class"
_BASES_CM = (-20.0, 0.0, 15.0, 30.0, 50.0, 75.0, 100.0, 130.0, 170.0, 250.0, 400.0, 800.0)
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
    of bases and conductances that is narrowed three times around the best; nothing is random.
    Where only the drainage class is known one conductance holds for all classes and the base alone
    is fitted, so that a wetter class is never drier. A
    month's table is the mean over its days. The sum compared weighs a centimetre near the surface
    more than one far down: ln(1 + depth / near_surface_cm).
    """
    unknown = np.full(12, np.nan)
    aim = _aim(profile.cokeys[row], months, drainage_class)
    if not profile.known[row] or aim is None:
        return LowerBoundary(np.nan, np.nan, "", np.nan, 0, 0, unknown, unknown)
    record = _record(rain_mm, et0_mm, month)
    soil, ground = soil_rows(profile, row), ground_row(profile, row, COLUMN_CM, 0.0)
    # What grows on wet ground of old bears it: it goes on drinking, or the ground would stay full.
    ground[AIR_LIMIT] = 0.0
    least = least_drainable_frac(profile, row)

    def tables_cm(tried: list[tuple[float, float]]) -> Floats:
        grounds = []
        for base_cm, per_d in tried:
            grounds.append(ground.copy())
            grounds[-1][BASE_CM], grounds[-1][CONDUCTANCE] = base_cm, damped_per_d(per_d, least)
        return _monthly_tables_cm(soil, grounds, record)[: len(tried)]

    def misfits(tried: list[tuple[float, float]]) -> Floats:
        simulated = tables_cm(tried)
        aims = np.array([aim.of(table_cm) for table_cm in simulated])
        return np.asarray(np.nanmean(np.abs(_felt(simulated) - _felt(aims)), axis=1))

    by_class = setting("class_conductance_per_d")
    base_cm, per_d = _search(misfits, (by_class,) if aim.by_wetness else _CONDUCTANCES_PER_D)
    table_cm = tables_cm([(base_cm, per_d)])[0]
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


def _search(
    misfits: Callable[[list[tuple[float, float]]], Floats], conductances: tuple[float, ...]
) -> tuple[float, float]:
    """The base and conductance of the least misfit; ties go to the lower number."""
    tried: dict[tuple[float, float], float] = {}

    def try_out(pairs: list[tuple[float, float]]) -> tuple[float, float]:
        new = [pair for pair in pairs if pair not in tried]
        for i in range(0, len(new), LANES):
            some = new[i : i + LANES]
            tried.update(zip(some, misfits(some).tolist(), strict=True))
        return min(tried, key=lambda pair: (tried[pair], pair))

    base_cm, per_d = try_out([(b, c) for b in _BASES_CM for c in conductances])
    step, factor = 0.5, 2.0
    for _ in range(_REFINEMENTS):
        spread = max(10.0, abs(base_cm)) * step
        bases = (base_cm - spread, base_cm, base_cm + spread)
        around = (per_d / factor, per_d, per_d * factor) if len(conductances) > 1 else (per_d,)
        base_cm, per_d = try_out([(b, c) for b in bases for c in around])
        step, factor = step / 2, factor**0.5
    return base_cm, per_d


def _record(rain_mm: ArrayLike, et0_mm: ArrayLike, month: ArrayLike) -> tuple[Floats, Floats, Ints]:
    days = int(setting("fit_years") * 366)
    rain, et0 = np.asarray(rain_mm, dtype=float), np.asarray(et0_mm, dtype=float)
    whole = ~(np.isnan(rain) | np.isnan(et0))
    months = np.asarray(month, dtype=np.int64)
    return rain[whole][-days:], et0[whole][-days:], months[whole][-days:]


def _monthly_tables_cm(
    soil: Floats, grounds: list[Floats], record: tuple[Floats, Floats, Ints]
) -> Floats:
    """Mean water table of the twelve months [cm], one row a ground, under the turf of the fit."""
    columns = in_lanes([soil])
    kc, cover, roots = (
        np.full(LANES, setting(f"fit_{name}")) for name in ("basal_kc", "cover_frac", "root_cm")
    )
    sums, days = _run(
        start_lanes(columns, STATE_SIZE),
        columns,
        in_lanes(grounds),
        *record,
        kc,
        cover,
        roots,
        setting("fit_depletion_frac"),
    )
    with np.errstate(invalid="ignore"):
        return np.asarray((sums / days[:, None]).T)


@compiled
def _run(
    state: Floats,
    soil: Floats,
    ground: Floats,
    rain_mm: Floats,
    et0_mm: Floats,
    month: Ints,
    basal_kc: Floats,
    cover_frac: Floats,
    root_cm: Floats,
    depletion_frac: float,
) -> tuple[Floats, Floats]:
    """Sum of the water tables by month and column, days by month; the first year only wets."""
    out = np.zeros(OUT_SIZE * LANES)
    rain, et0 = np.empty(LANES), np.empty(LANES)
    sums, days = np.zeros((12, LANES)), np.zeros(12)
    first = min(365, len(rain_mm) // 2)
    for day in range(len(rain_mm)):
        rain[:] = rain_mm[day]
        et0[:] = et0_mm[day]
        water_step_lanes(
            state,
            soil,
            ground,
            rain,
            0.0,
            0.0,
            et0,
            basal_kc,
            cover_frac,
            root_cm,
            depletion_frac,
            out,
        )
        if day >= first:
            days[month[day] - 1] += 1.0
            for c in range(LANES):
                sums[month[day] - 1, c] += out[WATER_TABLE_CM * LANES + c]
    return sums, days
