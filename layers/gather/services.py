"""Which service is asked for which layer: the table ``services.toml``, as data."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from layers.gather.boxes import LonLatBox, overlaps

# In the order in which they are asked; also the names of the tables in farm.toml.
LAYERS = ("soil", "elevation", "weather", "frost")
_PLAIN = ("shown", "name", "publisher", "address", "licence", "cite", "tried", "fresh_d", "bring")


@dataclass(frozen=True)
class Service:
    """One public service: what it gives, to whom a question goes, and the limits it sets.

    ``areas`` are boxes in degrees outside which nothing is asked. ``limits`` holds the entries of
    this service alone, such as ``most_bytes`` of an answer.
    """

    layer: str
    shown: str
    name: str
    publisher: str
    address: str
    licence: str
    cite: str
    tried: str
    fresh_d: float
    bring: str
    areas: tuple[LonLatBox, ...]
    limits: Mapping[str, Any]

    def serves(self, box: LonLatBox) -> bool:
        """Whether any of a box lies in the service's area."""
        return any(overlaps(box, area) for area in self.areas)


def services() -> dict[str, Service]:
    """The shipped table by layer, in the order of ``LAYERS``."""
    text = (files("layers.gather") / "services.toml").read_text("utf-8")
    table = tomllib.loads(text)
    return {layer: _service(layer, table[layer]) for layer in LAYERS}


def _service(layer: str, row: Mapping[str, Any]) -> Service:
    areas = tuple((float(w), float(s), float(e), float(n)) for w, s, e, n in row["areas"])
    limits = {key: value for key, value in row.items() if key not in (*_PLAIN, "areas")}
    return Service(layer=layer, **{key: row[key] for key in _PLAIN}, areas=areas, limits=limits)
