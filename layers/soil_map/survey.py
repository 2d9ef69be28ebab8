"""What is passed on from a soil survey: as a layout found it, and in the program's own terms."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import pandas as pd

from suitability.notes import Note

LAYER = "soil survey"


@dataclass(frozen=True)
class RawSurvey:
    """A survey as its files have it, names of tables and columns in lower case.

    ``polygons`` holds the map with a ``mukey`` column. ``tables`` has, under the survey's own
    names (``expected.TABLES``), those tables that were found; ``table_files`` says where each came
    from, for messages. ``notes`` are what opening the files had to remark.
    """

    name: str
    polygons: gpd.GeoDataFrame
    tables: Mapping[str, pd.DataFrame]
    table_files: Mapping[str, str]
    files: tuple[Path, ...]
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class Layout:
    """One way in which a survey lies on disk.

    ``find`` returns the place where this layout begins if it is at ``path``, else None. ``read``
    takes that place. ``looks_like`` tells the user what is expected.
    """

    name: str
    looks_like: str
    find: Callable[[Path], Path | None]
    read: Callable[[Path], RawSurvey]


@dataclass(frozen=True)
class SoilSurvey:
    """A soil survey in the program's own terms.

    ``map_units`` has one row a polygon (a ``mukey`` may stand in many): mukey, musym, muname and
    a valid geometry in the CRS of the file. ``components``, ``horizons`` and ``months`` keep the
    contracts of ``suitability.columns`` and hold only soils of map units on the map. A month of a
    component has a row only where the survey lists it.
    """

    map_units: gpd.GeoDataFrame
    components: pd.DataFrame
    horizons: pd.DataFrame
    months: pd.DataFrame
    notes: list[Note]
    layout: str
    files: tuple[Path, ...]


def remarks(polygons: gpd.GeoDataFrame, file: str) -> list[Note]:
    """What the opening of a file of polygons had to remark, as Notes."""
    said = polygons.attrs.get("remarks", [])
    return [Note(LAYER, "caution", f"{file}: {remark}") for remark in said]
