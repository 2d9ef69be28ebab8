"""The wet ground of a farm: odds laid on the ground and drawn, with the grower's marks on top."""

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.field_ponds import FieldPonds, pond_notes
from layers.field_wet import field_wet, wet_pct_of_parts, without_cells
from layers.ground import GroundRead
from layers.ground_cells import GroundCells
from layers.marked_ground import apply_marks, never_wet
from layers.water_seen import WaterSeen, read_water_seen
from layers.wet_cells import wet_cells
from layers.wet_ground import wet_ground_of_units
from layers.wet_outlines import Cleaning, cleaning_for
from layers.wet_shapes import NAME
from maps.farm_file import FarmFile
from maps.layers_read import LayersRead
from maps.legend import ACRES_PER_HA
from maps.other_weeks import LaidOdds, wet_by_week
from maps.second_process import Beside
from suitability.conversions import M_PER_FT
from suitability.crop import Crop
from suitability.ground import PART_KEYS
from suitability.notes import Note
from suitability.wet_odds import part_odds, pond_odds
from suitability.wet_weeks import WetWeeks
from suitability.years import FarmSimulation


@dataclass(frozen=True)
class FarmWet:
    """Wet ground as drawn, and what it takes of each part.

    ``wet_pct`` and ``never_wet_pct`` [pct], indexed by PART_KEYS: within wet ground, and within
    ground that would be wet but for the grower's marks. Both are None where the soil map alone
    draws wet ground, so that no part is cut. ``weeks`` waits for the ground of all other weeks; it
    is None where that is so for want of heights, and where nothing could be simulated.
    """

    wet_ground: gpd.GeoDataFrame
    wet_pct: "pd.Series[float] | None"
    never_wet_pct: "pd.Series[float] | None"
    notes: tuple[Note, ...]
    weeks: Callable[[], WetWeeks] | None = None


@dataclass(frozen=True)
class _Asked:
    """What wet ground is drawn from, as ``farm_wet`` says."""

    farm: FarmFile
    read: LayersRead
    terrain: GroundRead
    ponds: tuple[FieldPonds | None, ...]
    simulation: FarmSimulation | None
    sow_date: "pd.Series[str]"
    weeks: pd.DataFrame
    wet_units: pd.DataFrame
    wet_parts: pd.DataFrame
    crop: Crop


def farm_wet(
    farm: FarmFile,
    read: LayersRead,
    terrain: GroundRead,
    ponds: tuple[FieldPonds | None, ...],
    simulation: FarmSimulation | None,
    sow_date: "pd.Series[str]",
    weeks: pd.DataFrame,
    wet_units: pd.DataFrame,
    wet_parts: pd.DataFrame,
    crop: Crop,
    beside: Beside,
) -> FarmWet:
    """Draw the wet ground of all fields: by odds where there are heights, else by the soil map.

    Parameters
    ----------
    ponds : of ``ponds_of_groups``.
    simulation : None where nothing could be simulated. sow_date : sowing week by field_id.
    weeks : field_id and sow_date of every week in which a field can be sown.
    wet_units : map units full of wet soil by survey rule. wet_parts : PART_KEYS of parts too wet
        by survey rule.
    beside : where the ground of all other weeks can be drawn while the run goes on.
    """
    bare = without_cells(terrain, read.fields)
    by_map = wet_ground_of_units(
        read.cut.pieces, wet_units[wet_units["field_id"].isin(bare)].reset_index(drop=True)
    )
    wet = by_map
    notes: tuple[Note, ...] = ()
    laid = by_week = None
    if terrain.cells:
        asked = _Asked(
            farm, read, terrain, ponds, simulation, sow_date, weeks, wet_units, wet_parts, crop
        )
        drawn, notes, laid = _by_odds(asked)
        wet = gpd.GeoDataFrame(
            pd.concat([t for t in (drawn, by_map) if len(t)] or [drawn], ignore_index=True),
            crs=read.fields.crs,
        )
    unmarked, spared = wet, wet.iloc[:0]
    if read.marks is not None:
        spared = never_wet(wet, read.marks)
        wet, said = apply_marks(wet, read.marks, read.fields)
        notes = (*notes, *said)
    if laid is not None and simulation is not None:
        by_week = beside.start(
            wet_by_week,
            laid,
            simulation.main.weeks,
            weeks,
            sow_date,
            read.fields,
            read.marks,
            unmarked,
            wet["wet_id"],
            _cleaning(farm),
            crop.number("policy.wet_unit_pct"),
        )
    if not terrain.cells and read.marks is None:
        return FarmWet(wet, None, None, notes)
    share, spared_share = (
        wet_pct_of_parts(terrain, read.cut.pieces, read.fields, shapes) for shapes in (wet, spared)
    )
    return FarmWet(wet, share, spared_share, notes, by_week)


