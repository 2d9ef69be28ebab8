"""The hand-built farm as the land of three owners, with years and a plan, every name findable."""

from dataclasses import fields as parts_of
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from farm_with_years import WEEKS, YEARS, farm_with_years, wet_weeks
from planned_farm import planned_farm
from small_farm import HOSTILE

from maps.assessment import Assessment, SourceFile
from suitability.engine import Simulated
from suitability.field_years import GroundYears
from suitability.notes import Note
from suitability.wet_weeks import WetWeeks
from suitability.years import Years

IDS = {"A/1": "ZEB-01", "B": "QUA-02", "C": "QUA-03", "D": "OKA-04"}
NAMES = ["Zebraline", HOSTILE, "Quaggabottom", "Okapilot"]
OWNERS = ["Zebra Estates", "Marsh Hollow Land", "Marsh Hollow Land", "Okapi Trust"]
USES = ["graze", "graze", None, "cut"]


def owned_farm(units: str = "us") -> Assessment:
    """Fields B and C are Marsh Hollow Land's; the plan sows B and leaves C."""
    farm = farm_with_years(units)
    hand_made: Any = farm.years
    table = pd.DataFrame({"field_id": list(IDS)[:3], "pair": [0, 1, 2], "area_ha": 4.0})
    shape = (6, 3, len(YEARS), len(WEEKS))
    of_pair = {
        "codes": np.stack([hand_made.outcome, np.zeros_like(hand_made.outcome)]).astype(np.float32),
        "numbers": np.full(shape, 1000.0, dtype=np.float32),
    }
    in_gap = np.ones((3, len(WEEKS)), dtype=bool)
    none = np.empty((0, len(YEARS), len(WEEKS), 0))
    years = Years(
        weeks=hand_made.weeks,
        best=hand_made.best,
        low=hand_made.best["works_years_in_ten"],
        high=hand_made.best["works_years_in_ten"],
        ground=GroundYears(table, YEARS, WEEKS, of_pair, 0.1, 0.5, in_gap),
        simulated=Simulated(pd.DataFrame(), WEEKS, YEARS, none, none, none, {}, ()),
        parts=table,
        notes=(),
        wet=wet_weeks(),
    )
    planned = planned_farm(units)
    farm = replace(farm, years=years, plan=planned.plan, calendar=planned.calendar)
    farm = _renamed(farm)
    about = farm.fields.assign(name=NAMES, owner=OWNERS, use=USES)
    about.loc[about.field_id == "OKA-04", "herbicide_product"] = "okapicide"
    everyone = tuple(about.field_id)
    notes = (
        Note("fields", "caution", "Zebraline overlaps another field by 0.1 ha.", everyone[:2]),
        Note("weather", "info", "The station lies 4 km away.", everyone),
        Note("soil survey", "caution", "Okapi Trust has no survey."),
        Note("soil survey", "info", "The survey is of 2020."),
        Note("marks", "info", "7 wet spots of your field log count as your marks."),
        Note("soil survey", "caution", "Its edge is rough.", ("QUA-03",)),
        *farm.notes,
    )
    files = (
        SourceFile("farm", "zebra_secrets.toml", 10, "2026-01-01"),
        SourceFile("soil", "okapi_survey.gpkg", 1000, "2026-04-01", "30 years of record"),
    )
    return replace(
        farm, fields=about, notes=notes, provenance=replace(farm.provenance, files=files)
    )


def _renamed(value: Any) -> Any:
    """The same with the new ids, in every table however deep, and in notes."""
    if isinstance(value, pd.DataFrame):
        named = value.rename(index=IDS)
        return (
            named.assign(field_id=named["field_id"].replace(IDS)) if "field_id" in named else named
        )
    if isinstance(value, pd.Series):
        return value.rename(index=IDS)
    if isinstance(value, Note):
        return replace(value, field_ids=tuple(IDS.get(i, i) for i in value.field_ids))
    if isinstance(value, tuple) and any(isinstance(v, Note) for v in value):
        return tuple(_renamed(v) for v in value)
    if (
        isinstance(value, (Assessment, Years, GroundYears, WetWeeks))
        or type(value).__name__ == "Plan"
    ):
        return replace(value, **{p.name: _renamed(getattr(value, p.name)) for p in parts_of(value)})
    return value
