"""What a crop asks for: limits and parameters from its file, each with basis and source."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib.resources import files
from itertools import pairwise
from typing import Any, Literal

from suitability.columns import CLASSES, QUALITIES
from suitability.errors import CropFileError, listed
from suitability.factors import FACTORS
from suitability.units import unit_of

BASES: tuple[str, ...] = ("published", "computed", "judgement")
LEVELS = ("good", "fair", "poor")


@dataclass(frozen=True)
class Value:
    """A number of the crop file with what it rests on. No value exists without a source."""

    value: float
    basis: str
    source: str


@dataclass(frozen=True)
class Bound:
    """Worst values still in S1, S2 and S3; ``side`` is ``min`` (at least) or ``max`` (at most)."""

    side: Literal["min", "max"]
    good: Value
    fair: Value
    poor: Value


@dataclass(frozen=True)
class Factor:
    """All limits of one factor in one quality: numeric bounds, or a class for each text."""

    quality: str
    name: str
    bounds: tuple[Bound, ...] = ()
    classes: dict[str, str] = field(default_factory=dict)
    basis: str = ""
    source: str = ""


@dataclass(frozen=True)
class Limit:
    """One printable limit: used by the report and ``suitability crop``."""

    quality: str
    factor: str
    side: str
    level: str
    value: float | tuple[str, ...]
    unit: str
    basis: str
    source: str


@dataclass(frozen=True)
class Crop:
    """A crop file, loaded and checked.

    ``worst`` caps a quality's class, ``survey_worst`` a factor's class where only the survey
    speaks, ``care_from`` is the class from which a quality makes the verdict "sow with care".
    """

    key: str
    name: str
    scientific_name: str
    factors: tuple[Factor, ...]
    parameters: dict[str, Value]
    worst: dict[str, str]
    survey_worst: dict[str, str]
    care_from: dict[str, str]
    sources: dict[str, str]

    def of(self, quality: str) -> tuple[Factor, ...]:
        """The factors of one quality, in the file's order."""
        return tuple(factor for factor in self.factors if factor.quality == quality)

    def number(self, parameter: str) -> float:
        """A parameter's value, such as ``policy.leave_out_share_pct``; KeyError if absent."""
        return self.parameters[parameter].value

    @property
    def limits(self) -> tuple[Limit, ...]:
        """Every limit and parameter, flat, for printing."""
        return tuple(_flat(self))


def crop_names() -> tuple[str, ...]:
    """Names of the crop files that ship with the program."""
    folder = files("suitability") / "crops"
    return tuple(sorted(p.name[:-5] for p in folder.iterdir() if p.name.endswith(".toml")))


def load_crop(name: str) -> Crop:
    """Load a shipped crop file by name.

    Raises
    ------
    CropFileError : no such crop, or a file that breaks a rule (all faults in one message).
    """
    if name not in crop_names():
        known = ", ".join(crop_names())
        raise CropFileError(f"There is no crop {name!r}. Known crops: {known}. Name one of these.")
    return parse_crop(name, (files("suitability") / "crops" / f"{name}.toml").read_text("utf-8"))