def seen_from_above(
    farm: FarmFile, wet_ground: gpd.GeoDataFrame, fields: gpd.GeoDataFrame
) -> WaterSeen | None:
    """How far water seen on some days agrees with the answer; it changes none."""
    if farm.water_seen is None:
        return None
    seen = farm.water_seen
    return read_water_seen(seen.file, wet_ground, fields, wet_from=seen.wet_from)


def _by_odds(asked: _Asked) -> tuple[gpd.GeoDataFrame, tuple[Note, ...], LaidOdds]:
    """Wet ground by its odds in the recommended week, and what those of other weeks need."""
    terrain, simulation, crop = asked.terrain, asked.simulation, asked.crop
    parts = terrain.parts
    odds = np.full((len(parts), 1), np.nan)
    simulated_weeks: tuple[str, ...] = ("",)
    if simulation is not None:
        parts = simulation.parts.merge(parts.drop(columns="weather_id"), on=PART_KEYS)
        odds, simulated_weeks = part_odds(simulation.main, parts, crop), simulation.main.weeks
    at = pd.Index(simulated_weeks).get_indexer(parts["field_id"].map(asked.sow_date))
    at_best = np.where(at >= 0, odds[np.arange(len(parts)), at], np.nan)
    laid, days = [], []
    for cells, ponds in zip(terrain.cells, asked.ponds, strict=True):
        found = _pond_odds(cells, terrain, ponds, simulation, asked.weeks)
        days.append(found)
        laid.append(
            wet_cells(
                cells,
                terrain,
                parts,
                at_best,
                ponds,
                found,
                asked.sow_date,
                asked.wet_units,
                asked.wet_parts,
                crop.number("policy.wet_unit_pct"),
            )
        )
    own = asked.farm.wet_ground.years_in_ten
    least_years_in_ten = crop.number("odds.wet_ground_years_in_ten") if own is None else own
    drawn = field_wet(
        terrain,
        tuple(laid),
        asked.read.fields,
        least_years_in_ten,
        _cleaning(asked.farm),
        terrain.components.set_index("cokey")["compname"],
    )
    whose = "as you chose" if own is not None else "our figure; yours can stand in farm.toml"
    text = (
        "Ground where the crop would stand too wet soon after sowing in "
        f"{least_years_in_ten:g} years of 10 or more is left out ({whose})."
    )
    chosen = (Note(NAME, "info", text),) if simulation is not None else ()
    hollows = [(p, d) for p, d in zip(asked.ponds, days, strict=True) if p is not None]
    unknown = pond_notes([p for p, _ in hollows], [d for _, d in hollows], terrain)
    notes = (*chosen, *drawn.notes, *unknown)
    return (
        drawn.wet_ground,
        notes,
        LaidOdds(
            terrain,
            tuple(laid),
            asked.ponds,
            tuple(days),
            parts,
            odds,
            least_years_in_ten,
        ),
    )


def _pond_odds(
    cells: GroundCells,
    terrain: GroundRead,
    ponds: FieldPonds | None,
    simulation: FarmSimulation | None,
    weeks: pd.DataFrame,
) -> dict[str, np.ndarray]:
    if ponds is None or simulation is None:
        return {}
    here = [terrain.field_ids[i] for i in np.unique(cells.field) if i >= 0]
    asked = tuple(sorted(set(weeks.loc[weeks["field_id"].isin(here), "sow_date"])))
    parts = terrain.parts[terrain.parts["field_id"].isin(here)]
    place = parts.dropna(subset="weather_id").groupby("weather_id")["area_ha"].sum()
    if not asked or place.empty:
        return {}
    return pond_odds(
        simulation.engine,
        ponds.found.curves,
        ponds.found.catchment_ha,
        ponds.height_m,
        ponds.floor,
        ponds.catchment,
        ponds.own_soil,
        str(place.idxmax()),
        asked,
    )


def _cleaning(farm: FarmFile) -> Cleaning:
    asked = farm.wet_ground
    drill_m = asked.drill_m if asked.drill_ft is None else asked.drill_ft * M_PER_FT
    least = asked.smallest_acres
    least_m2 = None if least is None else 10_000 * least / ACRES_PER_HA
    if drill_m is None:
        return cleaning_for(least_wet_m2=least_m2)
    return cleaning_for(drill_m, least_wet_m2=least_m2)
