"""What the report says of one field, as text that HTML and PDF print alike."""

from dataclasses import dataclass
from typing import Any

import pandas as pd

from maps.assessment import Assessment
from maps.calendar_drawing import calendar_svg
from maps.drawing import field_numbers, field_svg, swatch_svg
from maps.flood_years import drawn_years_hint, flood_years
from maps.missing import is_missing
from maps.of_field import field_rows, has_rows, rows_of, verdict_rows
from maps.open_water import open_water
from maps.page_plan import plan_of_fields
from maps.reader import legend_of
from maps.report_limits import found_on, limits_table, not_judged
from maps.report_seen import seen_table
from maps.report_soils import map_units_told, soils_table
from maps.report_table import Table
from maps.report_water_seen import water_seen_table
from maps.report_weeks import weeks_table
from maps.sentences import Teller
from maps.shown_names import shown
from maps.wet_by_week import wet_weeks_told
from maps.words import Words
from maps.years_drawing import years_svg
from suitability.columns import KNOWLEDGE

# Dated columns of the verdicts: the sentence, how its days are told, and years of 10 for each.
_DATES = (
    ("last_freeze", "later_than", (("last_freeze_p50", 5), ("last_freeze_p10", 1))),
    ("first_freeze", "before", (("first_freeze_p50", 5), ("first_freeze_p10", 1))),
    ("killing_freeze", "before", (("first_freeze_28f_p50", 5), ("first_freeze_28f_p10", 1))),
    ("warm_soil", "by", (("soil_65f_held_p50", 5), ("soil_65f_held_p80", 8))),
)
_AGES_D = (45, 60, 90)


@dataclass(frozen=True)
class FieldPage:
    """One field, every text ready to print; lists are empty where there is nothing to say."""

    number: int
    name: str
    owner: str
    verdict: str
    verdict_key: str
    why: str
    mind: list[str]
    plan: str
    facts: list[tuple[str, str]]
    doubts: list[str]
    drawing: str
    years: str
    years_hint: str
    calendar: str
    season: list[str]
    weeks: Table | None
    weeks_hint: str
    key: list[tuple[str, str]]
    rating_table: Table
    inoculant: str
    freezes: list[str]
    told: list[tuple[str, str]]
    map_units: list[str]
    soils: Table | None
    limits: Table | None
    not_judged: str
    notes: list[str]
    water_seen: Table | None
    seen: Table | None


def field_page(assessment: Assessment, teller: Teller, field_id: str) -> FieldPage:
    """Everything the report says of a field; KeyError if there is no such field."""
    row, who = verdict_rows(assessment)[field_id], field_rows(assessment)[field_id]
    words, why = teller.words, teller.reason(row)
    found = found_on(assessment, field_id)
    return FieldPage(
        number=field_numbers(assessment)[field_id],
        name=field_name(who, field_id),
        owner=shown(who.owner),
        verdict=teller.verdict(row),
        verdict_key=str(row.verdict),
        why=why,
        mind=teller.mind(row),
        plan=_plan(assessment, teller, field_id),
        facts=_facts(assessment, teller, row),
        doubts=teller.doubts(row, assessment.crop),
        years=years_svg(assessment, field_id, words, teller.legend),
        years_hint=drawn_years_hint(assessment, teller, row),
        calendar=calendar_svg(row, who, words, teller.legend, _planned_days(assessment, field_id)),
        season=[*_season(teller, row), *wet_weeks_told(assessment, teller, field_id)],
        weeks=weeks_table(assessment, teller, field_id),
        weeks_hint=words("report.weeks_hint", unit=teller.legend.dry_matter_unit),
        drawing=field_svg(assessment, field_id, words, teller.legend, width_px=330),
        key=_key(assessment, words, field_id),
        rating_table=_ratings(teller, row),
        inoculant=teller.inoculant(assessment, field_id),
        freezes=_freezes(teller, row),
        told=_told(teller, who),
        map_units=map_units_told(assessment, teller, field_id),
        soils=soils_table(assessment, teller, field_id, found),
        limits=limits_table(found, assessment.crop, teller),
        not_judged=not_judged(assessment, words, field_id, found),
        notes=_notes(assessment, field_id),
        water_seen=water_seen_table(assessment, teller, field_id),
        seen=seen_table(assessment, teller, field_id),
    )


def _plan(assessment: Assessment, teller: Teller, field_id: str) -> str:
    planned = plan_of_fields(assessment, teller.words, teller.legend).get(field_id)
    return "" if planned is None else planned.told


def _planned_days(assessment: Assessment, field_id: str) -> dict[str, str]:
    """Usual day of each event that the plan has for the field, and ``sown`` if it sows it.

    ``sow`` is the first day of the sowing week.
    """
    if assessment.calendar is None:
        return {}
    mine = rows_of(assessment.calendar, field_id)
    days = dict(zip(mine["event"], mine["usual_mmdd"], strict=True))
    if "sow" in days:
        days["sow"] = mine["sow_date"].iloc[0]
    return {**days, "sown": days["sow"]} if mine["sown"].any() and "sow" in days else days


def field_name(who: "pd.Series[Any]", field_id: str) -> str:
    """The field's name as shown; its id where it has no name."""
    return shown(who["name"]) or shown(field_id)


def field_heading(page: "FieldPage", words: Words) -> str:
    """``Field 3: Home Forty``; the number alone where the name is nothing but the number."""
    title = words("report.field_title", n=page.number)
    return title if page.name == str(page.number) else f"{title}: {page.name}"


