"""Notes in the reader's language: the rooms below write them in English and know no reader.

``maps/language/notes`` holds, for each language but English, every English sentence of a Note with
its values as holes, and the same sentence in that language. A value passes letter for letter,
unless its hole is named after a table of phrases there. What nobody translated stays English and
is marked so.
"""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from maps.words import load_words

NOTE = "note"
_HOLE = re.compile(r"\{(\w+)\}")
_NUMBER = re.compile(r"[-+]?(?:[\d.,]+(?:e[-+]?\d+)?|nan|inf)")
_MOST_JOINED = 3
_MOST_TRIES = 20_000  # a text made to be read in very many ways is left as it is


@dataclass(frozen=True)
class Pattern:
    """One sentence: its fixed pieces, the holes between them, and what is said instead."""

    english: str
    pieces: tuple[str, ...]
    holes: tuple[str, ...]
    told: str


@dataclass(frozen=True)
class Said:
    """A text in another language, the patterns it took, and the values that passed as they were."""

    text: str
    used: tuple[str, ...]
    kept: tuple[str, ...]


@dataclass(frozen=True)
class Patterns:
    """Sentences and phrases by table, the most telling first; separators of the lists."""

    tables: dict[str, tuple[Pattern, ...]]
    separators: dict[str, tuple[str, str]]

    def say(self, text: str, table: str = NOTE) -> Said | None:
        """A text by the sentences of a table; None where none fits."""
        return self._say(text, table, [_MOST_TRIES])

    def _say(self, text: str, table: str, left: list[int]) -> Said | None:
        separator = self.separators.get(table)
        if separator is not None and separator[0] in text:
            return self._list(text.split(separator[0]), table, separator, left)
        return self._one(text, table, left)

    def _one(self, text: str, table: str, left: list[int]) -> Said | None:
        for pattern in self.tables[table]:
            if not all(piece in text for piece in pattern.pieces):
                continue
            for values in _fits(pattern, text, left):
                said = self._filled(pattern, values, table, left)
                if said is not None:
                    return said
        return None

    def _filled(
        self, pattern: Pattern, values: tuple[str, ...], table: str, left: list[int]
    ) -> Said | None:
        used, kept = [f"[{table}] {pattern.english}"], []
        filled = {}
        for hole, value in zip(pattern.holes, values, strict=True):
            kind = hole.rstrip("0123456789")
            if kind not in self.tables:
                filled[hole] = value
                kept.append(value)
                continue
            said = self._say(value, kind, left)
            if said is None:
                return None
            filled[hole] = said.text
            used += said.used
            kept += said.kept
        text = _HOLE.sub(lambda hole: filled[hole[1]], pattern.told)
        return Said(text, tuple(used), tuple(kept))

    def _list(
        self, parts: list[str], table: str, separator: tuple[str, str], left: list[int]
    ) -> Said | None:
        """Each part for itself; a phrase or a name may hold the separator too."""
        told: list[Said] = []
        start = 0
        while start < len(parts):
            for end in range(start + 1, min(start + 1 + _MOST_JOINED, len(parts)) + 1):
                said = self._one(separator[0].join(parts[start:end]), table, left)
                if said is not None:
                    break
            if said is None:
                return None
            told.append(said)
            start = end
        return Said(
            separator[1].join(said.text for said in told),
            tuple(name for said in told for name in said.used),
            tuple(value for said in told for value in said.kept),
        )


def _fits(pattern: Pattern, text: str, left: list[int]) -> Iterator[tuple[str, ...]]:
    """Every way in which a text is a pattern's pieces with something in each hole."""
    first, last = pattern.pieces[0], pattern.pieces[-1]
    if not pattern.holes:
        if text == first:
            yield ()
        return
    if not (text.startswith(first) and text.endswith(last)):
        return

    def rest(hole: int, start: int) -> Iterator[tuple[str, ...]]:
        piece = pattern.pieces[hole + 1]
        ends_here = hole + 1 == len(pattern.holes)
        end = len(text) - len(last) if ends_here else text.find(piece, start + 1)
        while end > start and left[0] > 0:
            left[0] -= 1
            value = text[start:end]
            if not _counts(pattern.holes[hole]) or _NUMBER.fullmatch(value):
                if ends_here:
                    yield (value,)
                else:
                    for others in rest(hole + 1, end + len(piece)):
                        yield (value, *others)
            if ends_here:
                return
            end = text.find(piece, end + 1)

    yield from rest(0, len(first))


def _counts(hole: str) -> bool:
    return hole.rstrip("0123456789") == "n"


@lru_cache
def load_patterns(language: str) -> Patterns | None:
    """The sentences of a language; None for English, which needs none."""
    if language == "en":
        return None
    text = (files("maps") / "language" / "notes" / f"{language}.toml").read_text("utf-8")
    document = tomllib.loads(text)
    lists = document.pop("list")
    separators = {k: (v, v) if isinstance(v, str) else (v[0], v[1]) for k, v in lists.items()}
    tables = {}
    for name, rows in document.items():
        patterns = [_pattern(english, told) for english, told in rows.items()]
        patterns.sort(key=lambda p: -len("".join(p.pieces)))
        tables[name] = tuple(patterns)
    return Patterns(tables, separators)


def _pattern(english: str, told: str) -> Pattern:
    return Pattern(english, tuple(_HOLE.split(english)[::2]), tuple(_HOLE.findall(english)), told)


def spoken(text: str, language: str, table: str = NOTE) -> str:
    """A Note's text in a language; in English, and marked so, where nobody translated it."""
    patterns, words = load_patterns(language), load_words(language)
    if patterns is None or not text or text in words.sentences.values():
        return text
    said = patterns.say(text, table)
    return words("report.in_english", text=text) if said is None else said.text


def told_source(text: str, language: str) -> str:
    """Tell the source of a figure; one that the language does not have stays as published."""
    patterns = load_patterns(language)
    said = None if patterns is None else patterns.say(text, "published")
    return text if said is None else said.text
