"""What the page tells of each field and each wet ground, in words ready to show."""

import math
from dataclasses import dataclass
from typing import Any

import pandas as pd

from layers.marked_ground import MARK_CAUSE
from maps.assessment import Assessment
from maps.drawing import field_numbers
from maps.legend import Legend
from maps.of_field import MapUnit, field_rows, map_units, verdict_rows
from maps.open_water import open_water
from maps.page_plan import PlanOfField, plan_of_fields
from maps.page_shapes import coded_shapes
from maps.sentences import Rating, Teller, years_text
from maps.shown_names import shown
from maps.words import Words
from suitability.columns import QUALITIES, VERDICT_WORDS, WORDS

# Names of the fill patterns in the page; see maps/page_patterns.py.
VERDICT_FILL = dict(zip(VERDICT_WORDS, ("sow", "care", "out", "unknown"), strict=True))
STEP_FILL = ("low", "mid", "high")

_NOTE_LETTERS = 600


@dataclass(frozen=True)
class Told:
    """One field in words. ``fills`` has the pattern for the verdict, then for each quality.

    Where there is a plan, its pattern stands last in ``fills``.
    """

    field_id: str
    number: int
    name: str
    owner: str
    area_ha: float
    area: str
    sowable_ha: float
    sowable: str
    works: str
    works_key: int
    sow_date: str
    verdict: str
    order: int
    fills: list[str]
    ratings: list[dict[str, Any]]
    why: str
    mind: list[str]
    facts: list[list[str]]
    soils: list[list[str]]
    noted: list[str]
    plan: PlanOfField | None = None


