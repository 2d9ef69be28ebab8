"""From layers to verdicts: rules, years, wet ground on the map, and the years of what is left."""

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import date

import geopandas as gpd
import pandas as pd

from layers.field_ponds import ponds_of_groups
from layers.ground import GroundRead, ground_of
from layers.ground_cells import lean
from layers.level_water import level_water
from maps.farm_file import FarmFile
from maps.farm_wet import farm_wet, seen_from_above
from maps.layers_read import LayersRead, Progress
from maps.plan_run import Planned, planned
from maps.second_process import Beside, Here
from suitability.columns import FINDINGS, VERDICTS
from suitability.contract import check
from suitability.counted import counted, recounted
from suitability.crop import Crop
from suitability.findings import find
from suitability.flowering_dates import flowering_columns
from suitability.freeze_columns import freeze_columns
from suitability.ground import ground
from suitability.notes import Note
from suitability.verdict import judge
from suitability.warm_columns import warm_columns
from suitability.works import by_years, left_out_against_years, two_classes_apart
from suitability.years import Years, farm_simulating, shifted_runs, years_of


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
    water_seen: pd.DataFrame | None


def farm_years(
    farm: FarmFile,
    read: LayersRead,
    crop: Crop,
    progress: Progress,
    *,
    how_far: bool = True,
    beside: Beside | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> FarmYears:
    """Judge all fields of a farm.

    Parameters
    ----------
    how_far : look how far the answer moves if we are wrong; costs a third of the simulation.
    beside : where what can be is done while the rest goes on; here by default.
    meanwhile : done while the simulation runs.

    Notes
    -----
    The recommended week is chosen on whole parts. Wet ground is drawn at that week; then the
    ground that is left is counted again and judged.
    """
    beside = beside or Here()
    progress("Looking when the soil is warm")
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    fields = fields.join(freeze_columns(read.frost), on="field_id")
    fields = fields.join(warm_columns(read.parts, read.weather, read.stations, crop), on="field_id")
    progress("Reading the lie of the land")
    terrain = _terrain(read)
    ponds = beside.start(ponds_of_groups, terrain)
    tables = {"horizons": read.table("horizons"), "months": read.table("months")}
    tables["components"] = terrain.components
    progress("Judging the fields")
    daily = {**tables, "stations": read.stations, "weather": read.weather}
    placed = terrain.placed["cokey"]
    with farm_simulating(fields, terrain.parts, daily, crop, progress, placed) as simulated:
        parts = ground(fields, terrain.parts, **tables)
        findings = check(find(parts, crop), FINDINGS, "The table of findings")
        counts = counted(parts, findings, crop)
        if meanwhile is not None:
            meanwhile()
        simulation = simulated()
    years = running = None
    with ExitStack() as runs:
        if simulation is not None:
            years = years_of(simulation, counts.parts, findings, fields, crop)
            if how_far:
                shifted = shifted_runs(simulation, years.best["sow_date"], crop)
                running = runs.enter_context(shifted)
        progress("Drawing the wet ground")
        state = counts.shares.state
        wet = farm_wet(
            farm,
            read,
            terrain,
            ponds(),
            simulation,
            pd.Series(dtype=object) if years is None else years.best["sow_date"],
            pd.DataFrame(columns=["field_id", "sow_date"]) if years is None else years.weeks,
            counts.shares.wet_units,
            state[state.isin(["wet placed", "wet unplaced"])].index.to_frame(index=False),
            crop,
            beside,
        )
        moved = None if running is None else running()
    seen = seen_from_above(farm, wet.wet_ground, read.fields)
    notes = wet.notes if seen is None else (*wet.notes, *seen.notes)
    if wet.wet_pct is not None:
        counts = recounted(
            counts,
            parts,
            wet.wet_pct,
            crop,
            placed,
            wet.never_wet_pct,
        )
    judged = judge(fields, counts, findings, crop, date.today().year)
    verdicts = judged.verdicts
    if simulation is not None and years is not None:
        if how_far:
            progress("Looking how far the answer moves")
        week = years.best["sow_date"]
        years = years_of(simulation, counts.parts, findings, fields, crop, week, moved)
        lat_deg = fields.set_index("field_id")["lat_deg"]
        flowers = flowering_columns(years, lat_deg, farm.seed.type, crop)
        verdicts = by_years(judged, years, crop).set_index("field_id")
        verdicts = verdicts.assign(**flowers).reset_index()
        apart = (*two_classes_apart(verdicts), *left_out_against_years(judged, years, crop))
        notes = (*notes, *years.notes, *apart)
    made = planned(
        farm, fields, verdicts, judged.sowable_ha, counts, findings, years, crop, progress
    )
    if years is not None and wet.weeks is not None:
        years = replace(years, wet=wet.weeks())
    return FarmYears(
        parts=terrain.parts,
        components=terrain.components,
        findings=findings,
        verdicts=check(verdicts, VERDICTS, "The table of verdicts"),
        years=years,
        wet_ground=wet.wet_ground,
        level_water=level_water(terrain, read.fields),
        plan=made,
        notes=(*terrain.notes, *notes, *made.notes),
        water_seen=None if seen is None else seen.by_field,
    )


def _terrain(read: LayersRead) -> GroundRead:
    weather_id = read.parts.drop_duplicates("field_id").set_index("field_id")["weather_id"]
    told = ground_of(
        read.fields,
        read.cut,
        None if read.survey is None else read.survey.map_units,
        read.table("components"),
        read.shaped(),
        weather_id=weather_id,
    )
    return replace(told, cells=tuple(lean(cells) for cells in told.cells))
