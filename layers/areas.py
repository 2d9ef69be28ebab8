"""Lengths and areas as remarks tell them: in both systems, since a remark knows no reader."""

from suitability.conversions import HA_PER_ACRE, M_PER_FT

_KM_PER_MILE = 1.609344
_M2_PER_HA = 10_000
_SMALL_ACRES = 1.0


def area_text(area_ha: float) -> str:
    """An area in acres, with hectares or square metres in brackets.

    >>> area_text(0.93), area_text(0.0149)
    ('2.3 acres (0.93 ha)', '0.037 acres (149 m2)')
    """
    acres = area_ha / HA_PER_ACRE
    ours = f"{acres:.1f}" if acres >= _SMALL_ACRES else f"{acres:.2g}"
    if area_ha < 0.1:
        return f"{ours} acres ({area_ha * _M2_PER_HA:.0f} m2)"
    return (
        f"{ours} acres ({area_ha:.1f} ha)" if area_ha >= 10 else f"{ours} acres ({area_ha:.2g} ha)"
    )


def small_area_text(area_m2: float) -> str:
    """The same of an area in square metres."""
    return area_text(area_m2 / _M2_PER_HA)


def distance_text(least_km: float, most_km: float) -> str:
    """A distance, or a span of them, in miles with kilometres in brackets.

    >>> distance_text(4.0, 6.2), distance_text(10.0, 10.0)
    ('2 to 4 mi (4 to 6 km)', '6 mi (10 km)')
    """
    miles = _span(least_km / _KM_PER_MILE, most_km / _KM_PER_MILE)
    kilometres = _span(least_km, most_km)
    return f"{miles} mi ({kilometres} km)"


def _span(least: float, most: float) -> str:
    low, high = f"{least:.0f}", f"{most:.0f}"
    return low if low == high else f"{low} to {high}"


def length_text(length_m: float) -> str:
    """A length in feet, with metres in brackets.

    >>> length_text(6.096), length_text(0.10)
    ('20 ft (6.1 m)', '0.33 ft (0.10 m)')
    """
    feet = length_m / M_PER_FT
    ours = f"{feet:.0f}" if feet >= 10 else f"{feet:.2g}"
    decimals = 2 if length_m < 1 else 1 if length_m < 10 else 0
    return f"{ours} ft ({length_m:.{decimals}f} m)"
