"""Which layers are to be asked for, of whom, and what would be sent."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

import geopandas as gpd

from layers.elevation import BUFFER_M
from layers.gather import boxes as lonlat
from layers.gather.sends import sends
from layers.gather.services import Service
from layers.gathered import read_provenance, unchanged
from suitability.errors import InputError

State = Literal["ask", "fresh", "own", "outside"]
_NEEDED = ("soildb", "httpx")


@dataclass(frozen=True)
class LayerPlan:
    """What is to be done for one layer, and what its service would be sent."""

    service: Service
    state: State
    boxes: tuple[lonlat.LonLatBox, ...]
    sends: str

    @property
    def question_id(self) -> str:
        """The same for the same question; it tells whether what is there still answers it."""
        asked = {
            "layer": self.service.layer,
            "address": self.service.address,
            "boxes": self.boxes,
            "limits": dict(self.service.limits),
        }
        return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()


def check_installed() -> None:
    """InputError with the line that installs what gathering needs, where it is not there."""
    lacking = [name for name in _NEEDED if find_spec(name) is None]
    if lacking:
        raise InputError(
            f"Gathering needs what is not installed here ({', '.join(lacking)}). In the folder of "
            'this program run: python -m pip install -e ".[gather]"'
        )


def plan(
    fields: gpd.GeoDataFrame,
    table: Mapping[str, Service],
    data_dir: Path,
    own_layers: Iterable[str],
    *,
    refresh: bool = False,
    today: date,
) -> list[LayerPlan]:
    """What to ask for.

    Parameters
    ----------
    fields : with a CRS. table : services by layer; only these layers are planned.
    own_layers : layers for which the farm names files of its own; these are left alone.
    refresh : ask for layers that are there and fresh too.
    """
    extents = fields.to_crs("EPSG:4326").geometry.bounds.to_numpy(float)
    around = lonlat.boxes_around([tuple(map(float, e)) for e in extents], BUFFER_M)  # type: ignore[misc]
    known = read_provenance(data_dir)
    own = set(own_layers)
    plans = []
    for layer, service in table.items():
        # A service is only asked about ground it can know of.
        here = tuple(box for box in around if service.serves(box))
        step = LayerPlan(service, "ask", here, sends(service, here) if here else "")
        state: State = "ask"
        if layer in own:
            state = "own"
        elif not here:
            state = "outside"
        elif not refresh and _fresh(known.get(layer), step, data_dir, today):
            state = "fresh"
        plans.append(LayerPlan(service, state, here, step.sends))
    return plans


def _fresh(row: Mapping[str, Any] | None, step: LayerPlan, data_dir: Path, today: date) -> bool:
    if row is None or row["question_id"] != step.question_id:
        return False
    try:
        age_d = (today - date.fromisoformat(row["asked_on"])).days
    except ValueError:
        return False
    return 0 <= age_d <= step.service.fresh_d and unchanged(data_dir, row["files"])
