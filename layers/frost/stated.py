"""What dates a file holds, where it does not say itself: by farm.toml or by its name."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from suitability.columns import FROST_EVENTS
from suitability.errors import InputError, listed
from suitability.freeze_odds import threshold_of_f

LAYER = "frost"

_EVENT = {
    "last_spring": r"prblst|last|spring",
    "first_autumn": r"prbfst|first|autumn|fall",
    "season": r"prbgsl|gsl|season",
}
# tmin-prbfst-t28fp10 is an element of the published normals.
_ELEMENT = re.compile(r"prb(?P<event>lst|fst|gsl)-t(?P<f>\d{1,2})fp(?P<prob>\d{2})(?!\d)")
_ELEMENT_EVENT = {"lst": "last_spring", "fst": "first_autumn", "gsl": "season"}
_THRESHOLD = re.compile(
    r"(?<![a-z0-9.])t?(?P<value>[-m]?\d{1,2}(?:\.\d{1,2})?)(?P<unit>[fc])(?![a-z])"
)
_PROB = re.compile(r"(?<![a-z0-9])f?p(?P<p>\d{1,2})(?!\d)|(?<!\d)(?P<pct>\d{1,2})pct(?![a-z])")


@dataclass(frozen=True)
class Stated:
    """Keys of [frost] in farm.toml; None where not given.

    ``event`` is one of FROST_EVENTS, ``threshold_c`` [degC], ``prob_pct`` [pct] as FROST defines
    them. ``station`` is the id of the station to take. ``dates_as`` says what the numbers of a
    raster are: ``doy`` day of the year, or ``mmdd`` (1113 for 13 November).
    """

    event: str | None = None
    threshold_c: float | None = None
    prob_pct: float | None = None
    station: str | None = None
    dates_as: str | None = None


def element_of(text: str) -> tuple[str, float, float] | None:
    """Event, threshold [degC] and odds [pct] of an element of the published normals in a name.

    >>> element_of("ANN-TMIN-PRBFST-T28FP10")
    ('first_autumn', -2.22, 10.0)
    """
    match = _ELEMENT.search(text.lower())
    if match is None or not 1 <= int(match["prob"]) <= 99:
        return None
    return (
        _ELEMENT_EVENT[match["event"]],
        threshold_of_f(int(match["f"])),
        float(match["prob"]),
    )


def said_by_name(name: str) -> dict[str, Any]:
    """What a file name states: any of event, threshold_c and prob_pct.

    >>> said_by_name("first_freeze_28F_p10.tif")
    {'event': 'first_autumn', 'threshold_c': -2.22, 'prob_pct': 10.0}
    """
    stem = Path(name).stem.lower().replace(" ", "_")
    element = element_of(stem)
    if element is not None:
        return dict(zip(("event", "threshold_c", "prob_pct"), element, strict=True))
    plain = stem.replace("_", " ")
    said: dict[str, Any] = {}
    events = [event for event, words in _EVENT.items() if re.search(words, plain)]
    if len(events) == 1:
        said["event"] = events[0]
    thresholds = {
        threshold_of_f(value) if unit == "f" else value + 0.0
        for value, unit in (
            (float(m["value"].replace("m", "-")), m["unit"]) for m in _THRESHOLD.finditer(plain)
        )
    }
    if len(thresholds) == 1:
        said["threshold_c"] = thresholds.pop()
    odds = {float(m["p"] or m["pct"]) for m in _PROB.finditer(plain)}
    if len(odds) == 1:
        said["prob_pct"] = odds.pop()
    return said


def what_it_is(source: Path, stated: Stated, *, needed: tuple[str, ...]) -> dict[str, Any]:
    """The keys ``needed`` of a file, by farm.toml first and by its name else.

    Raises
    ------
    InputError : one is stated by neither, or they contradict each other.
    """
    by_name = said_by_name(source.name)
    found: dict[str, Any] = {}
    faults = []
    for key in needed:
        told, named = getattr(stated, key), by_name.get(key)
        if told is not None and named is not None and not _same(told, named):
            faults.append(f"{key}: farm.toml says {told}, the file name {named}")
        elif told is None and named is None:
            faults.append(
                f"{key}: stated neither by farm.toml nor by the file name ({_EXPECTED[key]})"
            )
        else:
            found[key] = told if told is not None else named
    if faults:
        raise InputError(
            listed(
                f"{source}: what its dates are is not clear",
                faults,
                "State it under [frost] in farm.toml, or name the file like "
                "first_freeze_28F_p10.tif.",
            )
        )
    return found


_EXPECTED = {
    "event": f"one of {', '.join(FROST_EVENTS)}",
    "threshold_c": "degrees C, such as -2.2",
    "prob_pct": "odds in per cent, such as 10",
}


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, str):
        return bool(one == other)
    return abs(float(one) - float(other)) < 0.06
