"""The odds of every sowing week as the page's script reads them: two letters a number.

The strip under the lead sentence, the map's colours, the table and the detail all take their
numbers from here. A number is a whole number in base 36, two letters each: tenths of a year for
years in ten, hundreds of lb/ac or kg/ha for dry matter.
"""

import math
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.legend import Legend
from maps.of_field import records_of, verdict_rows
from maps.sentences import Teller, years_text
from maps.told_weeks import told_weeks
from maps.wet_by_week import wet_fill, wet_of, wet_steps
from maps.works_meaning import works_meaning
from suitability.crop import LEVELS
from suitability.farm_weeks import farm_weeks, farm_years_in_ten
from suitability.sowing_weeks import week_grid
from suitability.wet_weeks import WetWeeks

_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"
_MISSING = "--"
_DRY_MATTER = tuple(f"dry_matter_60d_kg_ha_p{p}" for p in (10, 50, 90))
_REACH = tuple(f"reach_{age}d_years_in_ten" for age in (45, 60, 90))


@dataclass(frozen=True)
class PageWeeks:
    """``farm`` is what the whole farm has, ``fields`` (by field_id) what each field has.

    ``spots`` (by wet_id) are years in ten of wet ground, a number a week; ``wet_fills`` the
    patterns that they ever take.
    """

    days: tuple[str, ...]
    farm: dict[str, Any]
    fields: dict[str, dict[str, Any]]
    spots: dict[str, str]
    wet_fills: tuple[str, ...]


def page_weeks(assessment: Assessment, teller: Teller) -> PageWeeks | None:
    """Everything the page says of sowing weeks; None where nothing could be simulated.

    Weeks after the last in which any field works are left off, but for one.
    """
    every = told_weeks(assessment)
    if every.empty:
        return None
    weeks = every
    days = shown_weeks(weeks)
    column = {day: i for i, day in enumerate(days)}
    weeks = weeks[weeks["sow_date"].isin(days)]
    legend, verdicts = teller.legend, verdict_rows(assessment)
    tails: dict[str, int] = {}
    doubts: dict[str, int] = {}
    too_wet: dict[str, int] = {}
    fields = {
        field_id: _field(records_of(weeks, field_id), days, tails, verdicts[field_id], teller)
        | {
            "doubts": [
                doubts.setdefault(text, len(doubts))
                for text in teller.doubts(verdicts[field_id], assessment.crop)
            ]
        }
        for field_id in weeks["field_id"].unique()
        if field_id in verdicts
    }
    wet = wet_of(assessment)
    spots = {} if wet is None else _spots(wet, days)
    if wet is not None:
        for field_id, told in _wet_sizes(wet, days, teller).items():
            if field_id in fields:
                codes = (too_wet.setdefault(text, len(too_wet)) for text in told)
                fields[field_id]["wet"] = _coded(codes)
    table = assessment.verdicts.set_index("field_id")
    together = farm_weeks(weeks, table["sowable_ha"]).set_index("sow_date")
    average = farm_years_in_ten(table)
    recommended = table.loc[table["sowable_ha"] > 0, "sow_date"]
    farm = {
        "days": [legend.day(day) for day in days],
        "months": _months(days, legend),
        "works": _series(together["works_years_in_ten"].reindex(list(days)), 10),
        "ground": [_ground(together, day, recommended, teller) for day in days],
        "best": sorted({column[day] for day in recommended.dropna() if day in column}),
        "average": years_text(average) if not math.isnan(average) else "",
        "out": "" if len(recommended) else teller.words("map.weeks_out"),
        "fails": list(tails),
        "doubts": list(doubts),
        "too_wet": list(too_wet),
        "wet": [] if wet is None else [round(10 * step) for step in wet_steps(wet)],
        "steps": [round(10 * step) for step in step_limits(assessment)],
        "unit": legend.dry_matter_unit,
        "later": _later(every, days, teller),
        "meaning": works_meaning(assessment.crop, teller.words, legend),
    }
    return PageWeeks(days, farm, fields, spots, _wet_fills(assessment, wet, days, spots))


def _ground(together: pd.DataFrame, day: str, recommended: "pd.Series[str]", teller: Teller) -> str:
    """The ground behind the farm's odds of a week, in words; empty where none is free then."""
    if day not in together.index:
        return ""
    if not len(recommended):
        return teller.words("map.weeks_ground_out")
    n = together.at[day, "n_fields"]
    return teller.words(
        "map.weeks_ground_one" if n == 1 else "map.weeks_ground",
        n=f"{n:.0f}",
        area=teller.legend.area(together.at[day, "ground_ha"]),
    )


def _spots(wet: WetWeeks, days: tuple[str, ...]) -> dict[str, str]:
    """Odds of every spot that has some in these weeks."""
    table = wet.spots.pivot(index="wet_id", columns="sow_date", values="years_in_ten")
    known = table.reindex(columns=list(days)).dropna(how="all")
    return {str(wet_id): _series(row, 10) for wet_id, row in known.iterrows()}


