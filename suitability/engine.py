"""Every case through every year on record, from every sowing week: the arrays behind the odds."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from os import cpu_count

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.case_column import alike, case_columns
from suitability.case_run import START_SIZE, bare_starts, run_stands
from suitability.compiled import cache_folder
from suitability.crop import Crop
from suitability.establishment import SATURATED_AIR as SEED_AIR
from suitability.establishment import establishment_parameters
from suitability.gap import gap_days
from suitability.growth import growth_parameters
from suitability.lower_boundary import LowerBoundary, by_day
from suitability.notes import Note
from suitability.prepared import Engine
from suitability.season_end import season_end_parameters
from suitability.soil_column import AIR_LIMIT, BASE_CM
from suitability.soil_heat import soil_heat
from suitability.sowing_weeks import weeks_in, weeks_of
from suitability.stand_run import (
    AGE_STEP_D,
    N_RESULT,
    N_STANDING,
    TMAX_C,
    TMIN_C,
    WATER_USE,
)
from suitability.waterlogging_days import (
    RUN_FAIR_D,
    RUN_GOOD_D,
    RUN_POOR_D,
    waterlogging_parameters,
)
from suitability.waterlogging_days import SATURATED_AIR as ROOT_AIR

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Simulated:
    """What the simulation gives.

    ``cases`` has the columns of ``cases.CASE_COLUMNS`` and ``simulated`` (False: its soil is not
    known). ``result`` (case, year, week, N_RESULT) and ``standing`` (case, year, week, age,
    N_STANDING) are as ``stand_run`` says; NaN where a week is not of the case's gaps, or where the
    record has no such days. ``starts`` (case, year, week, START_SIZE) is the ground they start on,
    as ``case_run`` says, also in weeks of another case that is alike. ``boundaries`` by (cokey,
    weather_id).
    """

    cases: pd.DataFrame
    weeks: tuple[str, ...]
    years: tuple[int, ...]
    result: NDArray[np.float32]
    standing: NDArray[np.float32]
    starts: Floats
    boundaries: dict[tuple[str, str], LowerBoundary]
    notes: tuple[Note, ...]


@dataclass(frozen=True)
class Offset:
    """What to shift, to see how far the answer moves: soil temperature, and the days borne wet."""

    soil_temp_c: float = 0.0
    wet_run_d: float = 0.0


def is_compiled() -> bool:
    """Whether the daily simulation lies compiled on disk, so that nothing has to be waited for."""
    folder = cache_folder()
    return folder is not None and any(folder.rglob("case_run.run_stands-*.nbi"))


def simulate(
    engine: Engine,
    offset: Offset | None = None,
    only: "tuple[frozenset[str], ...] | None" = None,
    begun: Simulated | None = None,
    progress: Callable[[float], None] | None = None,
) -> Simulated:
    """Run all cases.

    Parameters
    ----------
    engine : of ``prepared.prepare``. offset : shifts for the range of the answer; none by default.
    only : for each case, the sowing weeks to run; all of its gaps by default. A case with none is
        not simulated.
    begun : of the same engine with all weeks asked for here; its starts are taken, and the bare
        ground is not run again. No shift touches it.
    progress : called with the share of cases done.
    """
    with simulating(engine, offset, only, begun, progress) as finish:
        return finish()


@contextmanager
def simulating(
    engine: Engine,
    offset: Offset | None = None,
    only: "tuple[frozenset[str], ...] | None" = None,
    begun: Simulated | None = None,
    progress: Callable[[float], None] | None = None,
) -> Iterator[Callable[[], Simulated]]:
    """As ``simulate``, while other work is done: gives what waits for the end of the runs.

    Cases that are alike in every number are run once. The threads run arrays only, and ask no
    table. Where the code is not compiled yet nothing should be done beside it: compiling changes
    the filters of warnings for a moment.
    """
    shift = offset or Offset()
    weeks = weeks_of(gap for gaps in engine.gaps for gap in gaps)
    if only is not None:
        asked = frozenset[str]().union(*only)
        weeks = tuple(w for w in weeks if w in asked)
    years = tuple(sorted({y for w in engine.weather.values() for y in w.years}))
    gaps = {gap for case in engine.gaps for gap in case}
    longest_d = max((gap_days(w, c) for o, c in gaps for w in weeks_in(o, c)), default=AGE_STEP_D)
    longest_d = min(longest_d, int(engine.crop.number("water_use.longest_stand_d")))
    n_ages = -(-longest_d // AGE_STEP_D)
    shape = (len(engine.cases), len(years), len(weeks))
    result = np.empty((*shape, N_RESULT), dtype=np.float32)
    standing = np.empty((*shape, n_ages, N_STANDING), dtype=np.float32)
    starts = _starts(begun, weeks) if begun else np.empty((*shape, START_SIZE))
    fixed, heat = _fixed(engine.crop, shift), soil_heat()
    ran = np.zeros(len(engine.cases), dtype=bool)
    columns = case_columns(engine)
    groups = alike(columns)
    first_days = {
        place: np.array([[record.row(y, w) for w in weeks] for y in years], dtype=np.int64)
        for place, record in engine.weather.items()
    }

    def last_ages(number: int) -> NDArray[np.int64]:
        """Days to run on to from each week, 0 for a week that is not asked of this case."""
        last = _last_ages(weeks, engine.gaps[number], n_ages * AGE_STEP_D)
        if only is not None:
            last[[week not in only[number] for week in weeks]] = 0
        return last

    def blank(number: int) -> None:
        result[number], standing[number] = np.nan, np.nan
        if begun is None:
            starts[number] = np.nan

    def run(group: list[int]) -> None:
        for number in group:  # here and not all at once: large arrays are made by all threads
            blank(number)
        ages = np.array([last_ages(number) for number in group])
        last_age, first = ages.max(axis=0), group[0]
        column = columns[first]
        if column is None or not last_age.any():
            return
        record = engine.weather[column.weather_id]
        sow_day = np.where(last_age > 0, first_days[column.weather_id], -1).ravel()
        some = np.empty((len(sow_day), N_RESULT))
        many = np.empty((len(sow_day), n_ages, N_STANDING))
        ground = column.ground
        base_cm = by_day(column.outside_cm, record.doy) + ground[BASE_CM]
        parameters = _at_air_limit(fixed, ground)
        start = starts[first].reshape(len(sow_day), START_SIZE)
        if begun is None:
            bare_starts(
                record.values,
                base_cm,
                sow_day,
                column.soil,
                ground,
                heat.surface(),
                heat.layers(),
                float(np.nanmean(record.values[[TMAX_C, TMIN_C]])),
                parameters[0],
                start,
            )
        run_stands(
            record.values,
            base_cm,
            sow_day,
            np.tile(last_age, len(years)),
            start,
            column.soil,
            ground,
            column.crust_index,
            column.irrigation_mm_week,
            heat.surface(),
            heat.layers(),
            *parameters,
            shift.soil_temp_c,
            some,
            many,
        )
        for number, last in zip(group, ages, strict=True):
            here = last > 0
            result[number][:, here] = some.reshape(*shape[1:], N_RESULT)[:, here]
            standing[number][:, here] = many.reshape(*shape[1:], n_ages, N_STANDING)[:, here]
            ran[number] = here.any()
            starts[number] = starts[first]

    for number, column in enumerate(columns):
        if column is None:
            blank(number)
    threads = ThreadPoolExecutor(cpu_count())
    runs = [threads.submit(run, group) for group in groups]

    def finish() -> Simulated:
        for done, one in enumerate(runs, start=1):
            one.result()
            if progress is not None:
                progress(done / len(groups))
        told = engine.cases.assign(simulated=ran)
        return Simulated(
            told, weeks, years, result, standing, starts, engine.boundaries, engine.profile.notes
        )

    try:
        yield finish
    finally:
        threads.shutdown(cancel_futures=True)


def _starts(begun: Simulated, weeks: tuple[str, ...]) -> Floats:
    place = {week: i for i, week in enumerate(begun.weeks)}
    return begun.starts[:, :, [place[week] for week in weeks]]


def _fixed(crop: Crop, shift: Offset) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    wet = waterlogging_parameters(crop)
    wet[[RUN_GOOD_D, RUN_FAIR_D, RUN_POOR_D]] += shift.wet_run_d
    return (
        np.array([crop.number(f"water_use.{name}") for name in WATER_USE]),
        establishment_parameters(crop),
        growth_parameters(crop),
        wet,
        season_end_parameters(crop),
    )


def _at_air_limit(
    fixed: tuple[Floats, Floats, Floats, Floats, Floats], ground: Floats
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """The crop's parameters where roots and seed lack air at the limit of this very soil."""
    water_use, seed, grow, wet, end = fixed
    seed, wet = seed.copy(), wet.copy()
    seed[SEED_AIR] = ground[AIR_LIMIT]
    wet[ROOT_AIR] = ground[AIR_LIMIT]
    return water_use, seed, grow, wet, end


def _last_ages(
    weeks: tuple[str, ...], gaps: tuple[tuple[str, str], ...], longest_d: int
) -> NDArray[np.int64]:
    """Days to run on to from each week, by the gap of those given that leaves most; 0 for none.

    A run ends on an age that is kept, so that other gaps of the same soil change nothing.
    """
    last = np.zeros(len(weeks), dtype=np.int64)
    for opens, closes in gaps:
        inside = set(weeks_in(opens, closes))
        for i, week in enumerate(weeks):
            if week in inside:
                whole_steps = -(-gap_days(week, closes) // AGE_STEP_D) * AGE_STEP_D
                last[i] = max(last[i], min(whole_steps, longest_d))
    return last
