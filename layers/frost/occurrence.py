"""In how many years it freezes at all: the normals give it in percent or in tenths of a percent."""

from pathlib import Path

from layers.frost import codes
from layers.frost.stated import LAYER
from suitability.errors import InputError
from suitability.notes import Note

_SCALES = {"percent": 1.0, "tenths": 10.0}
# Dates are given a little beyond the rounded odds of any freeze.
_SLACK_PCT = 5.0


def occurrence_pct(
    texts: dict[float, str], reached_pct: dict[float, float], layout: str, source: Path
) -> tuple[dict[float, float], list[Note]]:
    """Share of years with a freeze, by threshold [pct], and a Note where its unit is not clear.

    Parameters
    ----------
    texts : values as written, by threshold [degC]; special values are left out.
    reached_pct : largest odds that the file gives a date for, by threshold: at least as many years
        must freeze.
    layout : ``tenths`` or ``percent``, the custom of files of this layout; decides only where
        values and dates allow both. Empty where there is no custom.

    Raises
    ------
    InputError : no percentage in either unit.
    """
    values: dict[float, float] = {}
    whole = True
    for threshold, text in texts.items():
        code = codes.code_of(text)
        if code == codes.ROUNDS_TO_ZERO:
            values[threshold] = 0.0
        elif code == codes.YEAR_ROUND or code is None:
            try:
                number = 0.0 if code else float(text)
            except ValueError:
                number = float("nan")
            if not 0 <= number <= 1000:
                raise InputError(
                    f"{source}: the share of years with any freeze is {text.strip()!r}; expected "
                    "0 to 100 percent, or 0 to 1000 tenths of a percent. Download the file again."
                )
            if code is None:
                values[threshold] = number
                whole = whole and "." not in text
    fitting = [
        name
        for name, scale in _SCALES.items()
        if (whole or name == "percent")
        and all(
            value / scale <= 100 and value / scale >= reached_pct.get(threshold, 0.0) - _SLACK_PCT
            for threshold, value in values.items()
        )
    ]
    if not values or not any(values.values()):
        return values, []
    if not fitting:
        shown = ", ".join(f"{value:g}" for value in values.values())
        raise InputError(
            f"{source}: the share of years with any freeze ({shown}) is smaller than the odds that "
            "freeze dates are given for, and fits neither percent nor tenths of a percent. "
            "Expected at least as many years with a freeze as the largest odds of a date: are its "
            "columns shifted, or 10 % and 90 % swapped? Download the file again."
        )
    unit = fitting[0] if len(fitting) == 1 else layout
    if not unit:
        text = (
            f"{source.name}: whether the odds of any freeze are percent or tenths of a percent "
            "cannot be told; they were not used."
        )
        return {}, [Note(LAYER, "caution", text)]
    return {threshold: value / _SCALES[unit] for threshold, value in values.items()}, []
