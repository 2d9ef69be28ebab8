"""The soil survey's tables in the survey's own columns and units, from the invented soils."""

import numpy as np
import pandas as pd
from _soils import SERIES, UNITS, Horizon, Series, Share, Unit

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
LEGEND_KEY = "99901"


def make_tables(acres: dict[str, int], rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    """The survey's tables by name. ``acres`` by mukey. Rows of a month stand in no order."""
    units, components, horizons, months, wet, restrictions = [], [], [], [], [], []
    for unit in UNITS:
        units.append(_unit_row(unit, acres[unit.mukey]))
        for n, share in enumerate(unit.shares):
            cokey = f"{unit.mukey}{n + 1}"
            series = SERIES[share.series]
            components.append(_component_row(cokey, unit, share, series))
            if share.described:
                horizons += [
                    _horizon_row(cokey, i, horizon) for i, horizon in enumerate(series.horizons)
                ]
            for month in rng.permutation(12):
                months.append(_month_row(cokey, int(month), series))
                wet += _moisture_rows(cokey, int(month), series)
            if series.restriction is not None:
                restrictions.append(_restriction_row(cokey, series.restriction))
        if not unit.shares:
            components.append(_water_row(unit))
    return {
        "mapunit": pd.DataFrame(units),
        "component": pd.DataFrame(components),
        "chorizon": pd.DataFrame(horizons),
        "comonth": pd.DataFrame(months),
        "cosoilmoist": pd.DataFrame(wet),
        "corestrictions": pd.DataFrame(restrictions),
    }


def _unit_row(unit: Unit, acres: int) -> dict[str, object]:
    return {
        "musym": unit.symbol, "muname": unit.name,
        "mukind": "Consociation" if unit.shares else "Miscellaneous area",
        "muacres": acres, "farmlndcl": unit.farmland, "lkey": LEGEND_KEY, "mukey": unit.mukey,
    }  # fmt: skip


def _component_row(cokey: str, unit: Unit, share: Share, series: Series) -> dict[str, object]:
    return {
        "comppct_l": max(share.pct - 5, 0), "comppct_r": share.pct,
        "comppct_h": min(share.pct + 5, 100), "compname": series.name, "compkind": "Series",
        "majcompflag": "Yes" if share.major else "No ", "localphase": series.phase,
        "otherph": "eroded" if series.phase == "moderately eroded" else None,
        "slope_l": max(share.slope_pct - 1, 0.0), "slope_r": share.slope_pct,
        "slope_h": share.slope_pct + 2,
        "runoff": {"A": "Negligible", "B": "Low"}.get(series.group, "High"),
        "hydricrating": series.hydric, "drainagecl": series.drainage, "elev_r": 85.0,
        "geomdesc": series.landform, "ffd_r": 245, "hydgrp": series.group,
        "mukey": unit.mukey, "cokey": cokey,
    }  # fmt: skip


def _water_row(unit: Unit) -> dict[str, object]:
    return {
        "comppct_r": 100, "compname": "Water", "compkind": "Miscellaneous area",
        "majcompflag": "Yes", "mukey": unit.mukey, "cokey": f"{unit.mukey}1",
    }  # fmt: skip


def _horizon_row(cokey: str, number: int, h: Horizon) -> dict[str, object]:
    silt = 100 - h.sand_pct - h.clay_pct
    return {
        "hzname": h.name, "hzdept_r": h.top_cm, "hzdepb_r": h.bottom_cm,
        "sandtotal_r": float(h.sand_pct), "silttotal_r": float(silt),
        "siltco_r": round(0.6 * silt, 1), "siltfine_r": round(silt - round(0.6 * silt, 1), 1),
        "claytotal_r": float(h.clay_pct), "om_r": h.om_pct, "dbthirdbar_r": h.bulk_density_g_cm3,
        "ksat_r": h.ksat_um_s, "awc_r": h.awc_frac,
        "wthirdbar_r": round(100 * h.awc_frac + h.water_fifteen_bar_pct, 1),
        "wfifteenbar_r": h.water_fifteen_bar_pct,
        "wsatiated_r": round(100 * (1 - h.bulk_density_g_cm3 / 2.65)),
        "ec_r": 0.0, "caco3_r": 0.0,
        "cec7_r": round(1 + 0.12 * h.clay_pct + 2 * (h.om_pct or 0), 1),
        "ph1to1h2o_r": h.ph, "cokey": cokey, "chkey": f"{cokey}{number + 1}",
    }  # fmt: skip


def _month_row(cokey: str, month: int, series: Series) -> dict[str, object]:
    flood, flood_lasts = series.floods[month]
    pond, pond_lasts = series.ponds[month]
    return {
        "monthseq": month + 1, "month": MONTHS[month], "flodfreqcl": flood,
        "floddurcl": flood_lasts, "pondfreqcl": pond, "ponddurcl": pond_lasts,
        "ponddep_r": series.pond_cm if pond != "None" else None,
        "cokey": cokey, "comonthkey": f"{cokey}{month + 1:02d}",
    }  # fmt: skip


def _moisture_rows(cokey: str, month: int, series: Series) -> list[dict[str, object]]:
    top = series.water_table_cm[month]
    layers = [("Moist", 0, 203)] if top is None else [("Moist", 0, top), ("Wet", top, 203)]
    key = f"{cokey}{month + 1:02d}"
    return [
        {
            "soimoistdept_r": upper, "soimoistdepb_r": lower, "soimoiststat": status,
            "comonthkey": key, "cosoilmoistkey": f"{key}{n + 1}",
        }
        for n, (status, upper, lower) in enumerate(layers)
        if lower > upper
    ]  # fmt: skip


def _restriction_row(cokey: str, found: tuple[str, str | None, int, int]) -> dict[str, object]:
    kind, hardness, top, bottom = found
    return {
        "reskind": kind, "reshard": hardness, "resdept_r": top, "resdepb_r": bottom,
        "cokey": cokey, "corestrictkey": f"{cokey}9",
    }  # fmt: skip
