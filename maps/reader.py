"""Words and units in which one result is told: those of its farm file."""

from maps.assessment import Assessment
from maps.legend import Legend
from maps.sentences import Teller
from maps.words import Words, load_words


def words_of(assessment: Assessment) -> Words:
    """Catalogue of the language that the farm asks for."""
    return load_words(assessment.farm.language)


def legend_of(assessment: Assessment) -> Legend:
    """Units and dates that the farm asks for."""
    farm = assessment.farm
    return Legend("metric" if farm.units == "metric" else "us", farm.language)


def crop_name(assessment: Assessment) -> str:
    """The crop's name in the reader's language; that of its file where the catalogue has none."""
    words, crop = words_of(assessment), assessment.crop
    return words(f"crop.{crop.key}") if words.has(f"crop.{crop.key}") else crop.name


def teller_of(assessment: Assessment) -> Teller:
    """Sentences in those words and units."""
    return Teller(words_of(assessment), legend_of(assessment))
