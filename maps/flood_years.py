"""What the survey's floods take off the years in ten, which no single year of weather shows."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from maps.assessment import Assessment

if TYPE_CHECKING:
    from maps.sentences import Row, Teller

_ROUNDING = 1e-6


def flood_years(row: "Row") -> float:
    """Years in ten of floods, of a row of verdicts or of weeks; 0 where it has no odds."""
    wet, drowned = row["waterlogging_years_in_ten"], row["drowned_years_in_ten"]
    if pd.isna(wet) or pd.isna(drowned):
        return 0.0
    return float(wet - drowned) if wet - drowned > _ROUNDING else 0.0


def drawn_years_hint(assessment: Assessment, teller: "Teller", row: "pd.Series[Any]") -> str:
    """How to read the drawing of a field's years, and what floods take off that it lacks."""
    pct = f"{assessment.crop.number('policy.field_fails_pct'):.0f}"
    hint = teller.words("report.years_hint", day=teller.legend.day(row.sow_date), pct=pct)
    if not flood_years(row) > 0:
        return hint
    works = teller.spoken_years(row.works_years_in_ten)
    return f"{hint} {teller.words('report.years_flood', works=works)}"


def listed_years_flood(assessment: Assessment, teller: "Teller", field_id: str, week: str) -> str:
    """What floods take off the years of one week; empty where they take nothing."""
    if assessment.years is None:
        return ""
    weeks = assessment.years.weeks
    mine = weeks[(weeks["field_id"] == field_id) & (weeks["sow_date"] == week)]
    if mine.empty or not flood_years(mine.iloc[0]) > 0:
        return ""
    spoken = teller.spoken_years
    flood, works = spoken(flood_years(mine.iloc[0])), spoken(mine.iloc[0].works_years_in_ten)
    return teller.words("field_years.flood", flood=flood, works=works)
