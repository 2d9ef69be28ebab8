"""Words and units in which one result is told: those of its farm file."""

from dataclasses import replace

from maps.assessment import Assessment
from maps.legend import Legend
from maps.remembered import remembered
from maps.sentences import Teller
from maps.spoken_notes import spoken
from maps.words import Words, load_words


def words_of(assessment: Assessment) -> Words:
    """Catalogue of the language that the farm asks for."""
    return load_words(assessment.farm.language)


@remembered
def legend_of(assessment: Assessment) -> Legend:
    """Units and dates that the farm asks for."""
    farm = assessment.farm
    return Legend("metric" if farm.units == "metric" else "us", farm.language)


def crop_name(assessment: Assessment) -> str:
    """The crop's name in the reader's language; that of its file where the catalogue has none."""
    words, crop = words_of(assessment), assessment.crop
    return words(f"crop.{crop.key}") if words.has(f"crop.{crop.key}") else crop.name


def crop_within(assessment: Assessment) -> str:
    """The crop's name within a sentence: it is a common noun."""
    name = crop_name(assessment)
    return name[:1].lower() + name[1:]


def teller_of(assessment: Assessment) -> Teller:
    """Sentences in those words and units."""
    return Teller(words_of(assessment), legend_of(assessment))


def in_readers_language(assessment: Assessment) -> Assessment:
    """The same answer with its notes, and remarks on gathered files, in the farm's language."""
    language = assessment.farm.language
    if language == "en":
        return assessment
    notes = tuple(replace(n, text=spoken(n.text, language)) for n in assessment.notes)
    sources = tuple(replace(f, note=spoken(f.note, language)) for f in assessment.provenance.files)
    return replace(
        assessment, notes=notes, provenance=replace(assessment.provenance, files=sources)
    )
