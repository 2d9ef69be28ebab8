"""What the report says, as text and drawings that HTML and PDF print alike."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from maps.assessment import Assessment
from maps.colours import VERDICT
from maps.drawing import farm_svg, field_numbers, swatch_svg
from maps.farm_sentences import cautions, farm_lead
from maps.legend import Legend
from maps.open_water import open_water
from maps.owner_letter import OwnerLetter, owner_letter
from maps.reader import crop_within, teller_of
from maps.report_field import FieldPage, field_name, field_page
from maps.report_limits import source_numbers
from maps.report_plan import PlanPages, plan_pages
from maps.report_table import Table
from maps.sentences import Teller, years_text
from maps.shown_names import shown
from maps.spoken_notes import told_source
from maps.weeks_drawing import weeks_svg
from maps.words import Words
from maps.works_meaning import works_meaning
from suitability.crop import Crop

# Number of letters of a remark or a file's worth before it is cut.
_LONG = 600


@dataclass(frozen=True)
class Report:
    """The whole report; ``say`` gives the fixed words of headings."""

    words: Words
    units: str
    title: str
    farm: str
    heading: str
    made: str
    lead: str
    drawing: str
    weeks: str
    weeks_meaning: str
    key: list[tuple[str, str]]
    table: Table
    plan: PlanPages | None
    owner: OwnerLetter | None
    fields: list[FieldPage]
    cautions: list[str]
    notes: list[tuple[str, list[str]]]
    files: Table
    options: list[tuple[str, str]]
    classes: str
    sources: list[tuple[int, str]]
    program: str

    @property
    def told(self) -> tuple[str, str]:
        """Heading and hint above what the grower told, as the grower or an owner reads it."""
        room = "report" if self.owner is None else "owner"
        return self.words(f"{room}.told_heading"), self.words(f"{room}.told_hint")

    def say(self, key: str, **values: object) -> str:
        """A fixed text of the report in the reader's language."""
        return self.words(f"report.{key}", **values)


def field_pages(assessment: Assessment, field_ids: Sequence[str]) -> list[FieldPage]:
    """Everything the report says of some fields."""
    teller = teller_of(assessment)
    return [field_page(assessment, teller, field_id) for field_id in field_ids]


def report_pages(assessment: Assessment, fields: list[FieldPage] | None = None) -> Report:
    """Everything the report says of a run; ``fields`` are its ``field_pages`` if made already."""
    if fields is None:
        fields = field_pages(assessment, list(assessment.verdicts.field_id))
    teller = teller_of(assessment)
    words, legend = teller.words, teller.legend
    made = assessment.provenance
    crop = assessment.crop
    heading = words("farm.title", crop=crop_within(assessment))
    farm = shown(assessment.farm.name)
    return Report(
        words=words,
        units=legend.units,
        title=f"{farm}: {heading}" if farm else heading,
        farm=farm,
        heading=heading,
        made=words("report.made", day=legend.full_day(date.fromisoformat(made.made_on))),
        lead=farm_lead(assessment, teller),
        drawing=farm_svg(assessment, words, legend, width_px=520),
        weeks=weeks_svg(assessment, words, legend, width_px=520),
        weeks_meaning=works_meaning(crop, words, legend),
        key=_key(assessment, words),
        table=_farm_table(assessment, teller),
        owner=owner_letter(assessment),
        plan=plan_pages(assessment, words, legend),
        fields=fields,
        cautions=cautions(assessment, teller),
        notes=_notes(assessment, words),
        files=_files(assessment, words, legend),
        options=[
            (_option(words, name), _option_value(words, value))
            for name, value in made.options.items()
        ],
        classes=_classes(crop, words),
        sources=[
            (n, told_source(crop.sources[key], teller.words.language))
            for key, n in source_numbers(crop).items()
        ],
        program=words("report.program", version=made.version, crop=crop.key),
    )


def _key(assessment: Assessment, words: Words) -> list[tuple[str, str]]:
    there = set(assessment.verdicts.verdict)
    key = [
        (swatch_svg(verdict), words(f"verdict.{verdict.replace(' ', '_')}"))
        for verdict in VERDICT
        if verdict in there
    ]
    if len(open_water(assessment)):
        key.append((swatch_svg("open water"), words("drawing.open_water")))
    if len(assessment.wet_ground):
        key.append((swatch_svg("wet ground"), words("drawing.wet_ground")))
    return key


