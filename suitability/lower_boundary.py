"""The ground below a soil: fitted once, so that the survey's own water table comes out.

Water stands outside the column at a depth that has its own course over the year: that of the
survey's monthly water table, moved up or down by the fit. It feeds the column where the survey says
that there is water in that month, and nothing feeds it in months that the survey lists as dry.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from suitability.boundary_aim import Aim, aim_of
from suitability.compiled import compiled
from suitability.ground_position import damped_per_d, ground_row, least_drainable_frac
from suitability.horizon_water import setting
from suitability.profile import Profiles, soil_rows
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
_BASES_CM = (-20.0, 0.0, 15.0, 30.0, 50.0, 75.0, 100.0, 130.0, 170.0, 250.0, 400.0, 800.0)
_MOVED_CM = (-120.0, -80.0, -50.0, -30.0, -15.0, 0.0, 15.0, 30.0, 60.0, 100.0, 200.0, 600.0)
_CONDUCTANCES = (0.005, 0.02, 0.075, 0.25, 1.0)  # shares of the largest that is tried
_REFINEMENTS, _LEAST_SPREAD_CM = 3, 15.0
_YEAR_D = 365.25


@dataclass(frozen=True)
class LowerBoundary:
    """What was fitted, to what, and how near it comes. Agreement is calibration, not proof.

    ``outside_cm`` depth of the water outside in the middle of each month, negative above the
    surface; ``conductance_per_d`` mm/d per mm of head; ``fitted_to`` MONTHLY, BY_CLASS or empty
    (not fitted: both are NaN); ``error_cm`` mean absolute difference of the months compared;
    ``n_months`` compared and ``n_agree`` of them that agree within ``match_cm`` of
    ``tables/soil_water.csv``; ``table_cm`` the twelve mean water tables that come out,
    ``target_cm`` the twelve aimed at (NaN: none).
    """

    outside_cm: Floats
    conductance_per_d: float
    fitted_to: str
    error_cm: float
    n_months: int
    n_agree: int
    table_cm: Floats
    target_cm: Floats

    @property
    def is_fitted(self) -> bool:
        """Whether the water outside is known."""
        return self.fitted_to != ""

    def outside_by_day(self, doy: Floats) -> Floats:
        """Depth of the water outside on days of the year [cm], straight from month to month."""
        return by_day(self.outside_cm, doy)


def by_day(monthly: Floats, doy: Floats) -> Floats:
    """Values of the middle of twelve months on days of the year, straight between them."""
    middle = (np.arange(12) + 0.5) * _YEAR_D / 12
    return np.interp(doy - 0.5, middle, monthly, period=_YEAR_D)


def fit_lower_boundary(
    profile: Profiles,
    row: int,
    months: pd.DataFrame,
    drainage_class: str | None,
    rain_mm: ArrayLike,
    et0_mm: ArrayLike,
    dates: pd.DatetimeIndex,
) -> LowerBoundary:
    """Find the water outside the column that makes the survey's wetness come out.

    Parameters
    ----------
    profile, row : one component.
    months : MONTHS table; only the rows of this component are used.
    drainage_class : one of ``columns.DRAINAGE_CLASSES``; used where the survey lists no water
        table for at least half of the months. None: nothing to fit to.
    rain_mm, et0_mm, dates : daily weather of the place in order of days [mm/d]; days with a
        missing number are passed over. At most ``fit_years`` of ``tables/soil_water.csv``.

    Returns
    -------
    LowerBoundary; not fitted where the component or its wetness is not known.

    Notes
    -----
    The column runs under turf in the place the survey describes (``unplaced``), over a fixed grid
    of depths and conductances that is narrowed three times around the best; nothing is random. The
    depths move the course of the survey's water table as a whole, months between listed ones lying
    straight between them. No conductance is so large that the column could not stay wetter or drier
    than its surroundings for days: its table would be the survey's mean in every year. Where only
    the drainage class is known the water outside stays at one depth, and one conductance holds for
    all classes, so that a wetter class is never drier. A month's table is the mean over its days.
    The sum compared weighs a centimetre near the surface more than one far down:
    ln(1 + depth / near_surface_cm).
    """
    days = (
        np.asarray(rain_mm, dtype=float),
        np.asarray(et0_mm, dtype=float),
        np.asarray(dates.month, dtype=np.int64),
        np.asarray(dates.day_of_year, dtype=float),
    )
    return lower_boundary_fit(profile, row, months, drainage_class, *days).run()


@dataclass(frozen=True)
class BoundaryFit:
    """A fit to be run on any thread: it asks no table. Those of one ``key`` come out alike."""

    key: tuple[object, ...]
    run: Callable[[], LowerBoundary]


def lower_boundary_fit(
    profile: Profiles,
    row: int,
    months: pd.DataFrame,
    drainage_class: str | None,
    rain_mm: Floats,
    et0_mm: Floats,
    month: Ints,
    doy: Floats,
) -> BoundaryFit:
    """The fit of ``fit_lower_boundary``; its key tells soils apart under one weather.

    ``month`` and ``doy``, day of the year, are those of each day of the weather.
    """
    unknown = np.full(12, np.nan)
    aim = aim_of(profile.cokeys[row], months, drainage_class)
    if not profile.known[row] or aim is None:
        nothing = LowerBoundary(unknown, np.nan, "", np.nan, 0, 0, unknown, unknown)
        return BoundaryFit((), lambda: nothing)
    soil, ground = soil_rows(profile, row), ground_row(profile, row, COLUMN_CM, 0.0)
    least = least_drainable_frac(profile, row)
    numbers = (soil, ground, aim.table_cm, aim.or_deeper, aim.course_cm)
    return BoundaryFit(
        (aim.kind, *(values.tobytes() for values in numbers)),
        lambda: _fitted(aim, soil, ground, least, _record(rain_mm, et0_mm, month, doy, aim)),
    )


def _fitted(
    aim: Aim,
    soil: Floats,
    ground: Floats,
    least_drainable: float,
    record: tuple[Floats, Floats, Ints, Floats],
) -> LowerBoundary:
    # What grows on wet ground of old bears it: it goes on drinking, or the ground would stay full.
    ground[AIR_LIMIT] = 0.0

    came_out_cm: dict[tuple[float, float], Floats] = {}

    def misfits(tried: list[tuple[float, float]]) -> Floats:
        grounds = []
        for base_cm, per_d in tried:
            grounds.append(ground.copy())
            grounds[-1][BASE_CM], grounds[-1][CONDUCTANCE] = (
                base_cm,
                damped_per_d(per_d, least_drainable),
            )
        simulated = _monthly_tables_cm(soil, grounds, record)[: len(tried)]
        came_out_cm.update(zip(tried, simulated, strict=True))
        aims = np.array([aim.of(table_cm) for table_cm in simulated])
        return np.asarray(np.nanmean(np.abs(_felt(simulated) - _felt(aims)), axis=1))

    by_class = setting("class_conductance_per_d")
    if aim.by_wetness:
        base_cm, per_d = _search(misfits, _BASES_CM, (by_class,))
    else:
        most = setting("most_conductance_per_d")
        base_cm, per_d = _search(misfits, _MOVED_CM, tuple(most * c for c in _CONDUCTANCES))
    table_cm = came_out_cm[base_cm, per_d]
    target_cm = aim.of(table_cm)
    compared = ~np.isnan(target_cm)
    deep = setting("dry_from_cm")
    apart = np.abs(np.minimum(table_cm, deep) - np.minimum(target_cm, deep))
    return LowerBoundary(
        outside_cm=aim.course_cm + base_cm,
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


def _search(
    misfits: Callable[[list[tuple[float, float]]], Floats],
    depths_cm: tuple[float, ...],
    conductances: tuple[float, ...],
) -> tuple[float, float]:
    """The depth and conductance of the least misfit; ties go to the lower number."""
    tried: dict[tuple[float, float], float] = {}

    def try_out(pairs: list[tuple[float, float]]) -> tuple[float, float]:
        new = [pair for pair in pairs if pair not in tried]
        for i in range(0, len(new), LANES):
            some = new[i : i + LANES]
            tried.update(zip(some, misfits(some).tolist(), strict=True))
        return min(tried, key=lambda pair: (tried[pair], pair))

    base_cm, per_d = try_out([(b, c) for b in depths_cm for c in conductances])
    step, factor = 0.5, 2.0
    for _ in range(_REFINEMENTS):
        spread = max(_LEAST_SPREAD_CM, abs(base_cm)) * step
        bases = (base_cm - spread, base_cm, base_cm + spread)
        around: tuple[float, ...] = (per_d,)
        if len(conductances) > 1:
            around = (per_d / factor, per_d, min(per_d * factor, max(conductances)))
        base_cm, per_d = try_out([(b, c) for b in bases for c in around])
        step, factor = step / 2, factor**0.5
    return base_cm, per_d


def _record(
    rain_mm: Floats, et0_mm: Floats, month: Ints, doy: Floats, aim: Aim
) -> tuple[Floats, Floats, Ints, Floats]:
    days = int(setting("fit_years") * 366)
    whole = ~(np.isnan(rain_mm) | np.isnan(et0_mm))
    outside_cm = by_day(aim.course_cm, doy)
    rain, et0, outside_cm = (values[whole][-days:] for values in (rain_mm, et0_mm, outside_cm))
    return rain, et0, month[whole][-days:], outside_cm


def _monthly_tables_cm(
    soil: Floats, grounds: list[Floats], record: tuple[Floats, Floats, Ints, Floats]
) -> Floats:
    """Mean water table of the twelve months [cm], one row a ground, under the turf of the fit.

    The depth in ``grounds`` is that by which the water outside lies under its course.
    """
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
    course_cm: Floats,
    basal_kc: Floats,
    cover_frac: Floats,
    root_cm: Floats,
    depletion_frac: float,
) -> tuple[Floats, Floats]:
    """Sum of the water tables by month and column, days by month; the first year only wets."""
    out = np.zeros(OUT_SIZE * LANES)
    rain, et0, moved_cm = np.empty(LANES), np.empty(LANES), np.empty(LANES)
    for c in range(LANES):
        moved_cm[c] = ground[BASE_CM * LANES + c]
    sums, days = np.zeros((12, LANES)), np.zeros(12)
    first = min(365, len(rain_mm) // 2)
    for day in range(len(rain_mm)):
        rain[:] = rain_mm[day]
        et0[:] = et0_mm[day]
        for c in range(LANES):
            ground[BASE_CM * LANES + c] = course_cm[day] + moved_cm[c]
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
