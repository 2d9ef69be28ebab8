"""A farm of four fields with one verdict each, built by hand, for tests of what people open."""

import geopandas as gpd
import pandas as pd
from shapely.geometry import Polygon, box

from maps.assessment import Assessment, Farm, Provenance, SourceFile
from suitability.columns import TABLES
from suitability.contract import empty, names
from suitability.crop import load_crop
from suitability.notes import Note

HOSTILE = "O'Brien {{ 7*7 }} ${alert(1)} `x` </script><img src=x onerror=alert(1)> & \\"
CRS = "EPSG:32616"


def _verdict(field_id: str, **values: object) -> dict[str, object]:
    row: dict[str, object] = dict.fromkeys(names(TABLES["verdicts"]))
    row.update(
        field_id=field_id, area_ha=4.0, sowable_ha=4.0, wet_unplaced_pct=0.0, soil_cover_pct=100.0
    )
    for quality, value in (
        ("germination", 1.1),
        ("waterlogging", 120.0),
        ("inoculation", 5.8),
        ("season", 120.0),
    ):
        row[f"{quality}_class"] = "S1"
        row[f"{quality}_score"] = 1.0
        row[f"{quality}_value"] = value
    row.update(
        germination_factor="crust_index",
        waterlogging_factor="water_table_cm",
        inoculation_factor="soil_ph",
        season_factor="gap_d",
        germination_risk="low",
        waterlogging="low",
        inoculation_need="double rate",
        inoculant_reason="unknown_history",
        season_length="long enough",
        score_basis="survey rule",
        verdict="sow",
        suitability_class="S1",
    )
    row.update(values)
    return row


def small_farm(units: str = "us") -> Assessment:
    """Four square fields of 4 ha: sow, sow with care (wet corner), leave out, not known."""
    squares = [box(500000 + 220 * i, 3500000, 500200 + 220 * i, 3500200) for i in range(4)]
    fields = gpd.GeoDataFrame(empty(TABLES["fields"]).reindex(range(4)), geometry=squares, crs=CRS)
    fields["field_id"] = ["A/1", "B", "C", "D"]
    fields["name"] = ["Home field", HOSTILE, "Bottom", "=1+1"]
    fields["owner"] = ["", "Marsh Hollow Land", "Marsh Hollow Land", ""]
    fields["area_ha"] = 4.0
    fields["lat_deg"], fields["lon_deg"] = 31.63, -87.0
    wet = Polygon([(500220, 3500000), (500290, 3500000), (500220, 3500080)])
    wet_ground = gpd.GeoDataFrame(
        {
            "field_id": ["B"],
            "wet_id": ["B-1"],
            "area_ha": [0.28],
            "years_in_ten": [float("nan")],
            "cause": ["water table"],
            "compname": ["Cypress Sink"],
        },
        geometry=[wet],
        crs=CRS,
    )
    soil_parts = gpd.GeoDataFrame(
        {
            "field_id": ["A/1", "B", "B", "C"],
            "mukey": ["1", "1", "2", "2"],
            "musym": ["UpA", "UpA", "BtA", "BtA"],
            "muname": ["Upland loamy sand, 0 to 2 percent slopes"] * 2
            + ["Bottom clay, ponded"] * 2,
            "area_ha": [4.0, 3.72, 0.28, 4.0],
        },
        geometry=[squares[0], squares[1].difference(wet), wet, squares[2]],
        crs=CRS,
    )
    nothing = float("nan")
    unknown = {
        f"{q}_{part}": None if part != "score" and part != "value" else nothing
        for q in ("germination", "waterlogging", "inoculation", "season")
        for part in ("class", "score", "factor", "value")
    }
    verdicts = pd.DataFrame(
        [
            _verdict("A/1"),
            _verdict(
                "B",
                verdict="sow with care",
                sowable_ha=3.72,
                suitability_class="S2",
                limiting="waterlogging",
                waterlogging="moderate",
                waterlogging_class="S2",
                waterlogging_value=60.0,
                waterlogging_score=4.0,
                conditions="leave_wet_ground watch_wet",
            ),
            _verdict(
                "C",
                verdict="leave out",
                sowable_ha=0.0,
                suitability_class="N",
                limiting="waterlogging",
                waterlogging="high",
                waterlogging_class="N",
                waterlogging_value=0.0,
                waterlogging_score=10.0,
            ),
            _verdict(
                "D",
                **unknown,
                verdict="not known",
                suitability_class=None,
                soil_cover_pct=0.0,
                germination_risk=None,
                waterlogging=None,
                season_length=None,
                conditions="germination_not_known waterlogging_not_known season_not_known",
            ),
        ]
    )
    tables = {name: empty(TABLES[name]) for name in TABLES}
    return Assessment(
        farm=Farm("Four Corners", "GA", units),
        crop=load_crop("sunn_hemp"),
        fields=fields,
        soil_parts=soil_parts,
        wet_ground=wet_ground,
        verdicts=verdicts,
        notes=(Note("soil", "caution", "No survey covers field D.", ("D",)),),
        provenance=Provenance(
            "0.1.0", "2026-05-01", (SourceFile("soil", "survey.gpkg", 1000, "2026-04-01"),)
        ),
        **{
            name: tables[name]
            for name in (
                "parts",
                "components",
                "horizons",
                "months",
                "stations",
                "weather",
                "frost",
                "findings",
            )
        },
    )
