"""The frozen result of a run: the only thing that the map, the report and the exports read."""

from dataclasses import dataclass, field, replace

import geopandas as gpd
import pandas as pd

from layers.aerial_image import AerialImage
from layers.ground_picture import GroundPicture
from suitability.crop import Crop
from suitability.notes import Note
from suitability.plan import Plan
from suitability.years import Years


@dataclass(frozen=True)
class SourceFile:
    """One input file: the layer it served, its name, size, age and what it is worth."""

    layer: str
    name: str
    size_bytes: int
    modified: str
    note: str = ""


@dataclass(frozen=True)
class Provenance:
    """What made this result: program version, day, inputs and options."""

    version: str
    made_on: str
    files: tuple[SourceFile, ...]
    options: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Farm:
    """What the farm file says of the farm as a whole; ``units`` is ``us`` or ``metric``.

    ``language`` is that of ``maps/language``. ``for_owner`` names whose land this is all about;
    empty where it is the whole farm. ``online_imagery`` : the page may offer pictures from the
    internet.
    """

    name: str
    state: str = ""
    units: str = "us"
    language: str = "en"
    for_owner: str = ""
    online_imagery: bool = False


@dataclass(frozen=True)
class Assessment:
    """All tables of one run (contracts in ``suitability.columns``) and where they came from.

    ``fields``, ``soil_parts`` and ``wet_ground`` carry a ``geometry`` in one metre CRS, the same
    for all three. ``soil_parts`` has field_id, mukey, musym, muname, area_ha: one row a field and
    map unit. ``verdicts`` has one row a field; every number that a person reads comes from there.
    ``level_water`` is open water that the heights show and the survey does not map: field_id,
    area_ha and geometry, None without heights.
    ``years`` has the odds of every sowing week, None where nothing could be simulated. ``plan`` and
    ``calendar`` (of ``suitability.calendar``) are there where the farm file asks for a plan.
    ``seen`` (of ``log_seen``) sets the field log beside what was simulated, None without a log.
    ``ground`` and ``aerial`` are pictures of the ground, None where the user has none.
    ``water_seen`` has how far wet ground agrees with water seen from above, field by field
    (``layers.water_seen.FIELD_COLUMNS``); None where the user has no such pictures.
    """

    farm: Farm
    crop: Crop
    fields: gpd.GeoDataFrame
    soil_parts: gpd.GeoDataFrame
    wet_ground: gpd.GeoDataFrame
    parts: pd.DataFrame
    components: pd.DataFrame
    horizons: pd.DataFrame
    months: pd.DataFrame
    stations: pd.DataFrame
    weather: pd.DataFrame
    frost: pd.DataFrame
    findings: pd.DataFrame
    verdicts: pd.DataFrame
    notes: tuple[Note, ...]
    provenance: Provenance
    years: Years | None = None
    level_water: gpd.GeoDataFrame | None = None
    plan: Plan | None = None
    calendar: pd.DataFrame | None = None
    seen: pd.DataFrame | None = None
    ground: GroundPicture | None = None
    aerial: AerialImage | None = None
    water_seen: pd.DataFrame | None = None


def without_days(assessment: Assessment) -> Assessment:
    """The same without the arrays of single days, which no page reads and which are most of it."""
    years = assessment.years
    if years is None:
        return assessment
    days = years.simulated
    few = replace(days, result=days.result[:0], standing=days.standing[:0], starts=days.starts[:0])
    return replace(assessment, years=replace(years, simulated=few))
