"""Prices: where each one comes from, and all of them in the units that the program computes in."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import pandas as pd

from suitability.conversions import HA_PER_ACRE, KG_PER_LB
from suitability.errors import InputError, listed
from suitability.published import table

_DAYS_A_YEAR = 365.25
# One of the table's unit in ours.
_TO_OURS = {
    "USD/lb": 1 / KG_PER_LB,
    "USD/ac": 1 / HA_PER_ACRE,
    "USD/roll": 1.0,
    "lb": KG_PER_LB,
    "pct": 0.01,
}


@dataclass(frozen=True)
class Prices:
    """All prices in kg, hectares and US dollars.

    ``rows`` is the table that is printed: name, value, low, high, unit, date, basis, source as
    entered, ``origin`` "default" or "yours".
    """

    seed_usd_kg: float
    inoculant_usd_ha: float
    drill_usd_ha: float
    broadcast_usd_ha: float
    mow_usd_ha: float
    bale_usd: float
    kill_usd_ha: float
    nitrogen_usd_kg: float
    hay_roll_usd: float
    hay_roll_kg: float
    hay_discount_frac: float
    rows: pd.DataFrame

    @property
    def hay_usd_kg(self) -> float:
        """What hay of this crop fetches, with its moisture [USD/kg]."""
        return self.hay_roll_usd / self.hay_roll_kg * (1 - self.hay_discount_frac)

    def sowing_usd_ha(self, method: str) -> float:
        """Cost of one pass that sows [USD/ha]."""
        return self.drill_usd_ha if method == "drilled" else self.broadcast_usd_ha


PRICE_NAMES: tuple[str, ...] = tuple(table("prices")["name"])


def prices(own: Mapping[str, float] | None = None, *, own_date: str = "") -> Prices:
    """Prices of the table, overridden by the grower's own.

    Parameters
    ----------
    own : by name, in the unit of the table. own_date : when the grower's were asked, free text.

    Raises
    ------
    InputError : a name that is not in the table.
    """
    given = dict(own or {})
    unknown = [name for name in given if name not in PRICE_NAMES]
    if unknown:
        faults = [f"{name!r} is not a price" for name in unknown]
        remedy = f"Known are: {', '.join(PRICE_NAMES)}."
        raise InputError(listed("The prices cannot be used", faults, remedy))
    rows = table("prices").copy()
    rows["date"] = [f"{d:.0f}" if pd.notna(d) else "" for d in rows["date"]]
    theirs = rows["name"].isin(list(given))
    rows["origin"] = theirs.map({True: "yours", False: "default"})
    rows["value"] = [
        float(given.get(n, v)) for n, v in zip(rows["name"], rows["value"], strict=True)
    ]
    rows.loc[theirs, ["basis", "source", "date"]] = ["yours", "farm file", own_date]
    rows.loc[theirs, ["low", "high"]] = float("nan")
    ours = {
        row.name: row.value * _TO_OURS[row.unit]
        for row in rows[["name", "value", "unit"]].itertuples(index=False)
    }
    return Prices(
        seed_usd_kg=ours["seed"],
        inoculant_usd_ha=ours["inoculant"],
        drill_usd_ha=ours["drill"],
        broadcast_usd_ha=ours["broadcast"],
        mow_usd_ha=ours["mow"],
        bale_usd=ours["bale"],
        kill_usd_ha=ours["kill"],
        nitrogen_usd_kg=ours["nitrogen"],
        hay_roll_usd=ours["hay_roll"],
        hay_roll_kg=ours["hay_roll_weight"],
        hay_discount_frac=ours["hay_discount"],
        rows=rows,
    )


def old_prices(own: Prices, today: date, most_years: float) -> tuple[str, ...]:
    """Names of the defaults whose stated year lies further back than this, or is not stated."""
    mine = own.rows[own.rows["origin"] == "default"]
    priced = mine[mine["unit"].str.startswith("USD")]
    return tuple(
        name
        for name, year in zip(priced["name"], priced["date"], strict=True)
        if not year or (today - date(int(year), 7, 1)).days > most_years * _DAYS_A_YEAR
    )
