"""What a landlord is told first: what is sown, until when, how it is ended, whether stock come."""

from dataclasses import dataclass
from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.drawing import field_numbers
from maps.reader import crop_name, crop_within, teller_of
from maps.report_field import field_name
from maps.report_table import Table
from maps.sentences import Teller
from maps.shown_names import shown
from suitability.gap import gap_days

_GO = ("sow", "sow with care")
_STOCK = {"graze": "stock", "cut": "no_stock", "cover": "no_stock"}


@dataclass(frozen=True)
class OwnerLetter:
    """``lines`` a sentence or two each; ``short`` the same as one paragraph; ``only`` whose."""

    heading: str
    lines: list[str]
    short: str
    only: str
    table: Table


@dataclass(frozen=True)
class _Ground:
    """One field: whether it is (or can be) sown, and its days as MM-DD, None where not known."""

    number: int
    name: str
    sown: bool
    sowable_ha: float
    week: str | None
    end: str | None
    free: str | None
    pods: str | None
    use: str | None


def owner_letter(assessment: Assessment) -> OwnerLetter | None:
    """The letter to the owner whom the result is for; None where it is for the whole farm."""
    if not assessment.farm.for_owner:
        return None
    teller = teller_of(assessment)
    words, legend = teller.words, teller.legend
    ground = _ground(assessment)
    sown = [field for field in ground if field.sown]
    owner = shown(assessment.farm.for_owner)
    lines = [_what(assessment, ground, sown, teller)]
    if sown:
        lines += [_when(sown, teller), _ended(sown, teller), *_stock(sown, teller)]
    lines.append(words("owner.drainage"))
    wet_ha = float(assessment.wet_ground["area_ha"].sum())
    if wet_ha > 0:
        lines[-1] += " " + words("owner.wet", wet=legend.area(wet_ha))
    return OwnerLetter(
        heading=words("owner.heading", owner=owner),
        lines=lines,
        short=" ".join(lines),
        only=words("owner.only", owner=owner),
        table=_table(ground, assessment.calendar is not None, teller),
    )


def _ground(assessment: Assessment) -> list[_Ground]:
    """Every field: as the plan has it where there is one, else as the verdict lets it be."""
    days = _days(assessment.calendar)
    fields = assessment.fields.set_index("field_id")
    numbers = field_numbers(assessment)
    found = []
    for _, row in assessment.verdicts.iterrows():
        field, planned = fields.loc[row.field_id], days.get(row.field_id, {})
        free, pods, use = _text(field.gap_closes), _text(row.first_pods_mmdd), _text(field.use)
        if assessment.calendar is None:
            sown = row.verdict in _GO and row.sowable_ha > 0
            week = _text(row.sow_date)
            end = _first(week, free, pods)
        else:
            sown, week, end = bool(planned), planned.get("week"), planned.get("end_stand")
        name = field_name(field, row.field_id)
        number = numbers[row.field_id]
        found.append(_Ground(number, name, sown, float(row.sowable_ha), week, end, free, pods, use))
    return found


def _days(calendar: pd.DataFrame | None) -> dict[str, dict[str, str]]:
    """Usual day of each event, and ``week`` of sowing, of the fields that the plan sows."""
    days: dict[str, dict[str, str]] = {}
    if calendar is not None:
        for row in calendar[calendar["sown"].astype(bool)].itertuples(index=False):
            days.setdefault(row.field_id, {"week": row.sow_date})[row.event] = row.usual_mmdd
    return days


def _first(week: str | None, free: str | None, pods: str | None) -> str | None:
    """Whichever comes first after sowing: the end of the gap, or the first pods."""
    if week is None:
        return free
    ends = [day for day in (free, pods) if day]
    return min(ends, key=lambda day: gap_days(week, day)) if ends else None


