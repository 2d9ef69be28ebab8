"""Units and numbers as people read them: US customary or metric. Nothing else converts."""

import math
from dataclasses import dataclass
from datetime import date
from typing import Literal

from maps.words import load_words
from suitability.conversions import HA_PER_ACRE, KG_PER_LB, M_PER_FT

Units = Literal["us", "metric"]

ACRES_PER_HA = 1 / HA_PER_ACRE
CM_PER_IN = 2.54
KG_HA_PER_LB_AC = KG_PER_LB / HA_PER_ACRE


def acres(area_ha: float) -> float:
    """Acres of an area in hectares."""
    return area_ha * ACRES_PER_HA


@dataclass(frozen=True)
class Legend:
    """Formats SI values for a reader; every method gives an empty text for a missing value.

    Names of units and months are those of the language.
    """

    units: Units = "us"
    language: str = "en"

    def _say(self, key: str, **values: object) -> str:
        return load_words(self.language)(f"unit.{key}", **values)

    def area(self, area_ha: float) -> str:
        """``12.3 acres`` or ``5.0 ha``; two digits below one, ``1,234 acres`` from a thousand."""
        if _missing(area_ha):
            return ""
        value, unit = acres(area_ha) if self.units == "us" else area_ha, self.area_unit
        if round(value, 2) == 0:
            return f"0 {unit}"
        if round(value, 1) >= 1000:
            return f"{value:,.0f} {unit}"
        return f"{value:.1f} {unit}" if value >= 1 else f"{value:.2f} {unit}"

    def area_number(self, area_ha: float) -> str:
        """The number of ``area`` alone, for a table whose heading has the unit."""
        return self.area(area_ha).split(" ")[0]

    @property
    def area_unit(self) -> str:
        """``acres`` or ``ha``."""
        return self._say("acres" if self.units == "us" else "ha")

    @property
    def one_area(self) -> str:
        """What money is counted by: ``acre`` or ``ha``."""
        return self._say("acre" if self.units == "us" else "ha")

    def depth(self, depth_cm: float) -> str:
        """``12 inches`` or ``30 cm``."""
        if _missing(depth_cm):
            return ""
        if self.units == "us":
            return self._say("inches", n=f"{depth_cm / CM_PER_IN:.0f}")
        return f"{depth_cm:.0f} cm"

    def rain(self, depth_mm: float) -> str:
        """``1.0 inches`` or ``25 mm`` of water: a digit more than a depth of soil."""
        if _missing(depth_mm):
            return ""
        if self.units == "us":
            return self._say("inches", n=f"{depth_mm / 10 / CM_PER_IN:.1f}")
        return f"{depth_mm:.0f} mm"

    @property
    def dry_matter_unit(self) -> str:
        """``lb/ac`` or ``kg/ha``."""
        return self._say("lb_ac") if self.units == "us" else "kg/ha"

    @property
    def dry_matter_factor(self) -> float:
        """What a kg/ha is in ``dry_matter_unit``."""
        return 1 / KG_HA_PER_LB_AC if self.units == "us" else 1.0

    def dry_matter(self, dry_matter_kg_ha: float) -> str:
        """``4,500`` to the hundred, in ``dry_matter_unit``."""
        if _missing(dry_matter_kg_ha):
            return ""
        return f"{round(dry_matter_kg_ha * self.dry_matter_factor / 100) * 100:,}"

    def month(self, month: int) -> str:
        """``Apr``."""
        return load_words(self.language)(f"month_short.{month}")

    def length(self, length_m: float) -> str:
        """``820 ft`` or ``250 m``."""
        if _missing(length_m):
            return ""
        if self.units == "us":
            return self._say("feet", n=f"{length_m / M_PER_FT:,.0f}")
        return f"{length_m:,.0f} m"

    def round_length(self, length_m: float) -> str:
        """``2 ft`` or ``0.5 m`` of a length that is a round number in this unit."""
        if self.units == "us":
            return self._say("feet", n=f"{length_m / M_PER_FT:.4g}")
        return f"{length_m:.4g} m"

    def small_length(self, length_m: float) -> str:
        """``6.6 ft`` or ``2.0 m``: with a decimal below ten."""
        value = length_m / M_PER_FT if self.units == "us" else length_m
        text = f"{value:.1f}" if value < 9.95 else f"{value:,.0f}"
        return self._say("feet", n=text) if self.units == "us" else f"{text} m"

    def rate_ksat(self, ksat_um_s: float) -> str:
        """Water intake of a soil layer: ``0.57 inches an hour`` or ``14 mm an hour``."""
        if _missing(ksat_um_s):
            return ""
        mm_h = ksat_um_s * 3.6
        if self.units == "us":
            return self._say("inches_an_hour", n=f"{mm_h / 10 / CM_PER_IN:.2g}")
        return self._say("mm_an_hour", n=f"{mm_h:.2g}")

    def day(self, mmdd: str | float | None) -> str:
        """``June 5`` (US) or ``5 June`` out of ``06-05``."""
        if not isinstance(mmdd, str) or not mmdd:
            return ""
        month, day = (int(part) for part in mmdd.split("-"))
        return self._date("day", day, month)

    def full_day(self, when: date) -> str:
        """``June 5, 2026`` or ``5 June 2026``."""
        return self._date("full_day", when.day, when.month, when.year)

    def _date(self, kind: str, day: int, month: int, year: int | None = None) -> str:
        words = load_words(self.language)
        name = words(f"month.{month}")
        return words(f"date.{kind}_{self.units}", day=day, month=name, year=year)

    def temperature(self, temperature_c: float) -> str:
        """``66 F`` or ``18.9 C``."""
        if _missing(temperature_c):
            return ""
        if self.units == "us":
            return f"{temperature_c * 1.8 + 32:.0f} F"
        return f"{temperature_c:.1f} C"

    def warmth(self, difference_c: float) -> str:
        """Difference of two temperatures: ``3 F`` or ``1.6 C``."""
        return f"{difference_c * 1.8:.0f} F" if self.units == "us" else f"{difference_c:.1f} C"

    def height(self, height_m: float) -> str:
        """``1.5 ft`` or ``46 cm``."""
        if _missing(height_m):
            return ""
        if self.units == "us":
            return f"{height_m / M_PER_FT:.1f} ft"
        return f"{height_m * 100:.0f} cm"

    def plants(self, plants_m2: float) -> str:
        """The number of plants on a square foot or metre."""
        return f"{plants_m2 * M_PER_FT**2 if self.units == 'us' else plants_m2:.0f}"

    def weight(self, weight_kg: float) -> str:
        """``1,100 lb`` or ``500 kg``."""
        if _missing(weight_kg):
            return ""
        return f"{self.weight_number(weight_kg)} {self.weight_unit}"

    @property
    def weight_unit(self) -> str:
        """``lb`` or ``kg``."""
        return "lb" if self.units == "us" else "kg"

    def weight_number(self, weight_kg: float) -> str:
        """``1,100`` in ``weight_unit``."""
        return f"{weight_kg / KG_PER_LB if self.units == 'us' else weight_kg:,.0f}"

    def seed_rate(self, seed_kg_ha: float) -> str:
        """``36 lb/ac`` or ``40.3 kg/ha``."""
        if _missing(seed_kg_ha):
            return ""
        if self.units == "us":
            return f"{seed_kg_ha / KG_HA_PER_LB_AC:.1f} {self.dry_matter_unit}"
        return f"{seed_kg_ha:.1f} {self.dry_matter_unit}"

    def usd(self, amount_usd: float) -> str:
        """``$1,234``, ``-$56``; no cents."""
        if _missing(amount_usd):
            return ""
        whole = round(amount_usd)
        return f"-${-whole:,}" if whole < 0 else f"${whole:,}"

    def usd_area(self, usd_ha: float) -> str:
        """Money by ``area_unit``, such as ``$97``."""
        return self.usd(usd_ha / ACRES_PER_HA if self.units == "us" else usd_ha)

    def usd_weight(self, usd_kg: float) -> str:
        """``$2.00/lb`` or ``$4.41/kg``."""
        if _missing(usd_kg):
            return ""
        value, unit = (usd_kg * KG_PER_LB, "lb") if self.units == "us" else (usd_kg, "kg")
        return f"-${-value:.2f}/{unit}" if round(value, 2) < 0 else f"${value:.2f}/{unit}"

    def pct(self, value_pct: float) -> str:
        """``12 %``, and ``under 1 %`` rather than ``0 %``."""
        if _missing(value_pct):
            return ""
        return self._say("under_one_pct") if 0 < value_pct < 1 else f"{value_pct:.0f} %"


def _missing(value: float | None) -> bool:
    return value is None or math.isnan(value)
