"""Soil profiles of the daily simulation: from survey horizons to the six layers of a column."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.crust import crust_index
from suitability.horizon_water import WATER_COLUMNS, horizon_water, setting
from suitability.layering import layer_mean, slowest_ksat_um_s, vertical_ksat_um_s
from suitability.notes import Note
from suitability.published import indexed, table
from suitability.soil_column import (
    CAPACITY,
    COLUMN_CM,
    LAYER_BOTTOM_CM,
    LAYER_TOP_CM,
    N_LAYERS,
    PER_DRAINABLE,
    RISE_FACTOR,
    SATURATION,
    SEEP_FRAC,
    SEEP_MOST,
    SOIL_ROWS,
    WILTING,
)
from suitability.texture import texture_class

Floats = NDArray[np.float64]
THICKNESS_MM = 10.0 * (np.array(LAYER_BOTTOM_CM) - np.array(LAYER_TOP_CM))
MM_D_PER_UM_S = 86.4
LAYER = "daily simulation"
_NEEDED = 3  # layers that must be known themselves: 0-30 cm
_RISE_GROUPS = {
    "sandy": ("sand", "loamy sand", "sandy loam"),
    "loamy": ("loam", "silt loam", "silt"),
    "sandy clayey": ("sandy clay", "sandy clay loam", "clay loam"),
    "silty clayey": ("silty clay loam", "silty clay", "clay"),
}
_STOPS_ROOTS = (
    "bedrock",
    "fragipan",
    "duripan",
    "petro",
    "densic",
    "cemented",
    "placic",
    "ortstein",
)


@dataclass(frozen=True)
class Profiles:
    """Columns of all components, in the order of ``cokeys``.

    Arrays (n, N_LAYERS): water at wilting, field capacity and saturation [frac], vertical
    conductivity [mm/d], rise at 1 m above a water table [mm/d]. Arrays (n,):
    ``known`` (False: nothing of the column may be used, all NaN), curve numbers without and with
    drains, FAO-56 TEW and REW [mm], air-filled porosity at which roots lack air [frac], depth
    that roots can reach [cm], FAO crusting index of 0-5 cm (NaN where not listed), share of the
    numbers above that the survey does not list [frac].
    """

    cokeys: tuple[str, ...]
    known: NDArray[np.bool_]
    wilting_frac: Floats
    capacity_frac: Floats
    saturation_frac: Floats
    ksat_mm_d: Floats
    rise_mm_d: Floats
    curve_number: Floats
    curve_number_drained: Floats
    total_evaporable_mm: Floats
    readily_evaporable_mm: Floats
    air_limit_frac: Floats
    root_limit_cm: Floats
    crust_index: Floats
    estimated_frac: Floats
    notes: tuple[Note, ...]

    def row(self, cokey: str) -> int:
        """Row of a component; KeyError if it is not there."""
        return {key: i for i, key in enumerate(self.cokeys)}[cokey]


def profiles(components: pd.DataFrame, horizons: pd.DataFrame) -> Profiles:
    """Columns of the components.

    Parameters
    ----------
    components : COMPONENTS table. horizons : HORIZONS table.

    Returns
    -------
    Profiles, one row a component in the order of ``components``. A component is known where its
    horizons tell, or texture lets estimate, the water of each layer down to 30 cm. Deeper layers
    without a horizon go on like the one above; below bedrock with the conductivity of
    ``tables/soil_water.csv``. What was estimated is told in ``notes``.
    """
    cokeys = tuple(components["cokey"])
    water = _to_the_bottom(horizon_water(horizons), components)
    layers = _layers(water, (*WATER_COLUMNS, "sand_pct", "clay_pct"), cokeys)
    layers["ksat_um_s"] = _vertical(water, cokeys, layers["ksat_um_s"])
    known = np.ones(len(cokeys), dtype=bool)
    for name in WATER_COLUMNS:
        known &= ~np.isnan(layers[name][:, :_NEEDED]).any(axis=1)
    known &= (components["kind"] == "soil").to_numpy()
    for name in WATER_COLUMNS:
        layers[name] = np.where(known[:, None], _filled_down(layers[name]), np.nan)
    wilting, capacity, saturation = (layers[n] for n in WATER_COLUMNS[:3])
    ksat_mm_d = np.maximum(layers["ksat_um_s"] * MM_D_PER_UM_S, 0.01)
    sand, clay = _filled_down(layers["sand_pct"]), _filled_down(layers["clay_pct"])
    rise = _rise(sand, clay, ksat_mm_d)
    tew = _of_top_10_cm(capacity - 0.5 * wilting)
    wet, dry = _curve_numbers(components, water, known)
    estimated = _estimated(water, cokeys)
    return Profiles(
        cokeys=cokeys,
        known=known,
        wilting_frac=wilting,
        capacity_frac=capacity,
        saturation_frac=saturation,
        ksat_mm_d=ksat_mm_d,
        rise_mm_d=rise,
        curve_number=wet,
        curve_number_drained=dry,
        total_evaporable_mm=tew,
        readily_evaporable_mm=readily_evaporable_mm(sand[:, 0], clay[:, 0], tew),
        air_limit_frac=_air_limit(capacity, saturation),
        root_limit_cm=_root_limit(components),
        crust_index=_crust(horizons, cokeys),
        estimated_frac=estimated,
        notes=_notes(components, known, estimated),
    )


def soil_rows(profile: Profiles, row: int) -> Floats:
    """``soil`` of ``soil_water.water_step`` of a known component, shape (SOIL_ROWS, N_LAYERS)."""
    soil = np.empty((SOIL_ROWS, N_LAYERS))
    soil[WILTING] = profile.wilting_frac[row] * THICKNESS_MM
    soil[CAPACITY] = profile.capacity_frac[row] * THICKNESS_MM
    soil[SATURATION] = profile.saturation_frac[row] * THICKNESS_MM
    ksat = profile.ksat_mm_d[row]
    soil[SEEP_FRAC] = 1.0 - np.exp(-ksat / (soil[SATURATION] - soil[CAPACITY]))
    soil[SEEP_MOST] = np.minimum(ksat, np.append(ksat[1:], np.inf))
    soil[PER_DRAINABLE] = 1.0 / (soil[SATURATION] - soil[CAPACITY])
    soil[RISE_FACTOR] = profile.rise_mm_d[row]
    return soil


def readily_evaporable_mm(sand_pct: Floats, clay_pct: Floats, tew_mm: Floats) -> Floats:
    """REW [mm], what evaporates before the surface dries; at most 0.8 of TEW.

    20 - 0.15 sand above 80 % sand, 11 - 0.06 clay above 50 % clay, else 8 + 0.08 clay; 0.4 of TEW
    where texture is not known (judgement).

    References
    ----------
    Ritchie et al. (1989) as cited by Allen et al. (2005), J. Irrig. Drain. Eng. 131:2; from
    memory, within the ranges of FAO-56 table 19.
    """
    rew = np.where(
        sand_pct >= 80,
        20.0 - 0.15 * sand_pct,
        np.where(clay_pct >= 50, 11.0 - 0.06 * clay_pct, 8.0 + 0.08 * clay_pct),
    )
    return np.asarray(np.fmin(np.where(np.isnan(rew), 0.4 * tew_mm, rew), 0.8 * tew_mm))


def _to_the_bottom(water: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """Let the deepest known horizon of a component go on to the bottom of the column."""
    known = water[water[list(WATER_COLUMNS)].notna().all(axis=1)]
    last = known.sort_values(["cokey", "bottom_cm"]).groupby("cokey").tail(1)
    last = last[last["bottom_cm"] < COLUMN_CM].copy()
    kind = components.set_index("cokey")["restriction_kind"].astype("string").str.lower()
    on_rock = last["cokey"].map(kind).str.contains("bedrock", na=False).astype(bool)
    last.loc[on_rock, "ksat_um_s"] = last.loc[on_rock, "ksat_um_s"].clip(
        upper=setting("rock_ksat_um_s")
    )
    last["top_cm"] = last["bottom_cm"]
    last["bottom_cm"] = COLUMN_CM
    return pd.concat([water, last], ignore_index=True)


def _layers(
    water: pd.DataFrame, names: tuple[str, ...], cokeys: tuple[str, ...]
) -> dict[str, Floats]:
    by_layer = [
        layer_mean(water, names, top, bottom).reindex(cokeys)
        for top, bottom in zip(LAYER_TOP_CM, LAYER_BOTTOM_CM, strict=True)
    ]
    return {name: np.column_stack([layer[name] for layer in by_layer]) for name in names}


def _vertical(water: pd.DataFrame, cokeys: tuple[str, ...], otherwise: Floats) -> Floats:
    """Conductivity across each layer; the mean where a part of it is not known."""
    columns = [
        vertical_ksat_um_s(water, top, bottom).reindex(cokeys).to_numpy(dtype=float)
        for top, bottom in zip(LAYER_TOP_CM, LAYER_BOTTOM_CM, strict=True)
    ]
    across = np.column_stack(columns)
    return np.where(np.isnan(across), otherwise, across)


def _filled_down(values: Floats) -> Floats:
    filled = values.copy()
    for i in range(1, N_LAYERS):
        filled[:, i] = np.where(np.isnan(filled[:, i]), filled[:, i - 1], filled[:, i])
    return filled


def _of_top_10_cm(frac: Floats) -> Floats:
    return np.asarray(frac[:, 0] * THICKNESS_MM[0] + frac[:, 1] * THICKNESS_MM[1] / 2)


def _air_limit(capacity: Floats, saturation: Floats) -> Floats:
    air = (saturation - capacity)[:, :2] @ THICKNESS_MM[:2] / THICKNESS_MM[:2].sum()
    return np.asarray(np.minimum(setting("air_limit_frac"), setting("air_limit_share_frac") * air))


def _rise(sand: Floats, clay: Floats, ksat_mm_d: Floats) -> Floats:
    """Rise at 1 m above a water table [mm/d]; that of loam where texture is not known."""
    classes = texture_class(sand, 100 - sand - clay, clay)
    rows = indexed("capillary_rise", "group")
    group_of = {name: group for group, names in _RISE_GROUPS.items() for name in names}
    groups = np.vectorize(lambda c: group_of.get(c, "loamy"), otypes=[object])(classes)
    a0, a1, b0, b1 = (
        np.vectorize(rows[c].to_dict().get, otypes=[float])(groups)
        for c in ("a0", "a1", "b0", "b1")
    )
    # The regression for fine soils ends where its slope would turn over.
    a = np.minimum(a0 + a1 * ksat_mm_d, -0.2)
    b = b0 + b1 * np.log(ksat_mm_d)
    return np.asarray(np.exp(-b / a))


def _curve_numbers(
    components: pd.DataFrame, water: pd.DataFrame, known: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Curve number without and with drains; the group from conductivity where none is listed."""
    rows = table("curve_numbers").set_index(["cover", "condition"])
    numbers = {k.upper(): float(rows.at[("row crop contoured", "good"), k]) for k in "abcd"}
    slowest = slowest_ksat_um_s(water, 0, 100).reindex(components["cokey"]).to_numpy(dtype=float)
    # NEH 630 chapter 7, table 7-1, deep soil without a water table (from memory).
    derived = np.select([slowest > 10, slowest > 4, slowest > 0.4], ["A", "B", "C"], default="D")
    listed = (
        components["hydrologic_group"]
        .astype(object)
        .where(components["hydrologic_group"].notna(), derived)
    )
    drained = listed.astype(str).str[0].map(numbers).to_numpy(dtype=float)
    natural = listed.astype(str).str[-1].map(numbers).to_numpy(dtype=float)
    return np.where(known, natural, np.nan), np.where(known, drained, np.nan)


