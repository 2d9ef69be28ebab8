"""The tables behind the years: weeks.csv and years.csv, and one field's years for the screen."""

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from maps.assessment import Assessment
from maps.exports import plain_cell
from maps.legend import ACRES_PER_HA
from suitability.field_years import FieldYears
from suitability.outcomes import END_CAUSES, UNKNOWN, WHY_NOT, WORKS
from suitability.week_odds import NO_STAND
from suitability.wet_weeks import WetWeeks

WEEKS_COLUMNS = (
    "field_id",
    "sow_date",
    "works_years_in_ten",
    "germination_risk_years_in_ten",
    "waterlogging_years_in_ten",
    "season_short_years_in_ten",
    "dry_matter_60d_kg_ha_p10",
    "dry_matter_60d_kg_ha_p50",
    "dry_matter_60d_kg_ha_p90",
    "wet_acres",
)
YEARS_COLUMNS = (
    "field_id",
    "sow_date",
    "year",
    "works",
    "stand",
    "why_not",
    "wet_run_d",
    "end_date",
    "end_cause",
    "growing_days",
    "dry_matter_60d_kg_ha",
    "dry_matter_end_kg_ha",
)
_BLOCK = 200  # fields whose years are written at once
_MOST = 0.5  # a stand, as said of a field: on this share of its ground at least


@dataclass(frozen=True)
class FieldYear:
    """What became of one field in one year, sown in one week; None where there is no such day."""

    field_id: str
    sow_date: str
    year: int
    works: bool
    stand: bool
    why_not: str
    emerged_date: date | None
    wet_run_d: float
    end_date: date | None
    end_cause: str
    growing_days: float
    dry_matter_60d_kg_ha: float
    dry_matter_end_kg_ha: float


def write_weeks_csv(assessment: Assessment, path: Path) -> None:
    """Write one row a field and sowing week with odds (WEEKS_COLUMNS); kg/ha whatever the units.

    ``wet_acres`` is all ground of the field that is too wet if sown then, empty where not known.
    """
    years = assessment.years
    table = pd.DataFrame(columns=list(WEEKS_COLUMNS)) if years is None else years.weeks
    if years is not None:
        table = table.assign(wet_acres=ACRES_PER_HA * _wet_ha(years.wet, table))
    places = {name: 0 if name.startswith("dry") else 2 for name in WEEKS_COLUMNS[2:]}
    rounded = table[list(WEEKS_COLUMNS)].round(places)
    _write(path, WEEKS_COLUMNS, rounded.itertuples(index=False, name=None))


def _wet_ha(wet: WetWeeks | None, weeks: pd.DataFrame) -> NDArray[np.float64]:
    if wet is None:
        return np.full(len(weeks), np.nan)
    keys = ["field_id", "sow_date"]
    found = weeks[keys].merge(wet.fields, on=keys, how="left", validate="1:1")
    return np.asarray(found["wet_ha"], dtype=float)


def write_years_csv(assessment: Assessment, path: Path) -> None:
    """Write one row a field, sowing week and simulated year (YEARS_COLUMNS).

    ``growing_days`` and kg/ha are means over the ground that counts, ``end_date`` the day by which
    half of the stand was over; ``wet_run_d`` is the run of saturated days that more than
    ``policy.field_fails_pct`` of the ground stood. ``stand`` is False where most of the ground had
    none, or the want of one failed the year.
    """
    _write(path, YEARS_COLUMNS, _rows(assessment))


def field_years_of(years: FieldYears, week: int, f: int = 0) -> list[FieldYear]:
    """The known years of one field (the ``f``-th) and sowing week, in order."""
    found = []
    mmdd = years.weeks[week]
    for y, year in enumerate(years.years):
        at = f, y, week
        code = int(years.outcome[at])
        if code == UNKNOWN:
            continue
        sown = date(year, int(mmdd[:2]), int(mmdd[3:]))
        no_stand = NO_STAND[0] <= code <= NO_STAND[-1]
        found.append(
            FieldYear(
                field_id=years.field_ids[f],
                sow_date=mmdd,
                year=year,
                works=code == WORKS,
                stand=not no_stand and bool(years.stand_frac[at] >= _MOST),
                why_not=WHY_NOT[code],
                emerged_date=_days_on(sown, years.emerged_d[at]),
                wet_run_d=float(years.wet_run_d[at]),
                end_date=_days_on(sown, years.end_d[at]),
                end_cause=END_CAUSES[int(years.end_cause[at])],
                growing_days=float(years.growing_days[at]),
                dry_matter_60d_kg_ha=float(years.dry_matter_60d_kg_ha[at]),
                dry_matter_end_kg_ha=float(years.dry_matter_end_kg_ha[at]),
            )
        )
    return found


def _rows(assessment: Assessment) -> Iterator[tuple[object, ...]]:
    if assessment.years is None:
        return
    ids = sorted(str(i) for i in assessment.fields["field_id"])
    for start in range(0, len(ids), _BLOCK):
        block = assessment.years.by_field(ids[start : start + _BLOCK])
        for f in range(len(block.field_ids)):
            for week in range(len(block.weeks)):
                for row in field_years_of(block, week, f):
                    yield tuple(_rounded(getattr(row, name)) for name in YEARS_COLUMNS)


def _days_on(first: date, days: float) -> date | None:
    return None if np.isnan(days) else first + timedelta(days=round(float(days)))


def _rounded(value: object) -> object:
    return round(value) if isinstance(value, float) and not np.isnan(value) else value


def _write(path: Path, columns: tuple[str, ...], rows: Iterable[tuple[object, ...]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows([plain_cell(value) for value in row] for row in rows)
