"""What to mind of the years in ten: how many stand behind them, and what was fitted."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from suitability.boundary_aim import BY_CLASS, MONTHLY
from suitability.crop import Crop
from suitability.engine import Simulated
from suitability.field_years import GroundYears, field_years
from suitability.lower_boundary import LowerBoundary
from suitability.notes import Note
from suitability.outcomes import UNKNOWN

LAYER = "years in ten"


def years_notes(
    simulated: Simulated, ground: GroundYears, best: pd.DataFrame, crop: Crop
) -> tuple[Note, ...]:
    """Notes on fitting, on few years or none, and on years that the weather's holes cost.

    Parameters
    ----------
    simulated, ground : of the run. best : the recommended week of each field with odds.
    """
    notes = [*simulated.notes, *fitted_notes(list(simulated.boundaries.values()))]
    few = best[best["n_years"] < crop.number("odds.few_years")]
    if len(few):
        text = (
            f"Only {few['n_years'].min():.0f} years of weather stand behind the odds of "
            f"{len(few)} of {len(best)} fields: take them as rough."
        )
        notes.append(Note(LAYER, "caution", text, tuple(few.index)))
    notes += _without(ground, best, crop)
    return (*notes, *_lost(ground, best))


def _without(ground: GroundYears, best: pd.DataFrame, crop: Crop) -> list[Note]:
    """Fields without odds, by what they lack: a known soil, or years on record."""
    all_ids, least = ground.field_ids, f"{crop.number('odds.least_years'):.0f}"
    none = [i for i in all_ids if i not in best.index]
    if not none:
        return []
    parts = ground.parts[ground.parts["field_id"].isin(none)]
    known = parts["area_ha"].where(parts["pair"] >= 0, 0.0).groupby(parts["field_id"]).sum()
    total = parts.groupby("field_id")["area_ha"].sum()
    no_soil = set(total.index[known < ground.known_frac * total])
    years = field_years(ground, none)
    longest = (years.outcome != UNKNOWN).sum(axis=1).max(axis=1, initial=0)
    half = {i for i, n in zip(years.field_ids, longest, strict=True) if n >= float(least)}
    soil = [i for i in none if i in no_soil]
    short = [i for i in none if i not in no_soil and i not in half]
    partly = [i for i in none if i not in no_soil and i in half]
    n, notes = len(all_ids), []
    if soil:
        text = (
            f"No odds in years of ten for {len(soil)} of {n} fields: of most of their soil, or of "
            "the weather there, too little is known to simulate it."
        )
        notes.append(Note(LAYER, "caution", text, tuple(soil)))
    if short:
        text = (
            f"No odds in years of ten for {len(short)} of {n} fields: the record of weather has "
            f"fewer than {least} whole years."
        )
        notes.append(Note(LAYER, "caution", text, tuple(short)))
    if partly:
        text = (
            f"No odds in years of ten for {len(partly)} of {n} fields: only some weeks of their "
            f"gap have {least} whole years on record, and none of those is good; the others might "
            "be."
        )
        notes.append(Note(LAYER, "caution", text, tuple(partly)))
    return notes


def fitted_notes(boundaries: Sequence[LowerBoundary]) -> list[Note]:
    """Tell what the water below the soils was fitted to; months count where the survey has any."""
    monthly = [b for b in boundaries if b.fitted_to == MONTHLY]
    by_class = [b for b in boundaries if b.fitted_to == BY_CLASS]
    notes = []
    if monthly:
        months, agree = sum(b.n_months for b in monthly), sum(b.n_agree for b in monthly)
        text = (
            f"The water below {len(monthly)} soils was fitted to the survey's own wetness: {agree} "
            f"of {months} months agree. That is calibration, not proof."
        )
        notes.append(Note(LAYER, "info", text))
    if by_class:
        text = (
            f"For {len(by_class)} soils the survey lists no water table by month: the water below "
            "was set to what their drainage class means, which nothing of the survey tests."
        )
        notes.append(Note(LAYER, "info", text))
    return notes


def _lost(ground: GroundYears, best: pd.DataFrame) -> list[Note]:
    """Years on record that do not count at the recommended week of a field."""
    if best.empty or not (best["n_years"] < len(ground.years)).any():
        return []
    shown = best[best["n_years"] < len(ground.years)].sort_values("n_years", kind="stable")
    years = field_years(ground, [str(shown.index[0])])
    week = years.weeks.index(shown["sow_date"].iloc[0])
    unknown = np.flatnonzero(years.outcome[0, :, week] == UNKNOWN)
    text = (
        f"Not counted for {len(shown)} of {len(best)} fields, because the weather has holes before "
        f"or in the gap, or ends in it (most for {shown.index[0]}): "
        f"{', '.join(str(years.years[y]) for y in unknown)}."
    )
    return [Note(LAYER, "info", text, tuple(shown.index))]
