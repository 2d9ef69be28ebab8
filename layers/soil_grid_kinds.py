"""What a raster of a soil property may hold: which properties, in which units, in what range."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from suitability.columns import DRAINAGE_CLASSES
from suitability.errors import InputError, listed

DEEPEST_CM = 300.0


@dataclass(frozen=True)
class Kind:
    """A property: its column in the tables of the contract, and the units it may be stated in.

    ``units`` gives by unit what a number in it is multiplied with. ``low`` and ``high`` bound what
    is plausible, in the column's unit ``unit``.
    """

    column: str
    unit: str
    units: Mapping[str, float]
    low: float
    high: float
    of_a_depth: bool = True


_SHARE = {"pct": 1.0, "g/kg": 0.1, "frac": 100.0}
_DENSITY = {"g/cm3": 1.0, "kg/m3": 0.001, "cg/cm3": 0.01}
_DEPTH = {"cm": 1.0, "m": 100.0, "mm": 0.1, "in": 2.54, "ft": 30.48}

KINDS: dict[str, Kind] = {
    "sand": Kind("sand_pct", "pct", _SHARE, 0, 100),
    "silt": Kind("silt_pct", "pct", _SHARE, 0, 100),
    "clay": Kind("clay_pct", "pct", _SHARE, 0, 100),
    # Peat is lighter; it is no ground for a field crop's limits of density.
    "bulk_density": Kind("bulk_density_g_cm3", "g/cm3", _DENSITY, 0.1, 2.3),
    "ph": Kind("ph", "ph", {"ph": 1.0}, 2.5, 10.5),
    "water_table": Kind("water_table_cm", "cm", _DEPTH, 0, 20_000, of_a_depth=False),
    "drainage_class": Kind("drainage_class", "", {}, 0, 0, of_a_depth=False),
}
UNITS = tuple(dict.fromkeys(unit for kind in KINDS.values() for unit in kind.units))


@dataclass(frozen=True)
class SoilGrid:
    """One raster of a soil property, ``what``, as the user states it.

    ``scale`` is what one step of the stored numbers is worth in ``unit``; None: as the file says,
    else 1. ``from_cm`` and ``to_cm`` are the depths it is of. ``classes`` names the drainage class
    that each number stands for.
    """

    path: Path
    what: str
    unit: str | None = None
    scale: float | None = None
    from_cm: float | None = None
    to_cm: float | None = None
    classes: Mapping[float, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """Property and depth, for messages."""
        name = self.what.replace("_", " ")
        return f"{name} {self.from_cm:g}-{self.to_cm:g} cm" if self.from_cm is not None else name


def faults_of(
    property_: str,
    unit: str | None,
    from_cm: float | None,
    to_cm: float | None,
    classes: Mapping[float, str] | None,
) -> dict[str, str]:
    """What is wrong with a stated soil grid, by the key it is wrong in; keys as in farm.toml."""
    kind = KINDS[property_]
    faults: dict[str, str] = {}
    if property_ == "drainage_class":
        if not classes:
            faults["classes"] = (
                "is missing; say which number stands for which class, such as "
                f'classes = {{ 1 = "well" }}; the classes are {", ".join(DRAINAGE_CLASSES)}'
            )
        return faults
    if classes:
        faults["classes"] = "belongs to drainage_class only; take it out"
    if unit is None:
        faults["unit"] = f"is missing; {property_} is stated in {' or '.join(kind.units)}"
    elif unit not in kind.units:
        faults["unit"] = f"{unit!r} is no unit of {property_}; expected {' or '.join(kind.units)}"
    if not kind.of_a_depth:
        return faults
    if from_cm is None or to_cm is None:
        key = "from_cm" if from_cm is None else "to_cm"
        faults[key] = (
            "is missing; give the depths the raster is of, such as from_cm = 0, to_cm = 30"
        )
    elif to_cm <= from_cm:
        faults["to_cm"] = (
            f"the lower depth ({to_cm:g} cm) must be more than from_cm ({from_cm:g} cm)"
        )
    return faults


def check_asked(grids: Sequence[SoilGrid]) -> None:
    """Refuse soil grids that are not stated well, or that speak of the same depth twice.

    Raises
    ------
    InputError : all faults at once.
    """
    faults = []
    for grid in grids:
        found = faults_of(grid.what, grid.unit, grid.from_cm, grid.to_cm, grid.classes)
        faults += [f"{grid.path.name}: {key} {words}" for key, words in found.items()]
    if not faults:
        for i, one in enumerate(grids):
            for other in grids[i + 1 :]:
                if one.what == other.what and _meet(one, other):
                    faults.append(
                        f"{one.path.name} ({one.title}) and {other.path.name} ({other.title}) "
                        "speak of the same ground twice; keep one"
                    )
    if faults:
        raise InputError(
            listed("The soil grids cannot be used", faults, "Mend [[soil_grid]] in farm.toml.")
        )


def _meet(one: SoilGrid, other: SoilGrid) -> bool:
    if one.from_cm is None or one.to_cm is None or other.from_cm is None or other.to_cm is None:
        return True
    return one.from_cm < other.to_cm and other.from_cm < one.to_cm
