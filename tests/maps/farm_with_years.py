"""The hand-built farm with ten years of five sowing weeks, every number set by hand."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from farm_with_soils import farm_with_soils

from maps.assessment import Assessment
from suitability.field_years import FieldYears
from suitability.outcomes import DROWNED, DRY_SEEDBED, NEXT_CROP, WHY_NOT, WORKS
from suitability.wet_weeks import WetWeeks

WEEKS = ("05-14", "05-21", "05-28", "06-04", "06-11")
YEARS = tuple(range(2010, 2020))
# Years of ten that each week works; the fields' gaps differ.
WORKED = {"A/1": (7, 9, 8, 5, 0), "B": (None, 6, 8, 7, 1), "C": (2, 1, 1, 0, 0)}
BEST = {"A/1": "05-21", "B": "05-28", "C": "05-14"}
FAILS = {"A/1": DRY_SEEDBED, "B": DROWNED, "C": NEXT_CROP}


@dataclass(frozen=True)
class HandMade:
    """What the writers ask of ``suitability.years.Years``."""

    weeks: pd.DataFrame
    best: pd.DataFrame
    outcome: np.ndarray
    wet: WetWeeks | None = None

    def by_field(self, field_ids: Sequence[str] | None = None) -> FieldYears:
        asked = tuple(field_ids or WORKED)
        rows = [list(WORKED).index(f) for f in asked]
        outcome = self.outcome[rows]
        grown = np.where(outcome == WORKS, 4000.0, 1000.0).astype(np.float32)
        values: dict[str, Any] = {
            name: grown
            for name in FieldYears.__dataclass_fields__
            if name not in ("field_ids", "years", "weeks", "outcome", "end_cause", "in_gap")
        }
        # Up on the 6th day, over on the 100th; drowned after a week under water on the 40th.
        drowned = outcome == DROWNED
        values["emerged_d"] = np.full(outcome.shape, 6.0, dtype=np.float32)
        values["end_d"] = np.where(drowned, 40.0, 100.0).astype(np.float32)
        values["wet_run_d"] = np.where(drowned, 7.0, 0.0).astype(np.float32)
        return FieldYears(
            field_ids=asked,
            years=YEARS,
            weeks=WEEKS,
            outcome=outcome,
            end_cause=np.zeros_like(outcome),
            **values,
        )


def _weeks() -> pd.DataFrame:
    rows = []
    for field_id, worked in WORKED.items():
        for i, (week, works) in enumerate(zip(WEEKS, worked, strict=True)):
            if works is None:
                continue
            cause = FAILS[field_id]
            row: dict[str, Any] = {
                "field_id": field_id,
                "sow_date": week,
                "n_years": 10.0,
                "works_years_in_ten": float(works),
                "germination_risk_years_in_ten": 10.0 - works if cause == DRY_SEEDBED else 0.0,
                "waterlogging_years_in_ten": 10.0 - works if cause == DROWNED else 0.0,
                "season_short_years_in_ten": 10.0 - works if cause == NEXT_CROP else 0.0,
                "works_least_years_in_ten": max(0.0, works - 3.0),
                "works_most_years_in_ten": min(10.0, works + 2.0),
                "growing_days_p50": 100.0 - 7 * i,
            }
            for code, why in enumerate(WHY_NOT):
                if why:
                    name = f"{why.replace(' ', '_')}_years_in_ten"
                    row[name] = 10.0 - works if code == cause else 0.0
            for age, years in ((45, 10.0), (60, 9.0), (90, 1.0)):
                row[f"reach_{age}d_years_in_ten"] = years
            for p, value in ((10, 2000.0), (50, 4000.0), (90, 5000.0)):
                row[f"dry_matter_60d_kg_ha_p{p}"] = value - 500 * i
                row[f"dry_matter_end_kg_ha_p{p}"] = 2 * value - 1000 * i
            rows.append(row)
    return pd.DataFrame(rows)


def _outcomes() -> np.ndarray:
    outcome = np.full((len(WORKED), len(YEARS), len(WEEKS)), WORKS, dtype=np.int8)
    for f, (field_id, worked) in enumerate(WORKED.items()):
        for w, works in enumerate(worked):
            if works is None:
                outcome[f, :, w] = -1
            else:
                outcome[f, works:, w] = FAILS[field_id]
    return outcome


def wet_weeks() -> WetWeeks:
    """B's wet corner by week: too wet in 9, 5, 2 and 0 years of 10; more ground in 05-21.

    Ground is left out from 3 years of 10 on.
    """
    weeks = WEEKS[1:]
    spots = {"field_id": "B", "wet_id": "B-1", "sow_date": weeks}
    rows = [("B", day, ha) for day, ha in zip(weeks, (0.8, 0.28, 0.0, 0.0), strict=True)]
    rows += [("A/1", day, 0.0) for day in WEEKS]
    return WetWeeks(
        pd.DataFrame({**spots, "years_in_ten": [9.0, 5.0, 2.0, 0.0]}),
        pd.DataFrame(rows, columns=["field_id", "sow_date", "wet_ha"]),
        3.0,
    )


def farm_with_wet_weeks(units: str = "us") -> Assessment:
    """``farm_with_years`` whose wet corner has odds for every sowing week."""
    farm = farm_with_years(units)
    years: Any = replace(farm.years, wet=wet_weeks())
    return replace(farm, years=years, wet_ground=farm.wet_ground.assign(years_in_ten=5.0))


def farm_with_years(units: str = "us") -> Assessment:
    """``farm_with_soils`` judged by years: A/1 sow, B with care, C leave out, D not known."""
    farm = farm_with_soils(units)
    weeks = _weeks()
    keys = weeks.set_index(["field_id", "sow_date"])
    best = keys.loc[list(BEST.items())].reset_index().set_index("field_id")
    verdicts = farm.verdicts.set_index("field_id").astype(object)
    for field_id in BEST:
        for column in verdicts.columns.intersection(best.columns):
            verdicts.loc[field_id, column] = best.loc[field_id, column]
    rows = list(BEST)
    verdicts.loc[rows, "score_basis"] = "years in ten"
    verdicts.loc[rows, "works_low_years_in_ten"] = [8.0, 6.0, 2.0]
    verdicts.loc[rows, "works_high_years_in_ten"] = [9.0, 8.0, 2.0]
    verdicts.loc[rows, "verdict_flips"] = [False, True, False]
    verdicts.loc[rows, "survey_class"] = ["S1", "S2", "S1"]
    flowers = {
        "seed_type": "unknown",
        "first_flower_mmdd": "07-25",
        "latest_flower_mmdd": "09-21",
        "first_pods_mmdd": "08-22",
        "soil_65f_held_p50": "04-08",
        "soil_65f_held_p80": "04-19",
        "first_freeze_28f_p10": "11-13",
        "first_freeze_28f_p50": "12-08",
    }
    for column, value in flowers.items():
        verdicts.loc[rows, column] = value
    verdicts = verdicts.reset_index()[farm.verdicts.columns]
    numbers = [c for c in verdicts if farm.verdicts[c].dtype == float or c.endswith("_in_ten")]
    verdicts[numbers] = verdicts[numbers].astype(float)
    years: Any = HandMade(weeks, best, _outcomes())
    return replace(farm, verdicts=verdicts, years=years)
