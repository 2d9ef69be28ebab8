"""The plan of a run: from the farm file's tables to the plan and its calendar."""

from dataclasses import dataclass
from datetime import date

import pandas as pd

from maps.farm_file import FarmFile
from maps.farm_plan import lot_of, prices_of, settings_of
from maps.layers_read import Progress
from suitability.calendar import calendar
from suitability.counted import Counted
from suitability.crop import Crop
from suitability.notes import Note
from suitability.plan import LAYER, Plan, make_plan
from suitability.week_odds import flood_years_in_ten
from suitability.years import Years


@dataclass(frozen=True)
class Planned:
    """The plan and its calendar; None where none was asked for or nothing was simulated."""

    plan: Plan | None = None
    calendar: pd.DataFrame | None = None
    notes: tuple[Note, ...] = ()


def planned(
    farm: FarmFile,
    fields: pd.DataFrame,
    verdicts: pd.DataFrame,
    sowable_ha: "pd.Series[float]",
    counts: Counted,
    findings: pd.DataFrame,
    years: Years | None,
    crop: Crop,
    progress: Progress,
) -> Planned:
    """Make the plan that farm.toml asks for.

    Raises
    ------
    InputError : as ``plan.make_plan``.
    """
    if farm.plan is None:
        return Planned()
    if years is None:
        text = "No plan was made: it needs soils, daily weather and the fields' gap."
        return Planned(notes=(Note(LAYER, "caution", text),))
    progress("Making the plan")
    plan = make_plan(
        fields,
        verdicts,
        sowable_ha,
        flood_years_in_ten(counts.parts, findings, crop),
        years,
        settings_of(farm.plan, farm.seed),
        prices_of(farm.prices, farm.seed),
        lot_of(farm.seed, crop),
        crop,
        date.today(),
    )
    return Planned(plan, calendar(plan, fields, verdicts), plan.notes)