def told_fields(assessment: Assessment, words: Words, legend: Legend) -> list[Told]:
    """Every field of the verdict table, in its order."""
    teller = Teller(words, legend)
    numbers = field_numbers(assessment)
    fields, units = field_rows(assessment), map_units(assessment)
    plans = plan_of_fields(assessment, words, legend)
    noted: dict[str, list[str]] = {}
    most = max(1, len(fields) // 2)
    for note in assessment.notes:
        # What holds for most fields alike stands once, at the foot of the page.
        if len(note.field_ids) > most:
            continue
        for field_id in note.field_ids:
            noted.setdefault(field_id, []).append(shown(note.text, _NOTE_LETTERS))
    told = []
    for field_id, row in verdict_rows(assessment).items():
        field = fields[field_id]
        ratings = [_rating(teller, row, quality) for quality in QUALITIES]
        inoculant = ratings[QUALITIES.index("inoculation")]
        fact = teller.fact(row, "inoculation")
        # Sand as the reason already is that fact.
        told_twice = (
            row.inoculant_reason == "sand" and row.inoculation_factor == "inoculant_texture"
        )
        inoculant["why"] = [_sentence(fact)] if fact and not told_twice else []
        inoculant["why"].append(teller.inoculant(assessment, field_id))
        why = _capital(teller.reason(row))
        told.append(
            Told(
                field_id=field_id,
                number=numbers[field_id],
                name=shown(field["name"]) or shown(field_id),
                owner=shown(field["owner"]),
                area_ha=row.area_ha,
                area=legend.area_number(row.area_ha),
                sowable_ha=row.sowable_ha,
                sowable=_number(row.sowable_ha, legend, words),
                works=years_text(row.works_years_in_ten) if _known(row.works_years_in_ten) else "",
                works_key=(
                    round(10 * row.works_years_in_ten) if _known(row.works_years_in_ten) else -1
                ),
                sow_date=legend.day(row.sow_date) if _known(row.works_years_in_ten) else "",
                verdict=_capital(teller.verdict(row)),
                order=VERDICT_WORDS.index(row.verdict),
                fills=[
                    VERDICT_FILL[row.verdict],
                    *(rating["fill"] for rating in ratings),
                    *((plans[field_id].fill,) if plans else ()),
                ],
                ratings=ratings,
                why=why,
                mind=teller.mind(row),
                facts=_facts(row, field, teller),
                soils=_soils(units.get(field_id, []), legend),
                noted=noted.get(field_id, []),
                plan=plans.get(field_id),
            )
        )
    return told


def told_wet(
    assessment: Assessment, words: Words, legend: Legend, spots: dict[str, str]
) -> list[dict[str, Any]]:
    """Every wet ground: the index of its field among the verdicts, and what is known of it.

    ``spots`` has the odds of every week by wet_id, which the page's script tells.
    """
    numbers = field_numbers(assessment)
    teller = Teller(words, legend)
    told = []
    for _, row in assessment.wet_ground.iterrows():
        number = numbers[row.field_id]
        cause = words(f"map.cause.{row.cause.replace(' ', '_')}")
        facts = [[words("map.area"), legend.area(row.area_ha)]]
        odds = spots.get(row.wet_id)
        if _known(row.years_in_ten):
            years = words("map.weeks_value", n=teller.spoken_years(row.years_in_ten))
        else:
            marked = row.cause == MARK_CAUSE
            years = words("map.too_wet_marked" if marked else "map.too_wet_unknown")
        if odds is None:
            facts.append([words("map.too_wet"), years])
        if shown(row.compname):
            facts.append([words("map.wet_soil"), shown(row.compname)])
        told.append(
            {
                "field": number - 1,
                "title": words("map.wet_title", n=number),
                "back": words("map.back_to_field", n=number),
                "why": _sentence(cause),
                "item": _capital(
                    words("map.wet_ground_item", area=legend.area(row.area_ha), cause=cause)
                ),
                "facts": facts,
                **({} if odds is None else {"odds": odds}),
            }
        )
    return told


def told_water(
    assessment: Assessment, words: Words, legend: Legend, at_most_m: float
) -> list[dict[str, Any]]:
    """Every open water with its shape (``coded_shapes``): its field, and its acres left out."""
    numbers, water = field_numbers(assessment), open_water(assessment)
    told = []
    for (_, row), shape in zip(
        water.iterrows(), coded_shapes(water.geometry, at_most_m), strict=True
    ):
        number = numbers[row.field_id]
        told.append(
            {
                "field": number - 1,
                "title": words("map.water_title", n=number),
                "back": words("map.back_to_field", n=number),
                "why": words("map.water_told", area=legend.area(row.area_ha)),
                "item": words("map.water_item", area=legend.area(row.area_ha)),
                "facts": [],
                "shape": shape,
            }
        )
    return told


def rating_steps(words: Words, quality: str) -> list[str]:
    """The words of one quality from harmless to worst."""
    return [words(f"word.{word.replace(' ', '_')}") for word in WORDS[quality]]


def _rating(teller: Teller, row: "pd.Series[Any]", quality: str) -> dict[str, Any]:
    rating: Rating = teller.rating(row, quality)
    steps = rating_steps(teller.words, quality)
    step = steps.index(rating.word) if rating.word in steps else len(STEP_FILL)
    return {
        "label": rating.label,
        "word": rating.word,
        "step": step,
        "fill": "unknown" if step == len(STEP_FILL) else STEP_FILL[step],
        "why": [_sentence(rating.why)] if rating.why else [],
    }


def _facts(row: "pd.Series[Any]", field: "pd.Series[Any]", teller: Teller) -> list[list[str]]:
    words, legend = teller.words, teller.legend
    sowable = legend.area(row.sowable_ha) if row.sowable_ha else words("map.none")
    facts = [
        [words("map.sowable"), sowable],
        [words("map.area"), legend.area(row.area_ha)],
    ]
    by_years = row.score_basis == "years in ten"  # then the sowing weeks tell these
    if _known(row.works_years_in_ten) and not by_years:
        value = words("map.weeks_value", n=teller.spoken_years(row.works_years_in_ten))
        facts.insert(0, [words("map.works"), value])
    if legend.day(row.sow_date) and not by_years:
        facts.append([words("map.sow_date"), legend.day(row.sow_date)])
    half, early = legend.day(row.first_freeze_p50), legend.day(row.first_freeze_p10)
    if half and early:
        value = words("map.first_freeze_value", half=half, early=early)
        facts.append([words("map.first_freeze"), value])
    facts.extend([words(f"map.{name}"), text] for name, text in teller.flowers(row))
    if shown(field["owner"]):
        facts.append([words("map.owner"), shown(field["owner"])])
    if _known(row.soil_cover_pct):
        facts.append([words("map.soil_cover"), legend.pct(row.soil_cover_pct)])
    if isinstance(row.suitability_class, str):
        facts.append([words("map.klass"), row.suitability_class])
    elif isinstance(row.at_best, str):
        facts.append([words("map.klass"), words("map.klass_at_best", klass=row.at_best)])
    return [fact for fact in facts if fact[1]]


def _soils(units: list[MapUnit], legend: Legend) -> list[list[str]]:
    return [
        [shown(unit.musym), shown(unit.muname, 120), legend.area(unit.area_ha)] for unit in units
    ]


def _number(area_ha: float, legend: Legend, words: Words) -> str:
    return words("map.none") if area_ha == 0 else legend.area_number(area_ha)


def _known(value: float | None) -> bool:
    return value is not None and not math.isnan(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(clause: str) -> str:
    return _capital(clause).rstrip(".") + "."
