"""Small tables of a farm, as the questions ask for them, with numbers to check by hand."""

import pandas as pd

from suitability.columns import TABLES, UNSURVEYED
from suitability.contract import names

# Soils: dry sandy loam, damp (table at 70 cm in the gap), bog (ponded), and open water.
_WATER_TABLE = {"dry": 160.0, "damp": 70.0, "bog": 5.0}


def fields(*ids, **columns):
    table = pd.DataFrame(
        dict.fromkeys(names(TABLES["fields"])), index=range(len(ids)), dtype=object
    )
    table["field_id"] = list(ids)
    table["area_ha"], table["lat_deg"], table["lon_deg"] = 10.0, 31.0, -84.0
    table["gap_opens"], table["gap_closes"] = "05-15", "09-15"
    table["soil_cover_pct"] = 100.0
    table["herbicide_product"] = "none"
    table = table.assign(**columns)
    numbers = ["legume_last_year", "soil_test_ph", "irrigated_mm_week"]
    return table.astype(dict.fromkeys(numbers, float))


def parts(*rows):
    """Rows of field_id, mukey, cokey, area_ha."""
    table = pd.DataFrame(list(rows), columns=["field_id", "mukey", "cokey", "area_ha"])
    return table.assign(position="unplaced", drained=False, weather_id=None)


def components():
    table = pd.DataFrame(index=range(4), columns=names(TABLES["components"]), dtype=object)
    table["cokey"] = ["dry", "damp", "bog", "pond"]
    table["mukey"] = ["1", "2", "3", "4"]
    table["compname"] = ["Dryhill", "Damphollow", "Bogside", "Water"]
    table["kind"] = ["soil", "soil", "soil", "water"]
    table["drainage_class"] = ["well", "moderately well", "very poorly", None]
    return table.astype({"slope_pct": float, "comppct_pct": float, "restriction_depth_cm": float})


def horizons(ph=6.2):
    table = pd.DataFrame(index=range(3), columns=names(TABLES["horizons"]), dtype=float)
    table["cokey"] = ["dry", "damp", "bog"]
    table["chkey"] = ["h1", "h2", "h3"]
    table["top_cm"], table["bottom_cm"] = 0.0, 100.0
    table["sand_pct"], table["silt_pct"], table["clay_pct"] = 65.0, 25.0, 10.0
    table["silt_fine_pct"], table["silt_coarse_pct"], table["om_pct"] = 10.0, 15.0, 2.0
    table["bulk_density_g_cm3"], table["ksat_um_s"], table["ph"] = 1.45, 20.0, ph
    return table


def months():
    rows = [
        (
            soil,
            month,
            "none",
            None,
            "frequent" if soil == "bog" else "none",
            None,
            None,
            depth,
            200.0,
        )
        for soil, depth in _WATER_TABLE.items()
        for month in range(1, 13)
    ]
    table = pd.DataFrame(rows, columns=names(TABLES["months"]))
    return table.astype({"pond_depth_cm": float})


NO_SURVEY = (UNSURVEYED, UNSURVEYED)
