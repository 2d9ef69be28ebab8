"""From layers to verdicts: rules, years, wet ground on the map, and the years of what is left."""

from dataclasses import dataclass
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.drains import read_drains
from layers.field_ponds import field_ponds
from layers.field_wet import field_wet, wet_pct_of_parts
from layers.ground import GroundRead, ground_of
from layers.level_water import level_water
from layers.marked_ground import apply_marks
from layers.wet_cells import wet_cells
from layers.wet_ground import wet_ground_of_units
from layers.wet_shapes import cleaning_for
from maps.farm_file import FarmFile
from maps.layers_read import LayersRead, Progress
from maps.plan_run import Planned, planned
from suitability.columns import FINDINGS, VERDICTS
from suitability.contract import check
from suitability.counted import counted, recounted
from suitability.crop import Crop
from suitability.findings import find
from suitability.flowering_dates import flowering_columns
from suitability.freeze_columns import freeze_columns
from suitability.ground import ground
from suitability.notes import Note
from suitability.verdict import Judgement, judge
from suitability.warm_columns import warm_columns
from suitability.wet_odds import part_odds, pond_odds
from suitability.works import by_years, two_classes_apart
from suitability.years import FarmSimulation, Years, simulate_farm, years_of


@dataclass(frozen=True)
class FarmYears:
    """What the assessment takes over from here."""

    parts: pd.DataFrame
    components: pd.DataFrame
    findings: pd.DataFrame
    verdicts: pd.DataFrame
    years: Years | None
    wet_ground: gpd.GeoDataFrame
    level_water: gpd.GeoDataFrame
    plan: Planned
    notes: tuple[Note, ...]


def farm_years(farm: FarmFile, read: LayersRead, crop: Crop, progress: Progress) -> FarmYears:
    """Judge all fields of a farm.

    The recommended week is chosen on whole parts. Wet ground is drawn at that week; then the
    ground that is left is counted again and judged.
    """
    progress("Reading the lie of the land")
    terrain = _terrain(farm, read)
    tables = {"horizons": read.table("horizons"), "months": read.table("months")}
    tables["components"] = terrain.components
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    fields = fields.join(freeze_columns(read.frost), on="field_id")
    fields = fields.join(
        warm_columns(terrain.parts, read.weather, read.stations, crop), on="field_id"
    )
    progress("Judging the fields")
    year = date.today().year
    parts = ground(fields, terrain.parts, **tables)
    findings = check(find(parts, crop), FINDINGS, "The table of findings")
    counts = counted(parts, findings, crop)
    judged = judge(fields, counts, findings, crop, year)
    daily = {**tables, "stations": read.stations, "weather": read.weather}
    simulation = simulate_farm(
        fields, terrain.parts, daily, crop, progress, at_home=terrain.placed["cokey"]
    )
    years = None
    if simulation is not None:
        years = years_of(simulation, counts.parts, findings, fields, crop, how_far=False)
    progress("Drawing the wet ground")
    wet, notes = _wet_ground(farm, read, terrain, simulation, years, judged, crop)
    wet_pct = wet_pct_of_parts(terrain, wet, terrain.parts)
    if len(wet_pct):
        counts = recounted(counts, parts, findings, wet_pct, crop)
        judged = judge(fields, counts, findings, crop, year)
    verdicts = judged.verdicts
    if simulation is not None and years is not None:
        progress("Looking how far the answer moves")
        week = years.best["sow_date"]
        years = years_of(simulation, counts.parts, findings, fields, crop, week)
        lat_deg = fields.set_index("field_id")["lat_deg"]
        flowers = flowering_columns(years, lat_deg, farm.seed.type, crop)
        verdicts = by_years(judged, years, crop).set_index("field_id")
        verdicts = verdicts.assign(**flowers).reset_index()
        notes = (*notes, *years.notes, *two_classes_apart(verdicts))
    made = planned(
        farm, fields, verdicts, judged.sowable_ha, counts, findings, years, crop, progress
    )
    return FarmYears(
        parts=terrain.parts,
        components=terrain.components,
        findings=findings,
        verdicts=check(verdicts, VERDICTS, "The table of verdicts"),
        years=years,
        wet_ground=wet,
        level_water=level_water(terrain, read.fields),
        plan=made,
        notes=(*terrain.notes, *notes, *made.notes),
    )


def _terrain(farm: FarmFile, read: LayersRead) -> GroundRead:
    lines = None
    if farm.elevation is not None and farm.elevation.culverts is not None:
        lines = read_drains(farm.elevation.culverts, read.fields.crs)
    weather_id = read.parts.drop_duplicates("field_id").set_index("field_id")["weather_id"]
    return ground_of(
        read.fields,
        read.cut,
        None if read.survey is None else read.survey.map_units,
        read.table("components"),
        read.elevation,
        drains=lines,
        weather_id=weather_id,
    )


def _wet_ground(
    farm: FarmFile,
    read: LayersRead,
    terrain: GroundRead,
    simulation: FarmSimulation | None,
    years: Years | None,
    judged: Judgement,
    crop: Crop,
) -> tuple[gpd.GeoDataFrame, tuple[Note, ...]]:
    """Wet ground of all fields: by odds where there are heights, else along the soil map."""
    notes: tuple[Note, ...] = ()
    if terrain.cells:
        sow_date = pd.Series(dtype=object) if years is None else years.best["sow_date"]
        odds = terrain.parts.assign(years_in_ten=np.nan)
        if simulation is not None:
            table = simulation.parts.merge(
                terrain.parts.drop(columns="weather_id"),
                on=["field_id", "mukey", "cokey", "position", "drained"],
            )
            odds = part_odds(simulation.main, table, sow_date, crop)
        laid = []
        for cells in terrain.cells:
            ponds = field_ponds(cells, terrain)
            found = {}
            if ponds is not None and simulation is not None:
                here = sorted({terrain.field_ids[i] for i in np.unique(cells.field) if i >= 0})
                weeks = tuple(sorted(set(sow_date.reindex(here).dropna())))
                place = terrain.parts.loc[
                    terrain.parts["field_id"].isin(here), "weather_id"
                ].dropna()
                if weeks and len(place):
                    found = pond_odds(
                        simulation.engine,
                        ponds.found.curves,
                        ponds.found.catchment_ha,
                        ponds.height_m,
                        ponds.floor,
                        ponds.catchment,
                        ponds.own_soil,
                        str(place.mode().iloc[0]),
                        weeks,
                    )
            laid.append(wet_cells(cells, terrain, odds, ponds, found, sow_date, judged.wet_units))
        drawn = field_wet(
            terrain,
            tuple(laid),
            read.fields,
            crop.number("odds.wet_ground_years_in_ten"),
            cleaning_for(),
            terrain.components.set_index("cokey")["compname"],
        )
        wet, notes = drawn.wet_ground, drawn.notes
    else:
        wet = wet_ground_of_units(read.cut.pieces, judged.wet_units)
    if read.marks is not None:
        wet, said = apply_marks(wet, read.marks, read.fields)
        notes = (*notes, *said)
    return wet, notes
