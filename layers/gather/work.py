"""What a layer is fetched with, and what it gives back."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from layers.gather.asking import Patience, Question, ask
from layers.gather.boxes import LonLatBox
from layers.gather.parts import Parts
from layers.gather.services import Service


@dataclass(frozen=True)
class Work:
    """Everything that fetching one layer needs; ``tell`` takes one line of progress."""

    service: Service
    boxes: tuple[LonLatBox, ...]
    patience: Patience
    parts: Parts
    tell: Callable[[str], None]
    today: date

    def ask(self, question: Question, words: str) -> bytes:
        """The answer, kept from before or asked for; ``words`` are the whole question as text."""
        return self.parts.answer(words, lambda: ask(question, self.patience))

    @property
    def most_bytes(self) -> int:
        """The most that one answer may hold."""
        return int(self.service.limits["most_bytes"])


@dataclass(frozen=True)
class Fetched:
    """What fetching wrote into its folder.

    ``files`` are all of them, relative to the folder; ``named`` those, or the folder of them, that
    farm.toml names. ``note`` is what a reader of the report should know of them.
    """

    files: tuple[str, ...]
    named: tuple[str, ...]
    note: str = ""
