"""A small soil survey that tests write to disk in each layout people have surveys in."""

import warnings
from collections.abc import Mapping
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
from shapely.geometry import box

# Short file names as the survey's own export uses them (mstab.txt of a real export).
EXPORT_FILES = {
    "mapunit": "mapunit",
    "component": "comp",
    "chorizon": "chorizon",
    "comonth": "cmonth",
    "cosoilmoist": "csmoist",
    "corestrictions": "crstrcts",
}
Tables = dict[str, pd.DataFrame]


def polygons() -> gpd.GeoDataFrame:
    """Two squares of 100 m side by side, in a metre CRS: sand (1) and hollow (2)."""
    return gpd.GeoDataFrame(
        {"MUKEY": ["1", "2"], "MUSYM": ["Sa", "Ho"]},
        geometry=[box(0, 0, 100, 100), box(100, 0, 200, 100)],
        crs="EPSG:32616",
    )


def tables() -> Tables:
    """Unit 1: a sand (90 %) with a wet soil in it (10 %). Unit 2: the wet soil alone."""
    return {
        "mapunit": pd.DataFrame(
            {
                "mukey": ["1", "2"],
                "musym": ["Sa", "Ho"],
                "muname": ["Sand, 0 to 2 percent", "Hollow"],
                "mukind": ["Consociation", "Consociation"],
            }
        ),
        "component": pd.DataFrame(
            {
                "cokey": ["11", "12", "21"],
                "mukey": ["1", "1", "2"],
                "compname": ["Dune", "Bog", "Bog"],
                "compkind": ["Series"] * 3,
                "comppct_r": [90, 10, 85],
                "majcompflag": ["Yes", "No ", "Yes"],
                "slope_r": [1.5, 0, None],
                "drainagecl": ["Excessively drained", "Very poorly drained", "Poorly drained"],
                "hydgrp": ["A", "A/D", "D"],
                "hydricrating": ["No", "Yes", "Unranked"],
                "localphase": [None, "depressional", None],
                "otherph": [None, "PONDED", "DRAINED"],
                "geomdesc": ["dunes", "depressions on flats", None],
            }
        ),
        "chorizon": pd.DataFrame(
            {
                "chkey": ["111", "112", "121", "211"],
                "cokey": ["11", "11", "12", "21"],
                "hzname": ["Ap", "C", "Oa", "A"],
                "hzdept_r": [0, 20, 0, 0],
                "hzdepb_r": [20, 200, 60, 90],
                "sandtotal_r": [95, 97, None, 30],
                "silttotal_r": [3, 2, None, 40],
                "claytotal_r": [2, 1, None, 30],
                "siltco_r": [2, 1, None, 25],
                "siltfine_r": [1, 1, None, 15],
                "om_r": [1.5, 0.2, 70, 3],
                "dbthirdbar_r": [1.55, 1.6, 0.25, 1.3],
                "ksat_r": [92, 141, 21, 2.7],
                "awc_r": [0.06, 0.04, 0.4, 0.18],
                "wthirdbar_r": [9, 7, None, 30],
                "wfifteenbar_r": [3, 2, None, 18],
                "wsatiated_r": [40, 38, None, 48],
                "ph1to1h2o_r": [5.5, 5.2, None, 6.1],
                "ph01mcacl2_r": [5.0, 4.8, 3.9, 5.6],
                "ec_r": [0, 0, 0, 0.1],
            }
        ),
        "comonth": pd.DataFrame(
            {
                "comonthkey": ["903", "907", "901"],
                "cokey": ["12", "12", "11"],
                "monthseq": [7, 3, 7],
                "month": ["July", "March", "July"],
                "flodfreqcl": ["None", "Rare", "None"],
                "floddurcl": [None, "Brief (2 to 7 days)", None],
                "pondfreqcl": ["Frequent", None, "None"],
                "ponddurcl": ["Long (7 to 30 days)", None, None],
                "ponddep_r": [15, None, None],
            }
        ),
        "cosoilmoist": pd.DataFrame(
            {
                "comonthkey": ["907", "907", "901", "903"],
                "soimoistdept_r": [30, 0, 0, 10],
                "soimoistdepb_r": [150, 30, 200, 150],
                "soimoiststat": ["Wet", "Moist", "Moist", "Wet"],
            }
        ),
        "corestrictions": pd.DataFrame(
            {
                "cokey": ["21", "21"],
                "reskind": ["Fragipan", "Abrupt textural change"],
                "resdept_r": [70, 43],
            }
        ),
    }


def write_export(
    folder: Path, shapes: gpd.GeoDataFrame, content: Mapping[str, pd.DataFrame]
) -> Path:
    """The survey's own export: no headers, | between, text in quotes, empty is missing."""
    (folder / "spatial").mkdir(parents=True)
    (folder / "tabular").mkdir()
    shapes.to_file(folder / "spatial" / "soilmu_a_zz001.shp")
    listing, files = [], []
    for name, table in content.items():
        file = EXPORT_FILES[name]
        files.append(
            f'"{name}"|"{name}"|"label"|"What it holds; ""quoted"",\nin two lines."|"{file}"'
        )
        # Out of order, as in real listings.
        for i, column in reversed(list(enumerate(table.columns, 1))):
            listing.append(f'"{name}"|{i}|"{column}"|"logical"|"label"')
        rows = ["|".join(_cell(v) for v in row) for row in table.itertuples(index=False)]
        (folder / "tabular" / f"{file}.txt").write_text("".join(f"{row}\r\n" for row in rows))
    (folder / "tabular" / "mstab.txt").write_text("\n".join(files) + "\n")
    (folder / "tabular" / "mstabcol.txt").write_text("\n".join(listing) + "\n")
    return folder


def write_database(
    path: Path,
    shapes: gpd.GeoDataFrame,
    content: Mapping[str, pd.DataFrame],
    layer: str = "mupolygon",
    prefix: str = "",
) -> Path:
    """A GeoPackage or file geodatabase, by the suffix of ``path``."""
    driver = {".gpkg": "GPKG", ".gdb": "OpenFileGDB"}[path.suffix]
    with warnings.catch_warnings():
        # Geodatabases keep long whole numbers as decimals: keys too, which is how they come.
        warnings.filterwarnings("ignore", message="Field .* will be written as a Float64")
        pyogrio.write_dataframe(shapes, path, layer=layer, driver=driver)
        for name, table in content.items():
            pyogrio.write_dataframe(table, path, layer=prefix + name, driver=driver, append=True)
    return path


def write_csv(
    folder: Path,
    shapes: gpd.GeoDataFrame,
    content: Mapping[str, pd.DataFrame],
    file: str = "soils.shp",
) -> Path:
    """Polygons in any vector file, beside CSV tables with headers."""
    folder.mkdir(parents=True, exist_ok=True)
    shapes.to_file(folder / file)
    for name, table in content.items():
        table.to_csv(folder / f"{name}.csv", index=False)
    return folder


def _cell(value: object) -> str:
    if value is None or value != value:
        return ""
    return f'"{value}"' if isinstance(value, str) else str(value)
