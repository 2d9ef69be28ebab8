"""Units that names carry: a column or argument called ``..._cm`` is in centimetres."""

SUFFIX_UNITS = {
    "_years_in_ten": "years/10",
    "_g_cm3": "g/cm3",
    "_mj_m2_d": "MJ/m2/d",
    "_mm_week": "mm/week",
    "_um_s": "um/s",
    "_mm_d": "mm/d",
    "_mm_h": "mm/h",
    "_ds_m": "dS/m",
    "_kg_ha": "kg/ha",
    "_m2_kg": "m2/kg",
    "_cm_d": "cm/d",
    "_g_mj": "g/MJ",
    "_cd": "degC d",
    "_usd_ha": "USD/ha",
    "_usd_kg": "USD/kg",
    "_usd": "USD",
    "_kg_d": "kg/d",
    "_kg": "kg",
    "_pct": "pct",
    "_frac": "frac",
    "_prob": "prob",
    "_deg": "deg",
    "_doy": "doy",
    "_ha": "ha",
    "_m2": "m2",
    "_cm": "cm",
    "_mm": "mm",
    "_c": "degC",
    "_m": "m",
    "_d": "d",
}


def unit_of(name: str) -> str:
    """Unit that a name's suffix states; empty where it states none (pH, counts, classes).

    >>> unit_of("water_table_cm"), unit_of("soil_ph")
    ('cm', '')
    """
    longest = sorted(SUFFIX_UNITS, key=len, reverse=True)
    return next((SUFFIX_UNITS[s] for s in longest if f"_{name}".endswith(s)), "")