def _wet_sizes(wet: WetWeeks, days: tuple[str, ...], teller: Teller) -> dict[str, list[str]]:
    """What is too wet of each field that ever has some, week by week; empty where not known."""

    def told(wet_ha: float) -> str:
        if wet_ha == 0:
            return teller.words("map.weeks_dry")
        area = teller.legend.area(wet_ha)
        return teller.words("map.weeks_wet", area=area) if area else ""

    table = wet.fields.pivot(index="field_id", columns="sow_date", values="wet_ha")
    table = table.reindex(columns=list(days))
    some = table[(table > 0).any(axis=1)]
    return {str(key): [told(size) for size in row] for key, row in some.iterrows()}


def _wet_fills(
    assessment: Assessment, wet: WetWeeks | None, days: tuple[str, ...], spots: dict[str, str]
) -> tuple[str, ...]:
    """Patterns that wet ground takes in the shown weeks, the wettest first."""
    if wet is None:
        return ()
    shown = wet.spots[wet.spots["wet_id"].isin(spots) & wet.spots["sow_date"].isin(days)]
    found = {wet_fill(years, wet) for years in shown["years_in_ten"]}
    # A spot has no odds in weeks in which its field is not free.
    if len(shown) < len(days) * assessment.wet_ground["wet_id"].nunique():
        found.add("wetu")
    return tuple(fill for fill in ("wet2", "wet", "wet0", "wetu") if fill in found)


def shown_weeks(weeks: pd.DataFrame) -> tuple[str, ...]:
    """Sowing weeks up to one after the last in which any field works, in the order of the year."""
    days = weeks_in_order(set(weeks["sow_date"]))
    works = set(weeks.loc[weeks["works_years_in_ten"] > 0, "sow_date"])
    last = max((i for i, day in enumerate(days) if day in works), default=0)
    return tuple(days[: last + 2])


def step_limits(assessment: Assessment) -> tuple[float, float, float]:
    """Years in ten from which a week is good, fair and poor, as the crop file says."""
    good, fair, poor = (assessment.crop.number(f"odds.{level}_years_in_ten") for level in LEVELS)
    return good, fair, poor


def _field(
    rows: list[dict[Hashable, Any]],
    days: tuple[str, ...],
    tails: dict[str, int],
    verdict: "pd.Series[Any]",
    teller: Teller,
) -> dict[str, Any]:
    by_day = {row["sow_date"]: row for row in rows}
    factor = teller.legend.dry_matter_factor / 100
    told = []
    for day in days:
        known = day in by_day and not math.isnan(by_day[day]["works_years_in_ten"])
        text = teller.fails(by_day[day]) if known else ""
        told.append(tails.setdefault(text, len(tails)))
    sow = verdict["sow_date"]

    def series(name: str, times: float) -> str:
        return _series((by_day[day][name] if day in by_day else math.nan for day in days), times)

    return {
        "works": series("works_years_in_ten", 10),
        "fails": _coded(told),
        "grows": "".join(series(name, factor) for name in _DRY_MATTER),
        "end": series("dry_matter_end_kg_ha_p50", factor),
        "reach": "".join(series(name, 10) for name in _REACH),
        "best": days.index(sow) if sow in days else -1,
    }


def _series(values: Iterable[float], factor: float) -> str:
    return _coded(None if math.isnan(v) else round(v * factor) for v in values)


def _coded(numbers: Iterable[int | None]) -> str:
    most = len(_DIGITS) ** 2
    return "".join(
        _MISSING if n is None or n >= most else _DIGITS[n // 36] + _DIGITS[n % 36] for n in numbers
    )


def weeks_in_order(days: set[str]) -> list[str]:
    """Weeks from the first of the season on, also where a gap runs across the new year."""
    grid = week_grid()
    at = sorted(grid.index(day) for day in days)
    rest = [(b - a) % len(grid) for a, b in zip([at[-1], *at[:-1]], at, strict=True)]
    first = max(range(len(at)), key=lambda i: rest[i] or len(grid))
    return [grid[i] for i in [*at[first:], *at[:first]]]


def _months(days: tuple[str, ...], legend: Legend) -> list[list[Any]]:
    """Where in the strip each month begins, with its name."""
    starts: dict[str, int] = {}
    for i, day in enumerate(days):
        starts.setdefault(day[:2], i)
    return [[i, legend.month(int(month))] for month, i in starts.items()]


def _later(weeks: pd.DataFrame, days: tuple[str, ...], teller: Teller) -> str:
    if len(days) == weeks["sow_date"].nunique():
        return ""
    return teller.words("map.weeks_later", day=teller.legend.day(days[-1]))
