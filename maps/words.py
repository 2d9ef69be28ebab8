"""Every sentence a reader meets, out of one catalogue per language (``maps/language``)."""

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files


@dataclass(frozen=True)
class Words:
    """The catalogue of one language: dotted keys to sentences with ``{placeholders}``."""

    language: str
    sentences: dict[str, str]

    def __call__(self, key: str, **values: object) -> str:
        """The sentence under ``key`` with the values filled in; KeyError if there is none.

        Values are inserted as they are and never read as a pattern again.
        """
        return self.sentences[key].format(**values)

    def term(self, text: str) -> str:
        """A word of the contract's tables (a texture, a drainage class) as the reader says it.

        A text of several terms (``frequent long``) is told term by term; one that the catalogue
        does not know stays as it is.
        """
        names = text.split(" ")
        for n in range(len(names), 0, -1):
            key = "term." + "_".join(names[:n])
            if key in self.sentences:
                rest = " ".join(names[n:])
                return f"{self.sentences[key]} {self.term(rest)}" if rest else self.sentences[key]
        return text

    def has(self, key: str) -> bool:
        """Whether the catalogue has this sentence."""
        return key in self.sentences


def languages() -> tuple[str, ...]:
    """Languages that a catalogue ships for, English first."""
    names = {f.name for f in (files("maps") / "language").iterdir()}
    found = {name.removesuffix(".toml") for name in names if name.endswith(".toml")}
    return ("en", *sorted(found - {"en"}))


@lru_cache
def load_words(language: str = "en") -> Words:
    """Load a catalogue that ships with the program."""
    text = (files("maps") / "language" / f"{language}.toml").read_text("utf-8")
    return Words(language, dict(_flat("", tomllib.loads(text))))


def _flat(prefix: str, table: dict[str, object]) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for name, value in table.items():
        if isinstance(value, dict):
            rows.extend(_flat(f"{prefix}{name}.", value))
        else:
            rows.append((f"{prefix}{name}", str(value)))
    return rows
