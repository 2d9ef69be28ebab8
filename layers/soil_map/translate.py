"""A soil survey in the program's own terms: from the survey's columns to the contract tables."""

from collections.abc import Iterable

import pandas as pd

from layers.soil_map import cells
from layers.soil_map.component_kind import NOT_MAPPED, component_kind
from layers.soil_map.expected import TABLES, check_tables
from layers.soil_map.map_units import map_unit_polygons
from layers.soil_map.restrictions import shallowest_restriction
from layers.soil_map.survey import LAYER, RawSurvey, SoilSurvey
from layers.soil_map.wet_months import months_table
from suitability.columns import COMPONENTS, DRAINAGE_CLASSES, HORIZONS, MONTHS
from suitability.contract import Column, check, names
from suitability.errors import InputError, listed
from suitability.notes import Note

_HORIZON_NUMBERS = {
    "top_cm": "hzdept_r",
    "bottom_cm": "hzdepb_r",
    "sand_pct": "sandtotal_r",
    "silt_pct": "silttotal_r",
    "clay_pct": "claytotal_r",
    "silt_coarse_pct": "siltco_r",
    "silt_fine_pct": "siltfine_r",
    "om_pct": "om_r",
    "bulk_density_g_cm3": "dbthirdbar_r",
    "ksat_um_s": "ksat_r",
    "awc_frac": "awc_r",
    "water_third_bar_pct": "wthirdbar_r",
    "water_fifteen_bar_pct": "wfifteenbar_r",
    "water_saturated_pct": "wsatiated_r",
    # Not ph01mcacl2_r where this is empty: pH in a salt solution is lower by half a unit or so.
    "ph": "ph1to1h2o_r",
    "ec_ds_m": "ec_r",
}
_COMPONENT_NUMBERS = {"comppct_pct": "comppct_r", "slope_pct": "slope_r"}
# Separates are rounded one by one; a sum further from 100 is a slip in the survey.
_TEXTURE_SUM_SLACK_PCT = 5.0


def soil_survey(raw: RawSurvey, layout: str) -> SoilSurvey:
    """The survey as the contract wants it.

    Raises
    ------
    InputError : tables or columns missing, values that are no numbers, a map and tables that do
        not belong together.
    ColumnError : values outside their plausible range, keys that stand twice.
    """
    notes = [*raw.notes, *check_tables(raw)]
    tables = {
        name: raw.tables.get(name, pd.DataFrame(columns=TABLES[name].must)) for name in TABLES
    }
    map_units, more = map_unit_polygons(raw)
    notes += more
    on_map = set(map_units["mukey"])
    notes += _unmatched(raw, tables["component"], map_units)
    components, faults, more = _components(tables["component"], tables["mapunit"], on_map)
    notes += more
    horizons, more_faults, more = _horizons(tables["chorizon"], set(components["cokey"]))
    faults += more_faults
    notes += more
    restriction, more_faults, more = shallowest_restriction(
        tables["corestrictions"], tables["chorizon"], set(components["cokey"])
    )
    faults += more_faults
    notes += more
    components = components.merge(restriction, on="cokey", how="left", validate="m:1")
    months, more_faults, more = months_table(
        tables["comonth"], tables["cosoilmoist"], set(components["cokey"])
    )
    faults += more_faults
    notes += more
    if faults:
        remedy = "Expected numbers as the survey delivers them. Mend these values in the file."
        raise InputError(listed(f"The soil survey {raw.name} cannot be read", faults, remedy))
    return SoilSurvey(
        map_units,
        _checked(components, COMPONENTS, f"{raw.name}: table component"),
        _checked(horizons, HORIZONS, f"{raw.name}: table chorizon"),
        _checked(months, MONTHS, f"{raw.name}: tables comonth and cosoilmoist"),
        notes,
        layout,
        raw.files,
    )


def _checked(table: pd.DataFrame, contract: tuple[Column, ...], what: str) -> pd.DataFrame:
    result = table[names(contract)].copy()
    for column in contract:
        if column.kind in ("text", "flag"):
            values = result[column.name].astype(object)
            result[column.name] = values.where(values.notna(), None)
    return check(result.reset_index(drop=True), contract, what)