def _notes(assessment: Assessment, field_id: str) -> list[str]:
    """Notes on this field; what holds for most fields alike stands on the last page."""
    most = max(1, len(assessment.verdicts) // 2)
    return [
        shown(note.text, 600)
        for note in assessment.notes
        if field_id in note.field_ids and len(note.field_ids) <= most
    ]


def _facts(assessment: Assessment, teller: Teller, row: "pd.Series[Any]") -> list[tuple[str, str]]:
    words, legend = teller.words, teller.legend
    unknown = words("word.not_known")
    klass = row.suitability_class if not is_missing(row.suitability_class) else ""
    if not klass and not is_missing(row.at_best):
        klass = words("report.at_best", klass=row.at_best)
    works, basis = row.works_years_in_ten, row.score_basis
    facts = [
        ("area", legend.area(row.area_ha)),
        ("sowable", legend.area(row.sowable_ha)),
        *_wet(assessment, teller, row),
        ("soil_cover", legend.pct(row.soil_cover_pct)),
        ("class", klass),
        (
            "basis",
            words(f"report.score_basis.{str(basis).replace(' ', '_')}")
            if not is_missing(basis)
            else "",
        ),
    ]
    by_years = basis == "years in ten"  # then the answer has told the two
    if not is_missing(works) and not by_years:
        facts.append(("works", words("report.years_in_ten", n=teller.spoken_years(works))))
    if not is_missing(row.sow_date) and not by_years:
        facts.append(("sow", legend.day(row.sow_date)))
    return [(words(f"report.fact.{name}"), text or unknown) for name, text in facts]


def _wet(assessment: Assessment, teller: Teller, row: "pd.Series[Any]") -> list[tuple[str, str]]:
    """Acres of water and wet ground; of a field left out whole, only what is drawn or mapped."""
    legend = teller.legend
    if row.verdict == "leave out":
        drawn_ha = float(rows_of(assessment.wet_ground, str(row.name)).area_ha.sum())
        wet_ha = drawn_ha + (row.water_ha if not is_missing(row.water_ha) else 0.0)
        return [("wet_in_it", legend.area(wet_ha))] if wet_ha > 0 else []
    wet_ha = row.area_ha - row.sowable_ha
    none = teller.words("report.none_here") if wet_ha == 0 else ""
    return [("wet", legend.area(wet_ha) if wet_ha > 0 else none)]


def _season(teller: Teller, row: "pd.Series[Any]") -> list[str]:
    """How many days it has to grow, and when it flowers, for the recommended week."""
    words = teller.words
    told = []
    if all(not is_missing(row[f"reach_{age}d_years_in_ten"]) for age in _AGES_D):
        years = {
            f"d{age}": teller.spoken_years(row[f"reach_{age}d_years_in_ten"]) for age in _AGES_D
        }
        key = "report.reach_flood" if flood_years(row) > 0 else "report.reach"
        told.append(words(key, day=teller.legend.day(row.sow_date), **years))
    flowers = [] if row.verdict == "leave out" else teller.flowers(row)  # no stand to flower
    return [*told, *(words(f"report.{name}", text=text) for name, text in flowers)]


def _ratings(teller: Teller, row: "pd.Series[Any]") -> Table:
    words = teller.words
    rows = tuple(
        (rating.label, rating.word, rating.why or words("word.not_known"))
        for rating in teller.ratings(row)
    )
    heads = tuple(words(f"report.head.{head}") for head in ("rating", "answer_word", "because"))
    return Table(heads, rows, (2, 1.6, 5))


def _freezes(teller: Teller, row: "pd.Series[Any]") -> list[str]:
    words, legend = teller.words, teller.legend
    told = []
    for name, clause, columns in _DATES:
        if any(not is_missing(row[column]) for column, _ in columns):
            dates = [
                words(
                    f"report.{clause}" if not is_missing(row[column]) else "report.date_not_known",
                    day=legend.day(row[column]),
                    n=words(f"report.years_{n}"),
                )
                for column, n in columns
            ]
            told.append(words(f"report.{name}_{legend.units}", dates=", ".join(dates)))
    if not is_missing(row.freeze_years_in_ten):
        text = f"{row.freeze_years_in_ten:.0f}"
        told.append(words(f"report.freeze_years_{legend.units}", n=text))
    return told or [words("report.freeze_none")]


def _told(teller: Teller, who: "pd.Series[Any]") -> list[tuple[str, str]]:
    told = []
    for column in KNOWLEDGE:
        value = who[column.name]
        if is_missing(value) or value == "":
            continue
        if column.kind == "date":
            text = teller.legend.full_day(pd.Timestamp(value).date())
        elif column.kind == "flag":
            text = teller.words("report.yes" if value else "report.no")
        elif column.name == "irrigated_mm_week":
            text = teller.words("report.a_week", depth=teller.legend.rain(float(value)))
        elif column.name.startswith("gap_"):
            text = teller.legend.day(value)
        elif isinstance(value, str):
            text = teller.words.term(value) if value in (*column.allowed, "none") else shown(value)
        else:
            text = f"{value:g}"
        told.append((teller.words(f"report.told.{column.name}"), text))
    return told


def _key(assessment: Assessment, words: Words, field_id: str) -> list[tuple[str, str]]:
    key = []
    if has_rows(assessment.wet_ground, field_id):
        key.append((swatch_svg("wet ground"), words("drawing.wet_ground")))
    if has_rows(open_water(assessment), field_id):
        key.append((swatch_svg("open water"), words("drawing.open_water")))
    if has_rows(assessment.soil_parts, field_id):
        key.append((swatch_svg("soil"), words("drawing.soil")))
    ground = assessment.ground
    if ground is not None and any(field_id in group.field_ids for group in ground.groups):
        step = legend_of(assessment).round_length(ground.step_m)
        text = words("drawing.contours", step=step, times=ground.exaggeration)
        key.append((swatch_svg("contours"), text))
    return key
