"""A caution or remark that must reach the reader of the report."""

from dataclasses import dataclass
from typing import Literal

Level = Literal["info", "caution", "warning"]


@dataclass(frozen=True)
class Note:
    """One remark: which layer it is about, how grave, in plain words, and for which fields.

    ``level`` is ``info`` (what was read or assumed), ``caution`` (makes an answer less sure) or
    ``warning`` (something of the user's was changed or left out). ``field_ids`` is empty when the
    remark is about the whole farm.
    """

    layer: str
    level: Level
    text: str
    field_ids: tuple[str, ...] = ()