def _components(
    raw: pd.DataFrame, mapunit: pd.DataFrame, on_map: set[str]
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    wanted = cells.keys(raw, "mukey").isin(on_map) & _is_mapped(raw)
    raw = raw[wanted].reset_index(drop=True)
    measured, faults, notes = cells.numbers(
        raw, _COMPONENT_NUMBERS, {column.name: column for column in COMPONENTS}
    )
    drainage, more = cells.classes(raw, "drainagecl", DRAINAGE_CLASSES, ending="drained")
    notes += more
    mukey = cells.keys(raw, "mukey")
    mukinds = dict(zip(cells.keys(mapunit, "mukey"), cells.texts(mapunit, "mukind"), strict=True))
    compname, compkind = cells.texts(raw, "compname"), cells.texts(raw, "compkind")
    phases = zip(cells.texts(raw, "localphase"), cells.texts(raw, "otherph"), strict=True)
    group = cells.texts(raw, "hydgrp").map(lambda text: text.upper() if text else None)
    table = pd.DataFrame(
        {
            "cokey": cells.keys(raw, "cokey"),
            "mukey": mukey,
            "compname": compname,
            "kind": [
                component_kind(name, kind, mukinds.get(unit))
                for name, kind, unit in zip(compname, compkind, mukey, strict=True)
            ],
            "major": cells.flags(raw, "majcompflag"),
            "drainage_class": drainage,
            "hydrologic_group": group,
            "hydric": cells.flags(raw, "hydricrating"),
            "phase": [" / ".join(filter(None, pair)) or None for pair in phases],
            "landform": cells.texts(raw, "geomdesc"),
            **{column: measured[column] for column in measured},
        }
    )
    notes += _share_notes(table)
    ranked = table.sort_values(
        ["mukey", "comppct_pct", "cokey"], ascending=[True, False, True], kind="stable"
    )
    return ranked.reset_index(drop=True), faults, notes


def _share_notes(table: pd.DataFrame) -> list[Note]:
    notes = []
    blank = table[table["comppct_pct"].isna()]
    if len(blank):
        said = f"{len(blank)} soil components have no share of their map unit: it is not known."
        notes.append(Note(LAYER, "caution", f"{said} ({_some(blank['cokey'])})"))
    total = table.groupby("mukey")["comppct_pct"].sum()
    over = total[total > 100.5]
    if len(over):
        said = f"The soils of {len(over)} map units add up to more than 100 percent"
        notes.append(Note(LAYER, "caution", f"{said} ({_some(over.index)}); shares were scaled."))
    return notes


def _horizons(raw: pd.DataFrame, cokeys: set[str]) -> tuple[pd.DataFrame, list[str], list[Note]]:
    raw = raw[cells.keys(raw, "cokey").isin(cokeys)].reset_index(drop=True)
    measured, faults, notes = cells.numbers(
        raw, _HORIZON_NUMBERS, {column.name: column for column in HORIZONS}
    )
    table = measured.assign(
        cokey=cells.keys(raw, "cokey"),
        chkey=cells.keys(raw, "chkey"),
    )
    upside_down = ~(table["bottom_cm"] > table["top_cm"])
    if upside_down.any():
        gone = table.loc[upside_down, "chkey"]
        said = f"{len(gone)} soil layers have no thickness (bottom not below top): left out"
        notes.append(Note(LAYER, "warning", f"{said} ({_some(gone)})."))
    table = table[~upside_down]
    total = table[["sand_pct", "silt_pct", "clay_pct"]].sum(axis=1, skipna=False)
    odd = table.loc[(total - 100).abs() > _TEXTURE_SUM_SLACK_PCT, "chkey"]
    if len(odd):
        said = f"Sand, silt and clay of {len(odd)} soil layers do not add up to 100 percent"
        notes.append(Note(LAYER, "caution", f"{said} ({_some(odd)}); kept as the survey has them."))
    bare = sorted(cokeys - set(table["cokey"]))
    if bare and len(table):
        said = f"{len(bare)} components have no layers in the survey: texture, pH, water not known"
        notes.append(Note(LAYER, "info", f"{said} ({_some(bare)})."))
    return table.sort_values(["cokey", "top_cm", "chkey"]).reset_index(drop=True), faults, notes


def _unmatched(raw: RawSurvey, component: pd.DataFrame, map_units: pd.DataFrame) -> list[Note]:
    """Map units that the map or the tables have alone; InputError where nothing matches."""
    notes = []
    on_map, in_table = set(map_units["mukey"]), cells.keys(component, "mukey")
    if not on_map & set(in_table):
        raise InputError(
            f"{raw.name}: none of the {len(on_map)} map units on the soil map is in the table "
            f"component. On the map: mukey {_some(sorted(on_map))}; in the table: mukey "
            f"{_some(sorted(set(in_table.dropna())))}. Expected map and tables of one survey. Give "
            "the two that belong together."
        )
    symbols = map_units.drop_duplicates("mukey").set_index("mukey")["musym"]
    unknown = sorted(on_map - set(in_table[_is_mapped(component)]))
    if unknown:
        named = _some(
            [f"{symbols[k]} (mukey {k})" if symbols[k] else f"mukey {k}" for k in unknown]
        )
        said = f"{len(unknown)} of {len(on_map)} map units have no soils in the survey's tables"
        notes.append(Note(LAYER, "caution", f"{said}: {named}. That ground is not known."))
    elsewhere = set(in_table.dropna()) - on_map
    if elsewhere:
        said = f"{len(elsewhere)} map units of the tables are not on the soil map: left out."
        notes.append(Note(LAYER, "info", said))
    if "mapunit" in raw.tables:
        nameless = sorted(on_map - set(cells.keys(raw.tables["mapunit"], "mukey")))
        if nameless:
            said = f"{len(nameless)} map units are not in the table mapunit ({_some(nameless)})"
            notes.append(Note(LAYER, "info", f"{said}: their names are not known."))
    return notes


def _is_mapped(component: pd.DataFrame) -> pd.Series:
    lower = [(name or "").lower() for name in cells.texts(component, "compname")]
    return pd.Series([name not in NOT_MAPPED for name in lower], index=component.index, dtype=bool)


def _some(values: Iterable[object]) -> str:
    """The first few values of many."""
    words = [str(value) for value in values]
    return ", ".join(words[:5]) + (", ..." if len(words) > 5 else "")
