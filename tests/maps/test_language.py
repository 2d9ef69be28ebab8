"""Every catalogue says all that the English one says, and nothing English is left in Spanish."""

import re
import string
from pathlib import Path

import pytest

from maps.legend import Legend
from maps.words import languages, load_words

ENGLISH = load_words("en").sentences
OTHERS = [language for language in languages() if language != "en"]


def holes(sentence: str) -> list[str]:
    return sorted(name for _, name, _, _ in string.Formatter().parse(sentence) if name)


def test_spanish_ships() -> None:
    assert languages() == ("en", "es")


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_has_the_same_keys_and_holes(language: str) -> None:
    told = load_words(language).sentences
    assert sorted(set(ENGLISH) - set(told)) == [], "not translated"
    assert sorted(set(told) - set(ENGLISH)) == [], "no such English sentence"
    wrong = [key for key in ENGLISH if holes(told[key]) != holes(ENGLISH[key])]
    assert wrong == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_was_translated(language: str) -> None:
    told = load_words(language).sentences
    letters = [key for key in ENGLISH if len(re.findall(r"[A-Za-z]{2,}", ENGLISH[key])) >= 3]
    assert [key for key in letters if told[key] == ENGLISH[key] and "{" not in told[key]] == []
