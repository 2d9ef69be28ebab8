"""The hand-built farm of four fields with a plan made by the real planner on hand-made years."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import plan_farm
from small_farm import small_farm

from maps.assessment import Assessment
from suitability.calendar import calendar
from suitability.plan import make_plan
from suitability.plan_settings import PlanSettings
from suitability.prices import prices
from suitability.seed_order import seed_lot

IDS = ("A/1", "B", "C", "D")
_NEW_NAME = dict(zip(plan_farm.IDS, IDS, strict=True))


def planned_farm(units: str = "us", settings: PlanSettings | None = None, **price) -> Assessment:
    """Field B, whose name is hostile, is wanted in; C is left out; the rest as it pays."""
    farm = small_farm(units)
    fields = plan_farm.fields().replace({"field_id": _NEW_NAME})
    verdicts = plan_farm.verdicts(soil_65f_held_p50="04-20").replace({"field_id": _NEW_NAME})
    years = plan_farm.years()
    years.weeks = years.weeks.replace({"field_id": _NEW_NAME})
    years.parts = years.parts.replace({"field_id": _NEW_NAME})
    years.best = years.best.rename(index=_NEW_NAME)
    wishes = settings or PlanSettings(
        fields_in=("B",), fields_out=("C",), order_budget_usd=3000.0, seed_type="tropical"
    )
    plan = make_plan(
        fields,
        verdicts,
        pd.Series(10.0, index=list(IDS)),
        pd.Series(np.zeros(4), index=list(IDS)),
        years,
        wishes,
        prices(price or {"seed": 0.5, "drill": 10.0}, own_date="2026-03-01"),
        seed_lot(farm.crop, germination_pct=85.0),
        farm.crop,
        date(2026, 5, 1),
    )
    return replace(
        farm,
        plan=plan,
        calendar=calendar(plan, fields, verdicts),
        notes=(*farm.notes, *plan.notes),
    )
