"""How to inoculate: pH, density and texture of the topsoil, and what grew here before."""

from typing import Any

import pandas as pd

from suitability.crop import Crop

NAME = "inoculation"


def inoculant_reason(
    field: "pd.Series[Any]", row: "pd.Series[Any]", crop: Crop, year: int
) -> tuple[str, dict[str, object]]:
    """Why a field gets the normal or the double rate, as a code with its values.

    Parameters
    ----------
    field : a row of FIELDS (what the grower knows).
    row : the field's row of VERDICTS.
    crop : the crop file; ``policy.legume_years`` and the pH limits decide.
    year : the year of sowing, against which the last legume year is counted.

    Returns
    -------
    code, values : ``recent_legume`` is the only code that means the normal rate; the others, in
        order of gravity, are ``ph``, ``sand``, ``no_recent_legume`` and ``unknown_history``.
    """
    factor, value = row["inoculation_factor"], row["inoculation_value"]
    if factor == "soil_ph" and not _between(value, crop):
        return "ph", {"ph": f"{value:.1f}"}
    if factor == "inoculant_texture" and row["inoculation_class"] != "S1":
        return "sand", {}
    last, years = field["legume_last_year"], crop.number("policy.legume_years")
    if last is None or pd.isna(last):
        return "unknown_history", {}
    if year - last > years:
        return "no_recent_legume", {"years": f"{years:.0f}"}
    return "recent_legume", {"year": f"{last:.0f}"}


def _between(ph: float, crop: Crop) -> bool:
    low, high = crop.number("policy.double_rate_ph_low"), crop.number("policy.double_rate_ph_high")
    return bool(pd.isna(ph) or low <= ph <= high)
