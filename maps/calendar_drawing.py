"""The year of one field as a strip: warm soil, sowing, grazing, flowers and pods, freeze."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from maps import colours
from maps.drawing_frame import label, sheet
from maps.legend import Legend
from maps.words import Words

_TOP_PX, _ROW_PX, _BAR_PX, _FOOT_PX = 20.0, 31.0, 9.0, 6.0
_GRAZE_FROM_D, _GRAZE_TO_D = 45, 60  # days of growth at which it is grazed or cut, without a plan
_WEEK_D, _YEAR_D = 7, 365
_ROOM_D = 12  # after the last bar, so that the name of its month has room
_LETTER_PX = 6.1  # a letter of 12 px, on average
_MONTH_LETTER_PX = 6.6  # of 11 px, wide ones
_FAINT = "#CFCDC4"  # lines of the months, under everything


@dataclass(frozen=True)
class _Row:
    """One line of the strip: its words, and from when to when, as days of the year."""

    text: str
    from_doy: int
    to_doy: int
    fill: str
    hollow: bool = False
    opens_season: bool = False


def calendar_svg(
    row: "pd.Series[Any]",
    field: "pd.Series[Any]",
    words: Words,
    legend: Legend,
    planned: Mapping[str, str] | None = None,
    width_px: int = 380,
) -> str:
    """What falls when, as far as it is known; empty where less than two dates are.

    Parameters
    ----------
    row : of the verdict table. field : of the field table, for the gap. planned : usual day, MM-DD,
        by event of ``suitability.calendar`` where the plan has the field in its days; ``sown`` is
        among them where the plan sows it.

    Notes
    -----
    Nothing of a stand is drawn beyond the end of the gap, and none at all of a field to leave out.
    """
    rows = _rows(row, field, words, legend, planned or {})
    if len(rows) < 2:
        return ""
    first = _first_month(rows)
    last_d = max(_after(r.to_doy, first) for r in rows) + _ROOM_D
    px = width_px / last_d
    body: list[str] = []
    months, month_y = [], _TOP_PX - 7
    height = _TOP_PX + _ROW_PX * len(rows) + _FOOT_PX
    for month in range(1, 13):
        at = _after(date(2001, month, 1).timetuple().tm_yday, first)
        if at < last_d - 8:
            x = at * px
            months.append(f"M{x:.1f} {_TOP_PX - 2:g}V{height - 2:g}")
            name = legend.month(month)
            if x + 2 + len(name) * _MONTH_LETTER_PX <= width_px:
                body.append(label(x + 2, month_y, name, 11, "start"))
    lines = f'<path d="{"".join(months)}" stroke="{_FAINT}" stroke-width=".5" fill="none"/>'
    body.insert(0, lines)
    for i, line in enumerate(rows):
        y = _TOP_PX + i * _ROW_PX
        start, end = _after(line.from_doy, first), _after(line.to_doy, first)
        left, wide = start * px, max((end - start) * px, 3.0)
        fill = colours.PAPER if line.hollow else line.fill
        body.append(
            f'<rect x="{left:.1f}" y="{y + 16:.1f}" width="{wide:.1f}" height="{_BAR_PX:g}"'
            f' fill="{fill}" stroke="{line.fill}" stroke-width="1.4"/>'
        )
        # Words begin over the start of their bar, or as far to the left as they need.
        x = max(0.0, min(left, width_px - len(line.text) * _LETTER_PX))
        body.append(_on_paper(x, y + 12, line.text))
    return sheet(width_px, round(height), "".join(body), words("drawing.calendar"))


def _rows(
    row: "pd.Series[Any]",
    field: "pd.Series[Any]",
    words: Words,
    legend: Legend,
    planned: Mapping[str, str],
) -> list[_Row]:
    green, earth = colours.YEARS["y3"].fill, colours.RATING["S2"].fill
    straw, cold = colours.YEARS["y1"].mark, colours.QUIET
    week, gap_closes = row["sow_date"], field["gap_closes"]
    sow = planned.get("sow", week)
    found = []

    def add(
        name: str, start: Any, end: Any, fill: str, *, hollow: bool = False, until: Any = None
    ) -> None:
        if _known(start) and _known(end):
            days = {"start": legend.day(start), "end": legend.day(end), "week": legend.day(week)}
            text = words(f"drawing.{name}", **days)
            last = _doy(until or end)
            found.append(_Row(text, _doy(start), last, fill, hollow, name == "warm"))

    def stand(name: str, start: Any, end: Any, fill: str, *, hollow: bool = False) -> None:
        until = None
        if _known(start) and _known(end) and _known(gap_closes):
            last_d = _after(_doy(gap_closes), _doy(sow))
            if _after(_doy(start), _doy(sow)) > last_d:
                return
            if _after(_doy(end), _doy(sow)) > last_d:
                until = gap_closes
        # Its use ends with the gap; when it would flower is told whole, and drawn no longer.
        end = end if hollow else until or end
        add(name, start, end, fill, hollow=hollow, until=until)

    add("warm", row["soil_65f_held_p50"], row["soil_65f_held_p80"], earth)
    add("gap", field["gap_opens"], field["gap_closes"], colours.INK, hollow=True)
    if _known(sow) and row["verdict"] != "leave out":
        key = "sow_planned" if "sown" in planned else "sow"
        stand(key, sow, _later(sow, _WEEK_D - 1), green)
        if planned:
            stand("feed", planned.get("feed_opens"), planned.get("feed_closes"), green)
        else:
            stand("graze", _later(sow, _GRAZE_FROM_D), _later(sow, _GRAZE_TO_D), green)
        of = "" if sow == week else "_of_week"  # they are of the recommended week
        first, latest, pods = (
            row[f"{name}_mmdd"] for name in ("first_flower", "latest_flower", "first_pods")
        )
        stand(f"flower{of}", first, latest, straw, hollow=True)
        stand(f"pods{of}", pods, pods, earth)
    add(f"freeze_{legend.units}", row["first_freeze_28f_p10"], row["first_freeze_28f_p50"], cold)
    return found


def _on_paper(x: float, y: float, text: str) -> str:
    """Words with paper behind them, so that the lines of the months do not cross them."""
    return (
        f'<rect x="{x:.1f}" y="{y - 10:.1f}" width="{len(text) * _LETTER_PX:.1f}" height="12.5"'
        f' fill="{colours.PAPER}"/>' + label(x, y, text, 12, "start")
    )


def _first_month(rows: list[_Row]) -> int:
    """Day of the year on which the strip begins: the first of the month before anything falls.

    Across a new year it begins with what the soil's warming falls into, or, where that is not
    known, after the longest time in which nothing falls.
    """
    taken = {
        (r.from_doy + d - 1) % _YEAR_D + 1
        for r in rows
        for d in range(_after(r.to_doy, r.from_doy) + 1)
    }
    rests = {r.from_doy: _rest(r.from_doy, taken) for r in rows}
    begin = max(sorted(rests), key=lambda doy: rests[doy])
    if rows[0].opens_season:
        begin = rows[0].from_doy
        while len(taken) < _YEAR_D and _before(begin) in taken:
            begin = _before(begin)
    day = date.fromordinal(date(2001, 1, 1).toordinal() + begin - 1)
    return day.replace(day=1).timetuple().tm_yday


def _rest(doy: int, taken: set[int]) -> int:
    """Days before this one in which nothing falls."""
    rest = 0
    while rest < _YEAR_D and (doy := _before(doy)) not in taken:
        rest += 1
    return rest


def _before(doy: int) -> int:
    return (doy - 2) % _YEAR_D + 1


def _after(doy: int, first: int) -> int:
    return (doy - first) % _YEAR_D


def _doy(mmdd: str) -> int:
    month, day = (int(part) for part in mmdd.split("-"))
    return date(2001, month, min(day, 28) if month == 2 else day).timetuple().tm_yday


def _later(mmdd: str, days: int) -> str:
    when = date.fromordinal(date(2001, 1, 1).toordinal() + _doy(mmdd) - 1 + days)
    return f"{when.month:02d}-{when.day:02d}"


def _known(value: Any) -> bool:
    return isinstance(value, str) and bool(value)
