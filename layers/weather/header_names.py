"""Which measure, in which unit, the name of a column states: ``tmax_c``, ``Rain (in)``."""

import re

# Words of a header brought to one form; those that say nothing are left out.
_SAME = {
    "maximum": "max",
    "highest": "max",
    "high": "max",
    "minimum": "min",
    "lowest": "min",
    "low": "min",
    "temperature": "temp",
    "t": "temp",
    "tmp": "temp",
    "tmax": "max temp",
    "maxt": "max temp",
    "tempmax": "max temp",
    "tx": "max temp",
    "tmin": "min temp",
    "mint": "min temp",
    "tempmin": "min temp",
    "tn": "min temp",
    "prcp": "precip",
    "precipitation": "precip",
    "rain": "precip",
    "rainfall": "precip",
    "ppt": "precip",
    "pcp": "precip",
    "pcpn": "precip",
    "srad": "solar",
    "radiation": "solar",
}
_EMPTY_WORDS = ("air", "daily", "day", "total", "of", "the", "sum", "observed")
_MEASURES = {
    frozenset(("max", "temp")): "tmax",
    frozenset(("max",)): "tmax",
    frozenset(("min", "temp")): "tmin",
    frozenset(("min",)): "tmin",
    frozenset(("precip",)): "precip",
    frozenset(("solar",)): "solar",
    frozenset(("dayl",)): "daylight",
}
_TEMPERATURE = {
    "c": "c", "degc": "c", "deg c": "c", "celsius": "c", "degrees c": "c", "degrees celsius": "c",
    "f": "f", "degf": "f", "deg f": "f", "fahrenheit": "f", "degrees f": "f",
    "degrees fahrenheit": "f",
    "tenths c": "tenths_c", "0 1 c": "tenths_c", "tenths of c": "tenths_c",
    "tenths of degrees c": "tenths_c", "tenths of deg c": "tenths_c",
}  # fmt: skip
_PRECIP = {
    "mm": "mm", "mm day": "mm", "mm d": "mm", "millimeters": "mm", "millimetres": "mm",
    "in": "in", "inch": "in", "inches": "in", "in day": "in",
    "tenths mm": "tenths_mm", "0 1 mm": "tenths_mm", "tenths of mm": "tenths_mm",
}  # fmt: skip
_SOLAR = {
    "mj m2 d": "mj_m2_d", "mj m2 day": "mj_m2_d", "mj m 2 d": "mj_m2_d", "mj m2": "mj_m2_d",
    "mj m 2 day": "mj_m2_d", "mj m 2": "mj_m2_d", "w m2": "w_m2", "w m 2": "w_m2",
}  # fmt: skip
_UNITS = {
    "tmax": _TEMPERATURE,
    "tmin": _TEMPERATURE,
    "precip": _PRECIP,
    "solar": _SOLAR,
    "daylight": {"s": "s", "seconds": "s"},
}
_UNIT_WORDS_MOST = 4
_BRACKETED = re.compile(r"^(.*?)[\s_]*[(\[]([^)\]]*)[)\]]\s*$")


def measure_and_unit(header: str) -> tuple[str | None, str | None]:
    """Measure that a column's name states and its unit, None where it states none.

    Measures are tmax, tmin, precip, solar and daylight. A unit in brackets that is not known comes
    back as it stands, with ``?`` before it.

    >>> measure_and_unit("tmax_c"), measure_and_unit("Max Temp (°F)"), measure_and_unit("PRCP")
    (('tmax', 'c'), ('tmax', 'f'), ('precip', None))
    """
    bracketed = _BRACKETED.match(header)
    if bracketed:
        measure = _measure(_words(bracketed[1]))
        if measure is None:
            return None, None
        unit = " ".join(_words(bracketed[2]))
        return measure, _UNITS[measure].get(unit, f"?{bracketed[2]}" if unit else None)
    words = _words(header)
    for count in range(min(_UNIT_WORDS_MOST, len(words) - 1), 0, -1):
        measure = _measure(words[:-count])
        unit_found = _UNITS[measure].get(" ".join(words[-count:])) if measure else None
        if unit_found:
            return measure, unit_found
    return _measure(words), None


def _words(text: str) -> list[str]:
    return re.sub(r"[^a-z0-9]+", " ", text.lower()).split()


def _measure(words: list[str]) -> str | None:
    same = " ".join(_SAME.get(w, w) for w in words if w not in _EMPTY_WORDS).split()
    return _MEASURES.get(frozenset(same)) if len(set(same)) == len(same) else None
