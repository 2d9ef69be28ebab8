"""The years of a whole farm: years in ten by field and week, and how far they move."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import pandas as pd

from suitability.cases import cases_of
from suitability.counted import Counted
from suitability.crop import Crop
from suitability.engine import Offset, Simulated, is_compiled, simulating
from suitability.field_years import FieldYears, GroundYears, field_years, ground_years
from suitability.ground import PART_KEYS
from suitability.notes import Note
from suitability.prepared import Engine, prepare
from suitability.record import filled
from suitability.week_odds import best_weeks, flood_years_in_ten, week_odds, works_at
from suitability.wet_weeks import WetWeeks
from suitability.years_notes import years_notes

Progress = Callable[[str], None]
_BLOCK = 1000  # fields whose years are held at once


@dataclass(frozen=True)
class FarmSimulation:
    """A farm run through its record: what was prepared, what came out, and each part's case.

    ``parts`` has PART_KEYS, weather_id and ``case``, the row in ``main.cases`` (-1: none).
    """

    engine: Engine
    main: Simulated
    parts: pd.DataFrame


@dataclass(frozen=True)
class Years:
    """What the years say.

    ``weeks`` one row a field and sowing week (``week_odds.week_odds``); ``best`` the recommended
    week of each field, indexed by field_id; ``low`` and ``high`` its works_years_in_ten with the
    soil colder and less borne wet, and the reverse. ``parts`` are the counted parts with the row of
    their ``case`` in ``simulated.cases``. ``wet`` is wet ground by sowing week, None where it is
    not drawn by its odds.
    """

    weeks: pd.DataFrame
    best: pd.DataFrame
    low: "pd.Series[float]"
    high: "pd.Series[float]"
    ground: GroundYears
    simulated: Simulated
    parts: pd.DataFrame
    notes: tuple[Note, ...]
    wet: WetWeeks | None = None

    def by_field(self, field_ids: Sequence[str] | None = None) -> FieldYears:
        """Every year and week of some fields, of all by default, summed up when asked for."""
        return field_years(self.ground, field_ids)


def simulate_farm(
    fields: pd.DataFrame,
    parts: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    crop: Crop,
    progress: Progress,
    at_home: Iterable[str] = (),
) -> FarmSimulation | None:
    """Simulate every soil of a farm; None where no field has weather, soil and a gap.

    Parameters
    ----------
    fields, parts : FIELDS and PARTS tables.
    tables : components, horizons, months, stations and weather of the contract.
    at_home : soils placed on the ground that the survey describes them on (``cases.cases_of``).
    """
    with farm_simulating(fields, parts, tables, crop, progress, at_home) as finish:
        return finish()


@contextmanager
def farm_simulating(
    fields: pd.DataFrame,
    parts: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    crop: Crop,
    progress: Progress,
    at_home: Iterable[str] = (),
) -> Iterator[Callable[[], FarmSimulation | None]]:
    """As ``simulate_farm``, while other work is done: gives what waits for the simulation."""
    ready = fields.dropna(subset=["gap_opens", "gap_closes"])
    table = parts[parts["field_id"].isin(ready["field_id"])].reset_index(drop=True)
    known = table["cokey"].isin(tables["horizons"]["cokey"])
    if not (known & table["weather_id"].notna()).any():
        yield lambda: None
        return
    cases, case = cases_of(table.assign(cokey=table["cokey"].where(known)), ready, at_home)
    table = table[[*PART_KEYS, "weather_id"]].assign(case=case.to_numpy())
    waits = "" if is_compiled() else " (the first run compiles it: up to half a minute)"
    progress(f"Preparing the daily simulation{waits}")
    engine = prepare(
        cases,
        _gaps(table, ready, len(cases)),
        tables["components"],
        tables["horizons"],
        tables["months"],
        filled(tables["weather"]),
        tables["stations"].set_index("weather_id")["lat_deg"],
        crop,
    )
    progress(f"Simulating {len(cases)} soils day by day, every sowing week of every year")
    with _beside(engine) as finish:
        yield lambda: FarmSimulation(engine, finish(), table)


def years_of(
    simulation: FarmSimulation,
    counted: pd.DataFrame,
    findings: pd.DataFrame,
    fields: pd.DataFrame,
    crop: Crop,
    sow_date: "pd.Series[str] | None" = None,
    shifted: tuple[Simulated, Simulated] | None = None,
) -> Years:
    """Years in ten of the counted ground of every field.

    Parameters
    ----------
    simulation : of ``simulate_farm``.
    counted : PART_KEYS and area_ha of the parts that count (``counted.counted``).
    findings : FINDINGS table. fields : FIELDS table with ``soil_65f_held_p80``.
    sow_date : the recommended week by field_id where it was chosen before; None: choose it here.
    shifted : of ``shifted_runs``, to see how far the answer moves; without it ``low`` and ``high``
        stay NaN.

    Notes
    -----
    Fields are summed up in blocks, so that the years of all of them never lie in memory at once;
    ``Years.by_field`` makes them again for those that are asked for.
    """
    ready = fields.dropna(subset=["gap_opens", "gap_closes"])
    mine = counted[counted["field_id"].isin(ready["field_id"])][[*PART_KEYS, "area_ha"]]
    table = mine.merge(simulation.parts, on=PART_KEYS, validate="1:1")
    ground = ground_years(simulation.main, table, ready, crop)
    floods = flood_years_in_ten(mine, findings, crop)
    weeks = pd.concat(
        [week_odds(years, floods, crop) for years in _blocks(ground)], ignore_index=True
    )
    if sow_date is None:
        best = best_weeks(weeks, fields.set_index("field_id")["soil_65f_held_p80"], crop)
    else:
        best = weeks[weeks["sow_date"] == weeks["field_id"].map(sow_date)].set_index("field_id")
    low = high = pd.Series(np.nan, index=best.index)
    if shifted is not None:
        low, high = (_works(run, table, ready, floods, best, crop) for run in shifted)
    notes = years_notes(simulation.main, ground, best, crop)
    return Years(weeks, best, low, high, ground, simulation.main, table, notes)


def years_of_farm(
    fields: pd.DataFrame,
    parts: pd.DataFrame,
    counted: Counted,
    findings: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    crop: Crop,
    progress: Progress,
) -> Years | None:
    """Simulate a farm and sum up its years in one call, as where no wet ground is drawn."""
    simulation = simulate_farm(fields, parts, tables, crop, progress)
    if simulation is None:
        return None
    chosen = years_of(simulation, counted.parts, findings, fields, crop).best["sow_date"]
    with shifted_runs(simulation, chosen, crop) as shifted:
        return years_of(simulation, counted.parts, findings, fields, crop, chosen, shifted())


def _blocks(ground: GroundYears) -> Iterator[FieldYears]:
    ids = ground.field_ids
    return (field_years(ground, ids[i : i + _BLOCK]) for i in range(0, max(1, len(ids)), _BLOCK))


def _gaps(
    table: pd.DataFrame, fields: pd.DataFrame, n_cases: int
) -> tuple[tuple[tuple[str, str], ...], ...]:
    """For each case, the gaps of the fields that have it."""
    gap = fields.set_index("field_id")[["gap_opens", "gap_closes"]]
    pairs = table[["case", "field_id"]].join(gap, on="field_id")
    distinct = pairs[["case", "gap_opens", "gap_closes"]].drop_duplicates()
    by_case: list[list[tuple[str, str]]] = [[] for _ in range(n_cases)]
    for case, opens, closes in distinct.itertuples(index=False):
        if case >= 0:
            by_case[case].append((opens, closes))
    return tuple(tuple(sorted(gaps)) for gaps in by_case)


@contextmanager
def shifted_runs(
    simulation: FarmSimulation, sow_date: "pd.Series[str]", crop: Crop
) -> Iterator[Callable[[], tuple[Simulated, Simulated]]]:
    """The recommended weeks run again, as ``years_of`` takes them: how far the answer moves.

    Once with the soil colder and wet ground borne less long, once the other way round. Only those
    weeks are run: for each case, the weeks of the fields that have it. Other work can be done
    meanwhile; what is given waits for the runs.

    Parameters
    ----------
    simulation : of ``simulate_farm``. sow_date : the recommended week by field_id.
    """
    warmer, longer = crop.number("odds.soil_temp_error_c"), crop.number("odds.wet_run_error_d")
    parts = simulation.parts
    asked = parts[["case"]].assign(week=parts["field_id"].map(sow_date)).dropna()
    weeks = asked[asked["case"] >= 0].groupby("case")["week"].agg(frozenset)
    only = tuple(weeks.get(case, frozenset()) for case in range(len(simulation.main.cases)))
    engine, main = simulation.engine, simulation.main
    with (
        _beside(engine, Offset(-warmer, -longer), only, main) as less,
        _beside(engine, Offset(warmer, longer), only, main) as more,
    ):
        yield lambda: (less(), more())


@contextmanager
def _beside(
    engine: Engine,
    offset: Offset | None = None,
    only: "tuple[frozenset[str], ...] | None" = None,
    begun: Simulated | None = None,
) -> Iterator[Callable[[], Simulated]]:
    """``engine.simulating``; run to the end first where the code has still to be compiled."""
    compiled = is_compiled()
    with simulating(engine, offset, only, begun) as finish:
        if compiled:
            yield finish
        else:
            done = finish()
            yield lambda: done


def _works(
    shifted: Simulated,
    table: pd.DataFrame,
    fields: pd.DataFrame,
    floods: "pd.Series[float]",
    best: pd.DataFrame,
    crop: Crop,
) -> "pd.Series[float]":
    """Years in ten that the recommended weeks work under a shift, by field_id."""
    ground = ground_years(shifted, table, fields, crop)
    found = [works_at(y, _mine(best, y), floods, crop) for y in _blocks(ground)]
    return pd.concat(found).reindex(best.index) if found else pd.Series(dtype=float)


def _mine(best: pd.DataFrame, years: FieldYears) -> "pd.Series[str]":
    return best["sow_date"].reindex(list(years.field_ids)).dropna()