def _what(
    assessment: Assessment, ground: list[_Ground], sown: list[_Ground], teller: Teller
) -> str:
    words, legend = teller.words, teller.legend
    name, scientific = crop_name(assessment), assessment.crop.scientific_name
    if not sown:
        key = "owner.none" if assessment.calendar is None else "owner.none_planned"
        return words(key, crop=crop_within(assessment), scientific=scientific)
    key = "owner.fit" if assessment.calendar is None else "owner.sown"
    if "fit" in key:
        name = crop_within(assessment)
    said = words(
        f"{key}_one" if len(ground) == 1 else key,
        crop=name,
        scientific=scientific,
        n=len(sown),
        of=len(ground),
        sowable=legend.area(sum(field.sowable_ha for field in sown)),
        area=legend.area(float(assessment.verdicts["area_ha"].sum())),
    )
    return f"{said} {words('owner.stays')}" if len(sown) < len(ground) else said


def _when(sown: list[_Ground], teller: Teller) -> str:
    words, day = teller.words, teller.legend.day
    weeks = sorted({field.week for field in sown if field.week})
    said = []
    if weeks:
        key = "owner.when" if len(weeks) == 1 else "owner.when_range"
        said.append(words(key, first=day(weeks[0]), last=day(weeks[-1])))
    ends = _latest(sown, [field.end for field in sown])
    free = _latest(sown, [field.free for field in sown])
    if ends and free and ends != free:
        said.append(words("owner.until", end=day(ends), free=day(free)))
    elif free:
        said.append(words("owner.until_free", free=day(free)))
    elif ends:
        said.append(words("owner.until_end", end=day(ends)))
    else:
        said.append(words("owner.until_unknown"))
    return " ".join(said)


def _latest(sown: list[_Ground], days: list[str | None]) -> str | None:
    """Last of these days after sowing; None where one of them is not known."""
    if not all(days):
        return None
    start = min((field.week for field in sown if field.week), default="01-01")
    return max((day for day in days if day), key=lambda day: gap_days(start, day))


def _ended(sown: list[_Ground], teller: Teller) -> str:
    pods = [field.pods for field in sown if field.pods]
    if not pods:
        return teller.words("owner.ended_unknown")
    start = min((field.week for field in sown if field.week), default="01-01")
    first = min(pods, key=lambda day: gap_days(start, day))
    return teller.words("owner.ended", pods=teller.legend.day(first))


def _stock(sown: list[_Ground], teller: Teller) -> list[str]:
    words = teller.words
    groups: dict[str, list[str]] = {}
    for field in sown:
        groups.setdefault(_STOCK.get(field.use or "", "stock_unknown"), []).append(field.name)
    return [
        words(f"owner.{key}", fields=", ".join(groups[key]))
        for key in ("stock", "no_stock", "stock_unknown")
        if key in groups
    ]


def _table(ground: list[_Ground], decided: bool, teller: Teller) -> Table:
    """Every field's answer and days; where nothing is sown there are no days to head."""
    heads = ("field", "answer", "area", "week", "end", "free", "stock")
    n = len(heads) if any(field.sown for field in ground) else 2
    return Table(
        tuple(
            teller.words(f"owner.head.{head}", unit=teller.legend.area_unit) for head in heads[:n]
        ),
        tuple(_row(field, decided, teller)[:n] for field in ground),
        (2.6, 1.6, 1.2, 1.4, 1.5, 1.6, 1.9)[:n],
        numbers=(2,) if n > 2 else (),
    )


def _row(field: _Ground, decided: bool, teller: Teller) -> tuple[str, ...]:
    words, legend = teller.words, teller.legend
    named = field.name if field.name == str(field.number) else f"{field.number} {field.name}"
    if not field.sown:
        return (named, words("owner.answer.no"), "", "", "", "", "")
    unknown = words("word.not_known")
    use = field.use if field.use in _STOCK else "unknown"
    return (
        named,
        words("owner.answer.yes" if decided else "owner.answer.fit"),
        legend.area_number(field.sowable_ha),
        legend.day(field.week) or unknown,
        legend.day(field.end) or unknown,
        legend.day(field.free) or unknown,
        words(f"owner.use.{use}"),
    )


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) and value else None
