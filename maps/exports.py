"""The files other programs read: fields.csv and zones.gpkg."""

import csv
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio

from maps.assessment import Assessment
from maps.field_table import field_table
from maps.legend import ACRES_PER_HA
from maps.reader import words_of

# A spreadsheet takes a cell that begins so for a formula and may run it.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # noqa: RUF001


def write_fields_csv(assessment: Assessment, path: Path) -> None:
    """Write one row a field (``field_table``) as UTF-8 CSV.

    Acres always, days MM-DD, an empty cell means not known. A text that a spreadsheet would take
    for a formula is written behind an apostrophe.
    """
    table = field_table(assessment)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(table.columns)
        for row in table.itertuples(index=False):
            writer.writerow([plain_cell(value) for value in row])


def write_zones(assessment: Assessment, path: Path) -> None:
    """Write fields, soil parts and wet ground as the three layers of a new GeoPackage.

    All are in the run's metre CRS with areas in acres; wet ground carries its caution in each row.
    A layer without rows is written all the same, so that a reader always finds all three.
    """
    crs = assessment.fields.crs
    layers = {
        "fields": _fields(assessment),
        "soil_parts": _acres(assessment.soil_parts).reindex(
            columns=["field_id", "mukey", "musym", "muname", "area_acres", "geometry"]
        ),
        "wet_ground": _acres(assessment.wet_ground)
        .reindex(
            columns=[
                "field_id",
                "wet_id",
                "area_acres",
                "years_in_ten",
                "cause",
                "compname",
                "geometry",
            ]
        )
        .assign(caution=words_of(assessment)("caution.wetland")),
    }
    for n, (name, layer) in enumerate(layers.items()):
        plain = layer.copy()
        for column in plain.columns:
            if column != "geometry" and not pd.api.types.is_numeric_dtype(plain[column]):
                plain[column] = plain[column].astype(object).where(plain[column].notna(), None)
        pyogrio.write_dataframe(
            gpd.GeoDataFrame(plain, geometry="geometry", crs=crs),
            path,
            layer=name,
            driver="GPKG",
            geometry_type="MultiPolygon",
            promote_to_multi=True,
            append=n > 0,
        )


def _fields(assessment: Assessment) -> pd.DataFrame:
    shapes = assessment.fields[["field_id", "geometry"]]
    return field_table(assessment).merge(pd.DataFrame(shapes), on="field_id", how="left")


def _acres(table: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(table).assign(
        area_acres=(table.area_ha.astype(float) * ACRES_PER_HA).round(2)
    )


def plain_cell(value: object) -> object:
    """A value as it may stand in a CSV that a spreadsheet opens: empty if missing, text defused."""
    if value is None or value != value:
        return ""
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return f"'{value}"
    return value