def parse_crop(key: str, text: str) -> Crop:
    """A Crop from the text of a crop file; see ``load_crop`` for errors."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CropFileError(
            f"Crop file {key} is not valid TOML: {error}. Mend that line."
        ) from None
    faults: list[str] = []
    sources = {str(k): str(v) for k, v in data.get("sources", {}).items()}
    factors = tuple(
        _factor(quality, name, table, sources, faults)
        for quality in QUALITIES
        for name, table in data.get(quality, {}).items()
    )
    parameters = {
        f"{group}.{name}": _value(entry, f"parameters.{group}.{name}", sources, faults)
        for group, table in data.get("parameters", {}).items()
        for name, entry in table.items()
    }
    policy = data.get("policy", {})
    for rule in ("worst", "survey_worst", "care_from"):
        for name, klass in policy.get(rule, {}).items():
            if klass not in CLASSES:
                faults.append(f"policy.{rule}.{name}: {klass!r} is not one of {', '.join(CLASSES)}")
    crop = data.get("crop", {})
    faults.extend(f"crop.{k} is missing" for k in ("name", "scientific_name") if k not in crop)
    faults.extend(f"{q}: no limits are given" for q in QUALITIES if not data.get(q))
    known = {"crop", "parameters", "policy", "sources", *QUALITIES}
    faults.extend(f"{name}: not a known table of a crop file" for name in data if name not in known)
    if faults:
        raise CropFileError(listed(f"Crop file {key} cannot be used", faults, "Mend these lines."))
    return Crop(
        key=key,
        name=str(crop["name"]),
        scientific_name=str(crop["scientific_name"]),
        factors=factors,
        parameters=parameters,
        worst=dict(policy.get("worst", {})),
        survey_worst=dict(policy.get("survey_worst", {})),
        care_from=dict(policy.get("care_from", {})),
        sources=sources,
    )


def _factor(
    quality: str, name: str, table: dict[str, Any], sources: dict[str, str], faults: list[str]
) -> Factor:
    where = f"{quality}.{name}"
    if name not in FACTORS:
        faults.append(f"{where}: add this factor to suitability/factors.py first")
        return Factor(quality, name)
    if "classes" in table:
        return _class_factor(quality, name, dict(table["classes"]), sources, faults)
    bounds = []
    for side in ("min", "max"):
        if side in table:
            levels = {}
            for level in LEVELS:
                entry = table[side].get(level)
                levels[level] = _value(entry, f"{where}.{side}.{level}", sources, faults)
            values = [levels[level].value for level in LEVELS]
            fall = side == "min"
            if any((b > a) if fall else (b < a) for a, b in pairwise(values)):
                order = "fall" if fall else "rise"
                faults.append(f"{where}.{side}: good, fair, poor must {order}, got {values}")
            bounds.append(Bound("min" if fall else "max", **levels))
    if not bounds:
        faults.append(f"{where}: needs .min, .max or .classes")
    return Factor(quality, name, bounds=tuple(bounds))


def _class_factor(
    quality: str, name: str, table: dict[str, Any], sources: dict[str, str], faults: list[str]
) -> Factor:
    where = f"{quality}.{name}.classes"
    basis, source = str(table.pop("basis", "")), str(table.pop("source", ""))
    _check_origin(basis, source, where, sources, faults)
    classes: dict[str, str] = {}
    for klass, texts in table.items():
        if klass not in CLASSES:
            faults.append(f"{where}: {klass!r} is not one of {', '.join(CLASSES)}")
        for text in texts:
            if text in classes:
                faults.append(f"{where}: {text!r} stands in two classes")
            classes[str(text)] = klass
    allowed = FACTORS[name].allowed
    faults.extend(f"{where}: {t!r} is not a known {name}" for t in classes if t not in allowed)
    return Factor(quality, name, classes=classes, basis=basis, source=source)


def _value(entry: Any, where: str, sources: dict[str, str], faults: list[str]) -> Value:
    if not isinstance(entry, dict) or not isinstance(entry.get("value"), int | float):
        faults.append(f"{where}: needs {{ value = number, basis = ..., source = ... }}")
        return Value(float("nan"), "judgement", "")
    basis, source = str(entry.get("basis", "")), str(entry.get("source", ""))
    _check_origin(basis, source, where, sources, faults)
    return Value(float(entry["value"]), basis, source)


def _check_origin(
    basis: str, source: str, where: str, sources: dict[str, str], faults: list[str]
) -> None:
    if basis not in BASES:
        faults.append(f"{where}: basis {basis!r} must be one of {', '.join(BASES)}")
    if source not in sources:
        faults.append(f"{where}: source {source!r} is not in [sources]")


def _flat(crop: Crop) -> Iterator[Limit]:
    for factor in crop.factors:
        unit = FACTORS[factor.name].unit
        for bound in factor.bounds:
            for klass, level in zip(CLASSES, LEVELS, strict=False):
                v: Value = getattr(bound, level)
                yield Limit(
                    factor.quality, factor.name, bound.side, klass, v.value, unit, v.basis, v.source
                )
        for klass in CLASSES:
            texts = tuple(t for t, c in factor.classes.items() if c == klass)
            if texts:
                yield Limit(
                    factor.quality, factor.name, "is", klass, texts, "", factor.basis, factor.source
                )
    for name, v in crop.parameters.items():
        group, parameter = name.split(".", 1)
        yield Limit(group, parameter, "=", "", v.value, unit_of(parameter), v.basis, v.source)
