"""The hand-built farm with soils, findings, dates and things the grower knows."""

from dataclasses import replace

import pandas as pd
from small_farm import small_farm

from maps.assessment import Assessment, SourceFile
from suitability.columns import COMPONENTS, FINDINGS, PARTS
from suitability.contract import names
from suitability.notes import Note


def _rows(columns: tuple, *rows: dict[str, object]) -> pd.DataFrame:
    return pd.DataFrame([{**dict.fromkeys(names(columns)), **row} for row in rows])


def _found(field_id: str, cokey: str, factor: str, klass: str | None, **values: object) -> dict:
    quality = {
        "water_table_cm": "waterlogging",
        "ponding": "waterlogging",
        "soil_ph": "inoculation",
        "bulk_density_class": "inoculation",
        "slope_pct": "germination",
        "surface_texture": "germination",
        "gap_d": "season",
    }[factor]
    return {
        "field_id": field_id,
        "mukey": cokey[0],
        "cokey": cokey,
        "position": "unplaced",
        "drained": False,
        "quality": quality,
        "factor": factor,
        "suitability_class": klass,
        "origin": "survey",
        **values,
    }


def farm_with_soils(units: str = "us") -> Assessment:
    """``small_farm`` with two soils in field B (90 % and 10 %) and one in field A/1."""
    farm = small_farm(units)
    part = {"position": "unplaced", "drained": False}
    parts = _rows(
        PARTS,
        {**part, "field_id": "A/1", "mukey": "1", "cokey": "1a", "area_ha": 4.0},
        {**part, "field_id": "B", "mukey": "1", "cokey": "1a", "area_ha": 3.6},
        {**part, "field_id": "B", "mukey": "1", "cokey": "1b", "area_ha": 0.4},
    )
    components = _rows(
        COMPONENTS,
        {
            "cokey": "1a",
            "mukey": "1",
            "compname": "Fairhope",
            "kind": "soil",
            "comppct_pct": 90.0,
            "drainage_class": "well",
        },
        {"cokey": "1b", "mukey": "1", "compname": "Cypress Sink", "kind": "soil"},
    )
    findings = _rows(
        FINDINGS,
        _found("B", "1a", "water_table_cm", "S1", value=120.0),
        _found("B", "1b", "water_table_cm", "N", value=0.0),
        _found("B", "1a", "ponding", "S1", value_text="none"),
        _found("B", "1b", "ponding", "N", value_text="frequent long"),
        _found("B", "1a", "soil_ph", "S2", value=5.2, origin="grower"),
        _found("B", "1b", "soil_ph", None),
        _found("B", "1a", "slope_pct", "S1", value=1.0),
        _found("B", "1a", "surface_texture", "S1", value_text="loamy sand"),
        _found("B", "1a", "gap_d", "S1", value=120.0, origin="farm file"),
        _found("B", "1a", "bulk_density_class", "S2", value_text="slowed"),
    )
    fields = farm.fields.copy()
    mine = fields.field_id == "B"
    fields.loc[mine, "gap_opens"] = "06-01"
    fields.loc[mine, "gap_closes"] = "09-29"
    fields.loc[mine, "soil_test_ph"] = 5.2
    fields.loc[mine, "soil_test_date"] = pd.Timestamp("2026-02-03")
    fields.loc[mine, "irrigated_mm_week"] = 25.4
    verdicts = farm.verdicts.copy()
    mine = verdicts.field_id == "B"
    for column, value in {
        "first_freeze_p50": "11-20",
        "first_freeze_p10": "11-02",
        "last_freeze_p50": "03-10",
        "last_freeze_p10": None,
    }.items():
        verdicts.loc[mine, column] = value
    return replace(
        farm,
        fields=fields,
        parts=parts,
        components=components,
        findings=findings,
        verdicts=verdicts,
        notes=(*farm.notes, Note("elevation", "info", "No elevation was given.")),
        provenance=replace(
            farm.provenance,
            files=(
                *farm.provenance.files,
                SourceFile("weather", "daily.csv", 2_400_000, "2026-03-01", "30 years, 12 km away"),
            ),
            options={"crop": "sunn_hemp", "units": units},
        ),
    )
