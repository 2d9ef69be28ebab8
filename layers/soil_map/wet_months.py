"""When a soil floods, ponds and stands wet: one row a component and month."""

import pandas as pd

from layers.soil_map import cells, coded_text
from layers.soil_map.survey import LAYER
from suitability.columns import DURATIONS, FREQUENCIES, MONTHS
from suitability.contract import empty, names
from suitability.notes import Note

_PONDED = ("occasional", "frequent", "very frequent")
_CONTRACT = {column.name: column for column in MONTHS}


def months_table(
    comonth: pd.DataFrame, cosoilmoist: pd.DataFrame, cokeys: set[str]
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    """Months as the contract wants them, for the components in ``cokeys``.

    ``water_table_cm`` is the top of the shallowest layer listed as wet, 0 where ponding is
    occasional or more often; NaN where the survey lists neither. ``moisture_listed_to_cm`` is the
    deepest bottom of a layer with a listed state: a soil that is listed to 200 cm without a wet
    layer has no water table above 200 cm, one that is not listed is not known.

    Returns
    -------
    The table (a row only where the survey lists the month), faults, notes.
    """
    raw = comonth[cells.keys(comonth, "cokey").isin(cokeys)].reset_index(drop=True)
    if not len(raw):
        return empty(MONTHS), [], []
    depth, faults, notes = cells.numbers(raw, {"pond_depth_cm": "ponddep_r"}, _CONTRACT)
    table = pd.DataFrame({"cokey": cells.keys(raw, "cokey"), "month": _months(raw)})
    for name, column, allowed in (
        ("flood_frequency", "flodfreqcl", FREQUENCIES),
        ("flood_duration", "floddurcl", DURATIONS),
        ("pond_frequency", "pondfreqcl", FREQUENCIES),
        ("pond_duration", "ponddurcl", DURATIONS),
    ):
        table[name], more = cells.classes(raw, column, allowed)
        notes += more
    table["pond_depth_cm"] = depth["pond_depth_cm"]
    table["comonthkey"] = cells.keys(raw, "comonthkey")
    wet, more_faults, more_notes = _moisture(cosoilmoist, table)
    table = table.merge(wet, on="comonthkey", how="left")
    table["water_table_cm"] = table["water_table_cm"].mask(
        table["pond_frequency"].isin(_PONDED), 0.0
    )
    unnamed = table["month"].isna()
    if unnamed.any():
        said = f"{int(unnamed.sum())} rows of the months table name no month: left out."
        notes.append(Note(LAYER, "warning", said))
    table = table[~unnamed].astype({"month": "int64"}).sort_values(["cokey", "month"])
    return table[names(MONTHS)].reset_index(drop=True), faults + more_faults, notes + more_notes


def _months(raw: pd.DataFrame) -> pd.Series:
    blank = pd.Series([None] * len(raw), dtype=object)
    pairs = zip(raw.get("monthseq", blank), raw.get("month", blank), strict=True)
    return pd.Series([coded_text.month_number(seq, name) for seq, name in pairs], dtype="float64")


def _moisture(
    cosoilmoist: pd.DataFrame, table: pd.DataFrame
) -> tuple[pd.DataFrame, list[str], list[Note]]:
    """Per comonthkey: top of the wet, deepest listed depth."""
    mine = cells.keys(cosoilmoist, "comonthkey")
    used = mine.notna() & mine.isin(table["comonthkey"])
    raw = cosoilmoist[used].reset_index(drop=True)
    depth = _CONTRACT["water_table_cm"]
    depths, faults, notes = cells.numbers(
        raw,
        {"top_cm": "soimoistdept_r", "bottom_cm": "soimoistdepb_r"},
        {"top_cm": depth, "bottom_cm": depth},
    )
    layers = depths.assign(
        comonthkey=cells.keys(raw, "comonthkey"), state=cells.texts(raw, "soimoiststat").str.lower()
    )
    layers = layers[layers["state"].notna()]
    is_wet = layers["state"].str.startswith("wet").astype(bool)
    deepest = layers[["top_cm", "bottom_cm"]].max(axis=1).groupby(layers["comonthkey"]).max()
    result = pd.DataFrame(
        {
            "water_table_cm": layers[is_wet].groupby("comonthkey")["top_cm"].min(),
            "moisture_listed_to_cm": deepest,
        },
        dtype="float64",
    )
    result.index.name = "comonthkey"
    both = layers[is_wet].merge(layers[~is_wet], on="comonthkey", suffixes=("_wet", "_moist"))
    crossing = (both["top_cm_wet"] < both["bottom_cm_moist"]) & (
        both["top_cm_moist"] < both["bottom_cm_wet"]
    )
    doubtful = table[table["comonthkey"].isin(both.loc[crossing, "comonthkey"])]
    if len(doubtful):
        cokeys = sorted(set(doubtful["cokey"]))
        notes.append(
            Note(
                LAYER,
                "caution",
                f"In {len(doubtful)} rows of months (component "
                f"{', '.join(cokeys[:5])}{', ...' if len(cokeys) > 5 else ''}) the survey lists "
                "the same depth as wet and as moist or dry: the wetter reading was taken.",
            )
        )
    return result.reset_index(), faults, notes
