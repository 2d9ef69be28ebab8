"""Every note of the program has its sentence in every other language, values letter for letter."""

import re
from dataclasses import replace
from functools import cache

import pytest
from note_templates import HOLE, given_to, note_layers, note_templates, returned

from layers.field_names import row_labels
from layers.frost.codes import completeness_words
from layers.soil_grid_kinds import KINDS
from layers.soil_map.expected import TABLES
from layers.weather import sound_days
from layers.weather.units import PRECIP_WORDS, TEMPERATURE_WORDS
from maps import writing
from maps.spoken_notes import Pattern, Patterns, Said, load_patterns, spoken
from maps.words import languages, load_words
from suitability.crop import load_crop
from suitability.prices import prices

OTHERS = [language for language in languages() if language != "en"]
# What no language has: words of the libraries that read files, and what is said in it already.
FOREIGN = {"layers.soil_map.survey", "maps.for_owner"}
# Values that are words of farm.toml, and units.
KEYS = {"graze", "cut", "cover", "mm"}
HEIGHT_UNITS = ("metre", "foot", "US survey foot")  # as coordinate systems name them
UNIT_UNKNOWN = "7 to 7 7"  # of a soil grid; with its unit it stands under "span"


@cache
def followed() -> dict[str, list[str]]:
    """Every text that the sources can make, by the table of sentences that must hold it."""
    grids = [name.replace("_", " ") for name in KINDS]
    spans = {f"7 to 7{'' if k.unit in ('ph', '') else f' {k.unit}'}" for k in KINDS.values()}
    values = {f"7{unit}" for unit in sound_days._UNIT.values()}
    measures = {*sound_days._WORD.values(), "low and high", "high and low"}
    return {
        "note": [
            *(
                text
                for text, at in note_templates().items()
                if at.split(":")[0] not in FOREIGN and UNIT_UNKNOWN not in text
            ),
            *(t for t in returned("layers.gathered", "gathered_note") if t),
        ],
        "compared": [t for t in returned("layers.frost.compare", "_told") if t],
        "because": given_to("Found", 1, "layers.weather"),
        "brought": given_to("Fetched", 2, "layers.gather"),
        "slip": given_to("_mask", 3, "layers.weather"),
        "impossible": ["7 of 7 days 7 (first 7: 7)"],
        "dropped": ["line", "point", "line and point"],
        "complete": completeness_words({"C", "S", "R", "P", "Q", "E"})[0].split(", "),
        "label": [*row_labels([None, HOLE]), *returned("layers.marks", "_label")],
        "grid": ["7 7-7 cm", HOLE],
        "property": grids,
        "span": sorted(spans),
        "values": [*values, "7 C and 7 C"],
        "measures": sorted(measures),
        "lacking": ["high", "low", "rain"],
        "unit": [*TEMPERATURE_WORDS.values(), *PRECIP_WORDS.values(), *HEIGHT_UNITS],
        "tells": [wanted.tells for wanted in TABLES.values() if not wanted.required],
        "marks": ["wet: 7", "never wet: 7", "drain: 7"],
        "date": ["none by then", "7"],
        "longer": ["the same"],
        "limits": ["7 C"],
        "soils": ["a soil without name"],
        "place": [t for t in returned("layers.raster_lattice", "_unit", 1) if t],
        "step": [
            *(t for t in given_to("progress", 0) if t != HOLE),
            *(step for _, step, _ in writing._WRITERS),
        ],
        "heads": ["7 and 7"],
        "unit_why": ["as the file's band states", *given_to("VerticalUnit", 2, "layers")],
        "meaning": [f"as C {t}" for t in returned("layers.weather.units", "meaning")],
        "published": [*load_crop("sunn_hemp").sources.values(), *map(str, prices().rows["source"])],
        "prices": [str(name).replace("_", " ") for name in prices().rows["name"]],
    }


@cache
def lenient(language: str) -> Patterns:
    """Patterns that let a value through, but no word, where a phrase is asked for."""
    patterns = load_patterns(language)
    assert patterns is not None
    value = Pattern("{n}", ("", ""), ("n",), "{n}")
    tables = {
        name: (rows if name == "note" else (*rows, value)) for name, rows in patterns.tables.items()
    }
    return replace(patterns, tables=tables)


@cache
def told(language: str) -> list[tuple[str, str, Said | None]]:
    patterns = lenient(language)
    return [(k, text, patterns.say(text, k)) for k, rows in followed().items() for text in rows]