def _root_limit(components: pd.DataFrame) -> Floats:
    kind = components["restriction_kind"].astype("string").str.lower().fillna("")
    stops = kind.str.contains("|".join(_STOPS_ROOTS), regex=True)
    depth = components["restriction_depth_cm"].astype(float).where(stops)
    limit = depth.fillna(COLUMN_CM).clip(lower=5.0, upper=COLUMN_CM)
    return np.asarray(limit.to_numpy(dtype=float))


def _crust(horizons: pd.DataFrame, cokeys: tuple[str, ...]) -> Floats:
    parts = ("silt_fine_pct", "silt_coarse_pct", "clay_pct", "om_pct")
    means = layer_mean(horizons, parts, 0, 5).reindex(cokeys)
    return crust_index(*(means[part] for part in parts))


def _estimated(water: pd.DataFrame, cokeys: tuple[str, ...]) -> Floats:
    """Share of the water properties within 0-100 cm that the survey does not list."""
    upper = water[(water["top_cm"] < LAYER_BOTTOM_CM[4])]
    flags = upper[[f"{name}_estimated" for name in WATER_COLUMNS]].astype(float).mean(axis=1)
    share = flags.groupby(upper["cokey"]).mean().reindex(cokeys)
    return np.asarray(share.to_numpy(dtype=float))


def _notes(
    components: pd.DataFrame, known: NDArray[np.bool_], estimated: Floats
) -> tuple[Note, ...]:
    notes = []
    names = components["compname"].fillna(components["cokey"]).astype(str)
    missing = sorted(set(names[~known & (components["kind"] == "soil").to_numpy()]))
    if missing:
        said = "Not simulated day by day, because the survey lists neither water nor texture"
        notes.append(Note(LAYER, "caution", f"{said}: {', '.join(missing)}."))
    guessed = sorted(set(names[known & (estimated > 0)]))
    if guessed:
        said = (
            "Water held or passed is estimated from texture (Saxton and Rawls 2006), at least in "
            "part, for"
        )
        notes.append(Note(LAYER, "info", f"{said}: {', '.join(guessed)}."))
    return tuple(notes)