def _farm_table(assessment: Assessment, teller: Teller) -> Table:
    """Each field in a few words; its own page tells the rest."""
    words, legend = teller.words, teller.legend
    unknown = words("word.not_known")
    who = assessment.fields.set_index("field_id")
    farm = shown(assessment.farm.name)
    counted = bool(assessment.verdicts.score_basis.eq("years in ten").any())
    rows = []
    for number, (_, row) in enumerate(assessment.verdicts.iterrows(), start=1):
        person = who.loc[row.field_id]
        by_years = row.score_basis == "years in ten"
        # Ground left out whole has no week that could be told.
        lacking = "-" if row.verdict == "leave out" else unknown
        owner = shown(person.owner)
        named = [field_name(person, row.field_id), *([owner] if owner not in ("", farm) else [])]
        cells = [str(number), "\n".join(named), teller.verdict(row)]
        if counted:
            cells += [
                (legend.day(row.sow_date) if by_years else "") or lacking,
                years_text(row.works_years_in_ten) if by_years else lacking,
            ]
        cells += [legend.area_number(row.sowable_ha) or unknown, legend.area_number(row.area_ha)]
        rows.append((*cells, teller.brief(row)))
    heads = [
        *("number", "field", "answer"),
        *(("sow_week", "works_of_ten") if counted else ()),
        *("sowable", "area"),
        "why",
    ]
    told = tuple(words(f"report.head.{head}", unit=legend.area_unit) for head in heads)
    widths = {"number": 0.8, "field": 3, "answer": 2.3, "sow_week": 1.7, "sowable": 2, "why": 5}
    numbers = {"works_of_ten", "sowable", "area"}
    return Table(
        told,
        tuple(rows),
        tuple(widths.get(head, 1.6) for head in heads),
        numbers=tuple(i for i, head in enumerate(heads) if head in numbers),
        linked=True,
    )


def _notes(assessment: Assessment, words: Words) -> list[tuple[str, list[str]]]:
    numbers = field_numbers(assessment)
    groups: dict[str, list[str]] = {}
    for note in assessment.notes:
        text = shown(note.text, _LONG)
        if note.level != "info":
            text = words(f"report.level.{note.level}", text=text)
        known = [str(numbers[f]) for f in note.field_ids if f in numbers]
        if known:
            text = words("report.of_fields", text=text, numbers=", ".join(known))
        groups.setdefault(_layer(words, note.layer), []).append(text)
    return list(groups.items())


def _layer(words: Words, layer: str) -> str:
    key = f"report.layer.{layer.replace(' ', '_')}"
    return words(key) if words.has(key) else shown(layer)


def _files(assessment: Assessment, words: Words, legend: Legend) -> Table:
    rows = tuple(
        (
            _layer(words, file.layer),
            shown(file.name, 120) or words("report.not_named"),
            _size(file.size_bytes),
            _day(file.modified, legend),
            shown(file.note, _LONG) or words("report.no_remark"),
        )
        for file in assessment.provenance.files
    )
    heads = ("layer", "file", "size", "dated", "worth")
    return Table(
        tuple(words(f"report.head.{h}") for h in heads), rows, (1.6, 3, 1.2, 2, 4), numbers=(2,)
    )


def _option(words: Words, name: str) -> str:
    key = f"option.{name.replace(' ', '_')}"
    return words(key) if words.has(key) else shown(name)


def _option_value(words: Words, value: str) -> str:
    key = f"option_value.{value.replace(' ', '_')}"
    return words(key) if words.has(key) else shown(value, _LONG)


def _classes(crop: Crop, words: Words) -> str:
    capped = ", ".join(words(f"factor_name.{name}") for name in crop.survey_worst)
    told = words("report.classes")
    return f"{told} {words('report.capped', factors=capped)}" if capped else told


def _size(n_bytes: int) -> str:
    if not n_bytes:
        return ""
    for unit, size in (("GB", 1e9), ("MB", 1e6), ("KB", 1e3)):
        if n_bytes >= size:
            return f"{n_bytes / size:.1f} {unit}"
    return f"{n_bytes} B"


def _day(iso: Any, legend: Legend) -> str:
    try:
        return legend.full_day(date.fromisoformat(str(iso)[:10]))
    except ValueError:
        return shown(iso)