def test_the_sources_were_followed() -> None:
    """A few sentences as they stand in the code, with choices, helpers and sums of texts."""
    texts = set(note_templates())
    assert len(texts) > 250
    assert {
        "Soil survey on only part of 1 field (7 % of the least covered).",
        "Soil survey on only part of 7 fields (7 % of the least covered).",
        "7 fields lie about 7 m below station 7: highs were taken 7 C more, lows 7 C more "
        "(7 and 3 C a kilometre).",
        "No seed tag was entered for the number of seeds: the order rests on usual figures. "
        "Order by the tag of the lot.",
    } <= texts
    assert not [text for text in texts if "field_id" in text or "{" in text]


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("table", ["report.layer", "check.layer"])
def test_every_layer_has_its_name(language: str, table: str) -> None:
    layers = {layer.replace(" ", "_") for layer in note_layers()}
    assert {"soil_survey", "weather", "plan"} <= layers
    words = load_words(language)
    assert [layer for layer in sorted(layers) if not words.has(f"{table}.{layer}")] == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_note_has_its_sentence(language: str) -> None:
    untold = [(table, text) for table, text, said in told(language) if said is None]
    assert untold == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_english_word_passes_as_a_value(language: str) -> None:
    passed = [
        (text, kept)
        for _, text, said in told(language)
        if said is not None
        for kept in said.kept
        if set(re.findall(r"[A-Za-z]{2,}", kept)) - KEYS
    ]
    assert passed == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_sentence_is_left_of_a_note_that_is_gone(language: str) -> None:
    patterns = load_patterns(language)
    assert patterns is not None
    used = {name for _, _, said in told(language) if said is not None for name in said.used}
    all_names = {f"[{t}] {p.english}" for t, rows in patterns.tables.items() for p in rows}
    assert sorted(all_names - used) == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_value_is_said_again(language: str) -> None:
    patterns = load_patterns(language)
    assert patterns is not None
    for rows in patterns.tables.values():
        for pattern in rows:
            holes = re.findall(r"\{(\w+)\}", pattern.told)
            assert sorted(holes) == sorted(pattern.holes), pattern.english


def test_notes_are_said_in_spanish() -> None:
    assert spoken("1 field outside the soil survey: the soil there is not known.", "es") == (
        "1 campo fuera del mapa de suelos: ahí no se conoce el suelo."
    )
    assert spoken(
        "0.037 acres (149 m2) in 3 fields lie exactly level in the heights, as water does, and "
        "were taken for open water.",
        "es",
    ).startswith("0.037 acres (149 m²) en 3 campos están exactamente a nivel")
    assert spoken("a.csv has no high and no rain: what needs it is not known.", "es").startswith(
        "a.csv no trae máxima ni lluvia:"
    )
    assert spoken(
        "Station USC1: values that cannot be were left out: high of 2 days beyond -60 to 60 C "
        "(first 2001-01-05: 99.0 C); low and high of 1 days with the low above the high (first "
        "2002-02-03: 9.0 C and 8.0 C).",
        "es",
    ) == (
        "Estación USC1: se dejaron fuera valores que no pueden ser: máxima de 2 días, fuera de -60 "
        "a 60 °C (el primero, 2001-01-05: 99.0 °C); mínima y máxima de 1 días, con la mínima por "
        "encima de la máxima (el primero, 2002-02-03: 9.0 °C y 8.0 °C)."
    )


@pytest.mark.parametrize(
    "name",
    [
        "<img src=x onerror=alert(1)>",
        "{{ cycler.__init__.__globals__ }} {free}",
        "Salt and pepper, Jack and 3 more",
        "1 field: 2 fields; {n}",
        "\\1 \\g<0> \u202e abc",
        "or, worse (S1 by years): layer",
    ],
)
def test_a_hostile_name_passes_letter_for_letter(name: str) -> None:
    said = spoken(f"{name} covers less than half of 2 fields: no freeze dates there.", "es")
    told = "no llega a cubrir la mitad del campo en 2 de ellos: ahí no hay fechas de heladas."
    assert said == f"{name} {told}"
    listed = spoken(f"Lines of your field log name fields that are not there: {name}.", "es")
    assert name.split(" and ")[0] in listed


def test_a_text_of_very_many_readings_ends_soon() -> None:
    name = "and 1 more, (: ; repeats " * 4000
    text = f"Closed lines or tracks were taken as the outlines of fields: {name}."
    assert name[:40] in spoken(text, "es")


def test_what_nobody_translated_stays_english_and_says_so() -> None:
    assert spoken("A sentence from nowhere.", "es") == "(En inglés:) A sentence from nowhere."
    assert spoken("A sentence from nowhere.", "en") == "A sentence from nowhere."
