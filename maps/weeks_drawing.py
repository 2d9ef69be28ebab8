"""The strip of sowing weeks as a drawing: a bar a week, as high as the years in ten it works."""

import math

import shapely

from maps import colours
from maps.assessment import Assessment
from maps.drawing_frame import label, sheet
from maps.hatching import dots, stripes
from maps.legend import Legend
from maps.page_weeks import shown_weeks, step_limits
from maps.told_weeks import told_weeks
from maps.words import Words
from suitability.farm_weeks import farm_weeks

_BAR_PX, _TOP_PX, _FOOT_PX = 60.0, 30.0, 36.0


def weeks_svg(assessment: Assessment, words: Words, legend: Legend, width_px: int = 440) -> str:
    """The whole farm by sowing week; empty where nothing could be simulated."""
    weeks = told_weeks(assessment)
    if weeks.empty:
        return ""
    days = shown_weeks(weeks)
    ground = assessment.verdicts.set_index("field_id")["sowable_ha"]
    works = farm_weeks(weeks, ground).set_index("sow_date")["works_years_in_ten"]
    sown = assessment.verdicts.loc[assessment.verdicts["sowable_ha"] > 0, "sow_date"]
    marked = set(sown.dropna())
    wide = (width_px - 2) / len(days)
    base = _TOP_PX + _BAR_PX
    body = [f'<path d="M0 {base:g}H{width_px}" stroke="{colours.INK}" stroke-width="1.5"/>']
    month = ""
    for i, day in enumerate(days):
        left, middle = 1 + i * wide, 1 + (i + 0.5) * wide
        years = float(works.get(day, math.nan))
        if not math.isnan(years):
            tall = max(2.0, years / 10 * _BAR_PX)
            bar = shapely.box(left + 1.5, base - tall, left + wide - 1.5, base)
            body.append(_bar(bar, step_of(years, assessment)))
            body.append(label(middle, base - tall - 4, f"{years:.0f}", 12, "middle", bold=True))
        if day in marked:
            body.append(f'<path d="M{middle - 4:.1f} 2h8l-4 6z" fill="{colours.INK}"/>')
        body.append(label(middle, base + 14, str(int(day[3:])), 11, "middle"))
        if day[:2] != month:
            month = day[:2]
            body.append(label(left + 2, base + 30, legend.month(int(month)), 12, "start"))
    return sheet(width_px, round(base + _FOOT_PX), "".join(body), words("map.weeks_drawing"))


def step_of(years_in_ten: float, assessment: Assessment) -> str:
    """Name of the step of ``colours.YEARS`` that these years in ten belong to."""
    for name, least in zip(colours.YEARS, step_limits(assessment), strict=False):
        if years_in_ten >= least - 1e-9:
            return name
    return list(colours.YEARS)[-1]


def _bar(bar: shapely.Polygon, step: str) -> str:
    swatch = colours.YEARS[step]
    left, top, right, bottom = bar.bounds
    mark = ""
    if swatch.pattern == "dots":
        mark = _strokes(dots(bar, 8, 2), swatch.mark, 2.4)
    elif swatch.pattern == "stripes":
        mark = _strokes(stripes(bar, 6, 45), swatch.mark, 1.6)
    box = f'<path d="M{left:.1f} {top:.1f}H{right:.1f}V{bottom:.1f}H{left:.1f}Z"'
    edge = f'{box} fill="none" stroke="{colours.INK}" stroke-width="1"/>'
    return f'{box} fill="{swatch.fill}"/>{mark}{edge}'


def _strokes(data: str, colour: str, width: float) -> str:
    line = f'stroke="{colour}" stroke-width="{width:g}" stroke-linecap="round"'
    return f'<path d="{data}" fill="none" {line}/>' if data else ""
