"""Wet ground by sowing week for those who read: steps of odds, acres of a field, the table."""

import csv
import math
from pathlib import Path

from maps.assessment import Assessment
from maps.exports import plain_cell
from maps.legend import acres
from maps.of_field import rows_of, verdict_rows
from maps.sentences import Teller
from suitability.wet_weeks import WetWeeks

WET_WEEKS_COLUMNS = ("field_id", "wet_id", "sow_date", "years_in_ten", "area_acres")
# Patterns of the page for wet ground and their names in the key, from seldom to most years.
WET_FILLS = {"wet0": "fewer", "wet": "often", "wet2": "most", "wetu": "unknown"}
_TOLD_FRAC = 0.01  # weeks that differ by less of the field than this are told alike


def wet_of(assessment: Assessment) -> WetWeeks | None:
    """Wet ground by sowing week; None where nothing could be simulated or drawn by odds."""
    return None if assessment.years is None else assessment.years.wet


def wet_steps(wet: WetWeeks) -> tuple[float, float]:
    """Years in ten from which ground is left out, and those half-way from there to every year."""
    return wet.least_years_in_ten, (wet.least_years_in_ten + 10) / 2


def wet_fill(years_in_ten: float, wet: WetWeeks) -> str:
    """Pattern of a spot too wet in so many years of ten."""
    if math.isnan(years_in_ten):
        return "wetu"
    # As the page has it, which knows tenths.
    tenths = round(10 * years_in_ten)
    return list(WET_FILLS)[sum(tenths >= round(10 * step) for step in wet_steps(wet))]


def wet_weeks_told(assessment: Assessment, teller: Teller, field_id: str) -> list[str]:
    """One sentence on the acres too wet by sowing week; none where the week hardly matters.

    It names the recommended week, and the driest and the wettest of the weeks that work at all.
    """
    wet, years = wet_of(assessment), assessment.years
    row = verdict_rows(assessment)[field_id]
    if wet is None or years is None or not isinstance(row.sow_date, str):
        return []
    weeks = rows_of(years.weeks, field_id)
    told_days = {*weeks.loc[weeks["works_years_in_ten"] > 0, "sow_date"], row.sow_date}
    mine = rows_of(wet.fields, field_id)
    sizes = {
        day: wet_ha
        for day, wet_ha in zip(mine["sow_date"].tolist(), mine["wet_ha"].tolist(), strict=True)
        if day in told_days and not math.isnan(wet_ha)
    }
    if row.sow_date not in sizes:
        return []
    driest, wettest = (end(sizes, key=lambda day: sizes[day]) for end in (min, max))
    if sizes[wettest] - sizes[driest] < _TOLD_FRAC * row.area_ha:
        return []
    legend, words = teller.legend, teller.words
    now = sizes[row.sow_date]
    told = [(now, row.sow_date)]
    told += [
        (sizes[day], day)
        for day in (driest, wettest)
        if legend.area(sizes[day]) != legend.area(now)
    ]
    parts = [
        words("report.wet_week", area=legend.area(size), day=legend.day(day)) for size, day in told
    ]
    return [words("report.wet_weeks", told="; ".join(parts))]


def write_wet_weeks_csv(assessment: Assessment, path: Path) -> None:
    """Write one row a wet spot and sowing week of its field (WET_WEEKS_COLUMNS).

    ``years_in_ten`` is the mean over the spot's cells, empty where not known; ``area_acres`` that
    of the spot as drawn, the same in all weeks: what is too wet of a field by week stands in
    weeks.csv. Spots that the survey or the grower names have no years and no row.
    """
    wet = wet_of(assessment)
    rows: list[tuple[object, ...]] = []
    if wet is not None:
        size = assessment.wet_ground.set_index("wet_id")["area_ha"]
        spots = wet.spots[wet.spots["wet_id"].isin(size.index)]
        rows = [
            (f, spot, day, round(years, 2), round(acres(float(size[spot])), 2))
            for f, spot, day, years in spots.itertuples(index=False)
        ]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(WET_WEEKS_COLUMNS)
        writer.writerows([plain_cell(value) for value in row] for row in rows)
