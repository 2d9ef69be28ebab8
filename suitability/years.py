"""The daily engine for a whole farm: years in ten by field and week, and how far they move."""

from collections.abc import Callable
from dataclasses import dataclass

import pandas as pd

from suitability.cases import cases_of
from suitability.counted import Counted
from suitability.crop import Crop
from suitability.engine import Engine, Offset, Simulated, prepare, simulate
from suitability.field_years import FieldYears, field_years
from suitability.ground import PART_KEYS
from suitability.notes import Note
from suitability.record import filled
from suitability.week_odds import best_weeks, flood_years_in_ten, week_odds

LAYER = "years in ten"
Progress = Callable[[str], None]


@dataclass(frozen=True)
class Years:
    """What the years say.

    ``weeks`` one row a field and sowing week (``week_odds.week_odds``); ``best`` the recommended
    week of each field, indexed by field_id; ``low`` and ``high`` its works_years_in_ten with the
    soil colder and less borne wet, and the reverse. ``parts`` are the counted parts with the row of
    their ``case`` in ``simulated.cases``.
    """

    weeks: pd.DataFrame
    best: pd.DataFrame
    low: "pd.Series[float]"
    high: "pd.Series[float]"
    by_field: FieldYears
    simulated: Simulated
    parts: pd.DataFrame
    notes: tuple[Note, ...]


def years_of_farm(
    fields: pd.DataFrame,
    parts: pd.DataFrame,
    counted: Counted,
    findings: pd.DataFrame,
    tables: dict[str, pd.DataFrame],
    crop: Crop,
    progress: Progress,
) -> Years | None:
    """Simulate a farm; None where no field has weather, soil and a gap.

    Parameters
    ----------
    fields, parts : FIELDS and PARTS tables. counted, findings : by survey rule.
    tables : components, horizons, months, stations and weather of the contract.
    """
    ready = fields.dropna(subset=["gap_opens", "gap_closes"])
    mine = counted.parts[counted.parts["field_id"].isin(ready["field_id"])]
    table = mine[[*PART_KEYS, "area_ha"]].merge(
        parts[[*PART_KEYS, "weather_id"]], on=PART_KEYS, validate="1:1"
    )
    known = table["cokey"].isin(tables["horizons"]["cokey"])
    if not (known & table["weather_id"].notna()).any():
        return None
    cases, case = cases_of(table.assign(cokey=table["cokey"].where(known)), ready)
    table["case"] = case.to_numpy()
    progress("Preparing the daily simulation (the first run compiles it, about 20 seconds)")
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
    simulated = simulate(engine)
    by_field = field_years(simulated, table, ready, crop)
    floods = flood_years_in_ten(mine, findings, crop)
    weeks = week_odds(by_field, floods, crop)
    best = best_weeks(weeks, fields.set_index("field_id")["soil_65f_held_p80"], crop)
    progress("Looking how far the answer moves")
    low, high = (_works(engine, shift, table, ready, floods, best, crop) for shift in _shifts(crop))
    return Years(
        weeks, best, low, high, by_field, simulated, table, _notes(engine, simulated, best, crop)
    )


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


def _shifts(crop: Crop) -> tuple[Offset, Offset]:
    warmer, longer = crop.number("odds.soil_temp_error_c"), crop.number("odds.wet_run_error_d")
    return Offset(-warmer, -longer), Offset(warmer, longer)


def _works(
    engine: Engine,
    shift: Offset,
    table: pd.DataFrame,
    fields: pd.DataFrame,
    floods: "pd.Series[float]",
    best: pd.DataFrame,
    crop: Crop,
) -> "pd.Series[float]":
    """Years in ten that the recommended weeks work under a shift, by field_id."""
    shifted = week_odds(field_years(simulate(engine, shift), table, fields, crop), floods, crop)
    at = shifted.set_index(["field_id", "sow_date"])["works_years_in_ten"]
    keys = pd.MultiIndex.from_arrays([best.index, best["sow_date"]])
    return pd.Series(at.reindex(keys).to_numpy(), index=best.index)


def _notes(
    engine: Engine, simulated: Simulated, best: pd.DataFrame, crop: Crop
) -> tuple[Note, ...]:
    notes = list(simulated.notes)
    fitted = [b for b in engine.boundaries.values() if b.fitted_to]
    if fitted:
        months, agree = sum(b.n_months for b in fitted), sum(b.n_agree for b in fitted)
        text = (
            f"The water below {len(fitted)} soils was fitted to the survey's own wetness: {agree} "
            f"of {months} months agree. That is calibration, not proof."
        )
        notes.append(Note(LAYER, "info", text))
    few = best[best["n_years"] < crop.number("odds.few_years")]
    if len(few):
        text = (
            f"Only {few['n_years'].min():.0f} years of weather stand behind the odds of "
            f"{len(few)} of {len(best)} fields: take them as rough."
        )
        notes.append(Note(LAYER, "caution", text, tuple(few.index)))
    return tuple(notes)
