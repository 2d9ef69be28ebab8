"""Writes ``map.html``: one file that opens from an e-mail, with no network and no other file."""

import json
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from maps.assessment import Assessment
from maps.colours import INK, PAPER, SOIL_EDGE, WATER, YEARS
from maps.drawing import farm_svg
from maps.farm_sentences import cautions, farm_lead
from maps.legend import Legend
from maps.number_places import wet_by_field
from maps.online_imagery import page_online
from maps.open_water import open_water
from maps.owner_letter import owner_letter
from maps.page import constant_page
from maps.page_fields import (
    STEP_FILL,
    VERDICT_FILL,
    Told,
    rating_steps,
    told_fields,
    told_water,
    told_wet,
)
from maps.page_ground import page_ground, picture_choices
from maps.page_patterns import patterns_svg, swatch_svg
from maps.page_place import page_place
from maps.page_plan import plan_key, plan_lead
from maps.page_shapes import coded_shapes, label_points, tolerance_m
from maps.page_weeks import PageWeeks, page_weeks, step_limits
from maps.reader import crop_within, legend_of, words_of
from maps.sentences import Teller, years_text
from maps.shown_names import shown
from maps.weeks_drawing import weeks_svg
from maps.wet_by_week import WET_FILLS, wet_of, wet_steps
from maps.words import Words
from suitability.columns import QUALITIES
from suitability.crop import LEVELS

_SVG_WIDTH_PX = 440  # its lettering is still read when a phone shows it 350 wide
_NOTE_LETTERS = 600
# With more fields than the first, a screen shows no more rows than the second at a time.
_MANY_ROWS, _ROWS_AT_ONCE = 150, 100
# Words that the page's own script puts on the page.
_SCRIPT_WORDS = (
    "close mind ratings facts soils wet_here water_here noted shown_all shown_some "
    "zoom_in zoom_out whole_farm map_label weeks_heading weeks_value weeks_average weeks_farm "
    "weeks_field weeks_field_best weeks_fails weeks_closed weeks_none grows_60 grows_value reach "
    "waiting waiting_week waiting_works waiting_60 waiting_end doubts wet_week"
)
_YEARS_WORDS = ("none", "one", "many")


def write_map(assessment: Assessment, path: Path) -> None:
    """Write the map page of a run; every number comes from the assessment's verdicts."""
    # As bytes: another line ending would change the text that the page's policy was made for.
    path.write_bytes(map_page(assessment, words_of(assessment)).encode("utf-8"))


def map_page(assessment: Assessment, words: Words) -> str:
    """The page as text. The template sees text from files as values only, never as a template."""
    legend = legend_of(assessment)
    teller = Teller(words, legend)
    told = told_fields(assessment, words, legend)
    template = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    ).from_string((files("maps") / "templates" / "map.html").read_text("utf-8"))
    crop = assessment.crop
    weeks = page_weeks(assessment, teller)
    water = open_water(assessment)
    pictures = page_ground(assessment, words, legend)
    online = page_online(words) if assessment.farm.online_imagery else None
    data = {
        **_script_data(assessment, told, weeks, words, legend),
        "place": page_place(words, legend),
        "ground": pictures,
        "online": online,
    }
    return template.render(
        t=_Shelf(words),
        page=constant_page(online=online is not None),
        pictures=picture_choices(pictures, words),
        online=online,
        raw=Markup,
        patterns=Markup(patterns_svg()),
        swatch=lambda name: Markup(swatch_svg(name)),
        drawing=Markup(farm_svg(assessment, words, legend, _SVG_WIDTH_PX)),
        data=Markup(script_json(data)),
        weeks=weeks and weeks.farm,
        weeks_drawing=Markup(weeks_svg(assessment, words, legend) if weeks else ""),
        week_key=_week_key(assessment, words),
        wet_key=_wet_key(assessment, weeks, words),
        language=words.language,
        farm=shown(assessment.farm.name),
        crop=crop_within(assessment),
        scientific=crop.scientific_name,
        day=legend.full_day(date.fromisoformat(assessment.provenance.made_on[:10])),
        version=assessment.provenance.version,
        lead=farm_lead(assessment, teller),
        owner=owner_letter(assessment),
        plan_lead=plan_lead(assessment, words, legend),
        has_plan=any(field.plan is not None for field in told),
        area_unit=legend.area_unit,
        qualities=[words(f"quality.{quality}") for quality in QUALITIES],
        told=told,
        rows_at_once=_ROWS_AT_ONCE if len(told) > _MANY_ROWS else len(told),
        keys=_keys(told, words, legend),
        wet_total=legend.area(float(assessment.wet_ground.area_ha.sum())),
        water_total=legend.area(float(water.area_ha.sum())) if len(water) else "",
        has_wet=len(assessment.wet_ground) > 0,
        has_soils=len(assessment.soil_parts) > 0,
        cautions=cautions(assessment, teller),
        notes=_notes(assessment, "warning") + _notes(assessment, "caution"),
        remarks=_notes(assessment, "info"),
        sources=[
            {
                "layer": _layer(source.layer, words),
                "name": shown(source.name) or words("report.not_named"),
                "modified": shown(source.modified),
                "note": shown(source.note, _NOTE_LETTERS),
            }
            for source in assessment.provenance.files
        ],
    )


def script_json(data: Any) -> str:
    r"""JSON that no HTML parser can take for markup, whatever stands in it.

    >>> print(script_json("</script>&"))
    "\u003c/script\u003e\u0026"
    """
    text = json.dumps(data, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return text


class _Shelf:
    """``t.name`` in the template is the sentence ``map.name``; ``t(name, ...)`` fills it in."""

    def __init__(self, words: Words) -> None:
        self._words = words

    def __getattr__(self, name: str) -> str:
        if not self._words.has(f"map.{name}"):
            raise AttributeError(name)
        return self._words(f"map.{name}")

    def __call__(self, name: str, **values: object) -> str:
        return self._words(f"map.{name}", **values)


def _step_words(words: Words, quality: str) -> list[str]:
    """The word of each step of a rating; beyond its last it is not known."""
    steps = rating_steps(words, quality)
    return [*steps, *[words("word.not_known")] * (len(STEP_FILL) + 1 - len(steps))]


def _keys(told: list[Told], words: Words, legend: Legend) -> list[list[dict[str, str]]]:
    """The key for each way to colour the map: verdict, the four ratings, the plan."""
    verdicts = [
        (fill, words(f"verdict.{verdict.replace(' ', '_')}"))
        for verdict, fill in VERDICT_FILL.items()
    ]
    keys = [verdicts]
    for quality in QUALITIES:
        steps = list(zip(STEP_FILL, rating_steps(words, quality), strict=False))
        keys.append([*steps, ("unknown", words("word.not_known"))])
    if any(field.plan is not None for field in told):
        keys.append(plan_key(words))
    return [
        [
            {"fill": fill, "word": word, "count": _count(told, way, fill, words, legend)}
            for fill, word in key
            if any(field.fills[way] == fill for field in told)
        ]
        for way, key in enumerate(keys)
    ]


def _week_key(assessment: Assessment, words: Words) -> list[dict[str, str]]:
    limits = dict(zip(LEVELS, map(years_text, step_limits(assessment)), strict=True))
    names = [*LEVELS, "fewer", "closed"]
    return [
        {"fill": fill, "word": words(f"map.key_weeks_{name}", **limits)}
        for fill, name in zip([*YEARS, "unknown"], names, strict=True)
    ]


def _wet_key(assessment: Assessment, weeks: PageWeeks | None, words: Words) -> list[dict[str, str]]:
    wet = wet_of(assessment)
    if weeks is None or wet is None:
        return []
    low, high = map(years_text, wet_steps(wet))
    return [
        {"fill": fill, "word": words(f"map.key_wet_{WET_FILLS[fill]}", low=low, high=high)}
        for fill in weeks.wet_fills
    ]


def _count(told: list[Told], way: int, fill: str, words: Words, legend: Legend) -> str:
    """Fields and their size; by the plan, the ground that is sown, as its sentence counts it."""
    mine = [field for field in told if field.fills[way] == fill]
    areas = [field.area_ha for field in mine]
    if way > len(QUALITIES):
        areas = [field.plan.sowable_ha for field in mine if field.plan is not None]
        if not sum(areas) > 0:  # none of it can be sown, or not of all is it known
            return words(f"map.plan_fields_{'one' if len(mine) == 1 else 'many'}", n=len(mine))
    name = "map.key_count_one" if len(areas) == 1 else "map.key_count"
    return words(name, n=len(areas), area=legend.area(sum(areas)))


def _notes(assessment: Assessment, level: str) -> list[str]:
    return [shown(note.text, _NOTE_LETTERS) for note in assessment.notes if note.level == level]


def _layer(layer: str, words: Words) -> str:
    key = f"map.layer.{layer}"
    return words(key) if words.has(key) else shown(layer)


def _by_field(told: list[dict[str, Any]]) -> dict[int, list[int]]:
    """The indices of what lies in each field, by the field's own index."""
    found: dict[int, list[int]] = {}
    for index, spot in enumerate(told):
        found.setdefault(spot["field"], []).append(index)
    return found


def _script_data(
    assessment: Assessment,
    told: list[Told],
    weeks: PageWeeks | None,
    words: Words,
    legend: Legend,
) -> dict[str, Any]:
    fields = assessment.fields.set_index("field_id").geometry
    ground = fields.loc[[field.field_id for field in told]]
    finest = tolerance_m(assessment.fields.geometry)
    covered = wet_by_field(assessment)
    wet = told_wet(assessment, words, legend, weeks.spots if weeks else {})
    water = told_water(assessment, words, legend, finest)
    spots_of, waters_of = _by_field(wet), _by_field(water)
    return {
        "colours": {"ink": INK, "paper": PAPER, "water": WATER, "soil": SOIL_EDGE},
        "words": {
            **{name: words.sentences[f"map.{name}"] for name in _SCRIPT_WORDS.split()},
            **{f"years_{name}": words.sentences[f"years.{name}"] for name in _YEARS_WORDS},
            "numbers": words("unit.numbers"),
            **({"whole_farm": words("owner.all_fields")} if assessment.farm.for_owner else {}),
        },
        "weeks": weeks and weeks.farm,
        "wetland": words("caution.wetland"),
        "ratings": [
            {"label": words(f"quality.{quality}"), "words": _step_words(words, quality)}
            for quality in QUALITIES
        ],
        "fields": [
            {
                "name": field.name,
                "title": words("map.field_title", n=field.number),
                "verdict": field.verdict,
                "fills": field.fills,
                "why": field.why,
                "mind": field.mind,
                "facts": field.facts,
                "ratings": [[rating["step"], *rating["why"]] for rating in field.ratings],
                "soils": field.soils,
                "noted": field.noted,
                **({} if field.plan is None else {"plan": field.plan.told}),
                "wet": spots_of.get(order, []),
                **({"water": waters_of[order]} if order in waters_of else {}),
                "weeks": weeks and weeks.fields.get(field.field_id),
                "shape": shape,
                "label": label,
            }
            for order, (field, shape, label) in enumerate(
                zip(told, coded_shapes(ground, finest), label_points(ground, covered), strict=True)
            )
        ],
        "wet": [
            {**spot, "shape": shape}
            for spot, shape in zip(
                wet, coded_shapes(assessment.wet_ground.geometry, finest), strict=True
            )
        ],
        "water": water,
        "soil": coded_shapes(assessment.soil_parts.geometry, finest),
    }
