"""Reads every layer that a farm file names into the tables of the contract."""

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from layers.aerial_image import AerialImage, read_aerial
from layers.boundaries import read_fields
from layers.crs import to_working
from layers.drains import drawn_drains, read_drains
from layers.elevation import ElevationRead
from layers.field_log import FILE_NAME, read_log, wet_spots
from layers.frost.field_frost import field_frost
from layers.frost.reader import FrostRead
from layers.frost.stated import Stated
from layers.log_places import in_their_fields
from layers.marks import POINT_RADIUS_M, read_marks
from layers.overlay import Overlay, nothing_surveyed, overlay, with_pieces
from layers.parts import build_parts
from layers.relief import read_heights
from layers.shaped_ground import ShapedGround, shaped_ground
from layers.soil_grid_kinds import SoilGrid
from layers.soil_grids import SoilGridsRead, read_soil_grids
from layers.soil_map.reader import read_soil_survey
from layers.soil_map.survey import LAYER as SOIL
from layers.soil_map.survey import SoilSurvey
from layers.weather.field_weather import field_weather
from layers.weather.reader import WeatherSource
from maps.farm_file import FarmFile, SoilGridTable, WeatherTable
from maps.second_process import Beside, Here
from suitability.columns import FIELDS, KNOWLEDGE, TABLES
from suitability.contract import check, empty
from suitability.errors import InputError, listed
from suitability.notes import Note

Progress = Callable[[str], None]


@dataclass(frozen=True)
class LayersRead:
    """All layers of a farm as read; None where the farm has no survey, soil grid or heights.

    ``shaped`` waits for the shape of the ground, which takes longest and not all ask for.
    ``relief`` has slope and height of each field as ``layers.relief`` gives them, NaN without a
    raster of heights. ``cut`` has the pieces of the survey and, where none is, of the soil grids;
    its cover is that of the survey alone.
    """

    fields: gpd.GeoDataFrame
    survey: SoilSurvey | None
    cut: Overlay
    soil_grids: SoilGridsRead | None
    elevation: ElevationRead | None
    shaped: Callable[[], ShapedGround]
    relief: pd.DataFrame
    parts: pd.DataFrame
    stations: pd.DataFrame
    weather: pd.DataFrame
    frost: pd.DataFrame
    marks: gpd.GeoDataFrame | None
    aerial: AerialImage | None
    notes: tuple[Note, ...]

    def table(self, name: str) -> pd.DataFrame:
        """A table of the survey and of the soil grids beside it, empty where there is neither."""
        tables = [getattr(s, name) for s in (self.survey, self.soil_grids) if s is not None]
        full = [table for table in tables if len(table)]
        return pd.concat(full, ignore_index=True) if full else empty(TABLES[name])


def read_layers(farm: FarmFile, progress: Progress, beside: Beside | None = None) -> LayersRead:
    """Read what the farm file names; every layer but the fields may be absent.

    Parameters
    ----------
    beside : where heights can be read and worked on while the rest is read; here by default.

    Raises
    ------
    InputError, CrsError, ColumnError : a file that cannot be used.
    """
    progress("Reading the fields")
    fields, notes = _fields(farm)
    beside = beside or Here()
    place = fields[["field_id", "lon_deg", "lat_deg", "area_ha", "geometry"]]
    asked = farm.elevation
    file, unit = (None, None) if asked is None else (asked.file, asked.vertical_unit)
    heights = beside.start(read_heights, file, place, vertical_unit=unit)
    survey = None
    cut = nothing_surveyed(fields)
    if farm.soil is None and not farm.soil_grid:
        text = "No soil survey was given: soil, wetness and pH are not known."
        notes.append(Note(SOIL, "warning", text))
    elif farm.soil is not None:
        progress("Reading the soil survey")
        survey = read_soil_survey(farm.soil.file)
        notes.extend(survey.notes)
        progress("Laying the soil map over the fields")
        cut = overlay(fields, to_working(survey.map_units, fields.crs))
        notes.extend(cut.notes)
    fields = fields.join(cut.soil_cover_pct.rename("soil_cover_pct"), on="field_id")
    soil_grids = None
    if farm.soil_grid:
        progress("Reading the soil grids")
        soil_grids = read_soil_grids([_soil_grid(t) for t in farm.soil_grid], fields, cut)
        notes.extend(soil_grids.notes)
        cut = with_pieces(cut, soil_grids.pieces)
    soils = [s.components for s in (survey, soil_grids) if s is not None and len(s.components)]
    components = pd.concat(soils, ignore_index=True) if soils else empty(TABLES["components"])
    if farm.elevation is not None:
        progress("Reading the heights of the ground")
    elevation, relief = heights()
    if elevation is not None:
        notes.extend(elevation.notes)
    marks, drains, of_marks = _marks(farm, fields, progress)
    shaped = beside.start(shaped_ground, elevation, place, drains)
    height_m = relief.set_index("field_id")["elevation_m"]
    progress("Reading the weather")
    weather = field_weather([_weather_source(table) for table in farm.weather], fields, height_m)
    notes.extend(weather.notes)
    parts = build_parts(fields, cut, components, weather.weather_id)
    progress("Reading the freeze dates")
    frost = _frost(farm, fields, weather.weather, parts)
    notes.extend(frost.notes)
    notes.extend(of_marks)
    aerial = None
    if farm.aerial_image is not None:
        progress("Reading your aerial image")
        aerial = read_aerial(farm.aerial_image.file, fields)
        notes.extend(aerial.notes)
    return LayersRead(
        fields=fields,
        survey=survey,
        cut=cut,
        soil_grids=soil_grids,
        elevation=elevation,
        shaped=shaped,
        relief=relief,
        parts=parts,
        stations=weather.stations,
        weather=weather.weather,
        frost=frost.frost,
        marks=marks,
        aerial=aerial,
        notes=tuple(notes),
    )


def _marks(
    farm: FarmFile, fields: gpd.GeoDataFrame, progress: Progress
) -> tuple[gpd.GeoDataFrame | None, gpd.GeoDataFrame | None, list[Note]]:
    """The grower's marks with what the field log adds, and all drains that were drawn."""
    marks = None
    lines = []
    notes: list[Note] = []
    if farm.elevation is not None and farm.elevation.culverts is not None:
        lines.append(read_drains(farm.elevation.culverts, fields.crs))
    if farm.marks is not None:
        progress("Reading your marks")
        reach_m = farm.marks.radius_m or POINT_RADIUS_M
        marks, told = read_marks(farm.marks.file, fields, point_radius_m=reach_m)
        notes.extend(told)
    marks = _with_logged_spots(farm, marks, fields, notes)
    if marks is not None:
        lines.append(drawn_drains(marks))
    lines = [table for table in lines if len(table)]
    drains = gpd.GeoDataFrame(pd.concat(lines, ignore_index=True)) if lines else None
    return marks, drains, notes


def _soil_grid(table: SoilGridTable) -> SoilGrid:
    return SoilGrid(
        table.file,
        table.property,
        table.unit,
        table.scale,
        table.from_cm,
        table.to_cm,
        table.classes or {},
    )


def _weather_source(table: WeatherTable) -> WeatherSource:
    return WeatherSource(
        table.file,
        table.lat,
        table.lon,
        table.elevation_m,
        table.temperature_unit,
        table.precip_unit,
    )


def _frost(
    farm: FarmFile, fields: gpd.GeoDataFrame, weather: pd.DataFrame, parts: pd.DataFrame
) -> FrostRead:
    if farm.frost is None:
        return field_frost(None, Stated(), fields, weather, parts)
    stated = Stated(**farm.frost.model_dump(exclude={"file"}))
    return field_frost(farm.frost.file, stated, fields, weather, parts)


def _with_logged_spots(
    farm: FarmFile, marks: gpd.GeoDataFrame | None, fields: gpd.GeoDataFrame, notes: list[Note]
) -> gpd.GeoDataFrame | None:
    """Marks of the file and wet spots of the field log, which lies beside the farm file."""
    log = read_log(farm.path.parent / FILE_NAME)
    own = None if farm.marks is None else farm.marks.radius_m
    strange = sorted(set(log["field_id"]) - set(fields["field_id"]))
    if strange:
        text = f"Lines of your field log name fields that are not there: {', '.join(strange)}."
        notes.append(Note("field log", "caution", text))
    placed = in_their_fields(log, fields)
    if not placed.all():
        days = ", ".join(f"{row.day} ({row.field_id})" for row in log[~placed].itertuples())
        text = (
            f"Places of your field log that lie outside the field they name do not count: {days}."
        )
        notes.append(Note("field log", "caution", text))
    spots = wet_spots(log[placed], fields, own or POINT_RADIUS_M)
    if not len(spots):
        return marks
    text = f"{len(spots)} wet spots of your field log count as your marks."
    notes.append(Note("marks", "info", text))
    if marks is None:
        return spots
    return gpd.GeoDataFrame(pd.concat([marks, spots], ignore_index=True), crs=fields.crs)


def fields_of(farm: FarmFile) -> gpd.GeoDataFrame:
    """The fields of a farm with what the grower knows, and nothing else read."""
    return _fields(farm)[0]


def _fields(farm: FarmFile) -> tuple[gpd.GeoDataFrame, list[Note]]:
    """The fields with what the grower knows: the field's own table first, then its columns."""
    asked = farm.fields
    fields, notes = read_fields(
        asked.file,
        layer=asked.layer,
        id_column=asked.id,
        name_column=asked.name,
        owner_column=asked.owner,
        knowledge_columns=farm.column_names,
    )
    strangers = sorted(set(farm.known_of) - set(fields["field_id"]))
    if strangers:
        faults = [f"[field.{s}]: there is no field with this id" for s in strangers]
        remedy = f"The ids are: {', '.join(fields['field_id'].head(20))}."
        raise InputError(listed(f"{farm.path.name} cannot be used", faults, remedy))
    for field_id, known in farm.known_of.items():
        row = fields.index[fields["field_id"] == field_id]
        for column, value in known.items():
            if fields[column].dtype != object:
                fields[column] = fields[column].astype(object)
            fields.loc[row, column] = value
    silent = fields["herbicide_product"].isna() & fields["herbicide_date"].isna()
    for column, value in (("gap_opens", farm.gap.opens), ("gap_closes", farm.gap.closes)):
        if value is not None:
            fields[column] = fields[column].astype(object).where(fields[column].notna(), value)
    if farm.herbicide is not None:
        told = {"product": farm.herbicide.product, "date": farm.herbicide.date}
        for column, value in told.items():
            own = fields[f"herbicide_{column}"].astype(object)
            fields[f"herbicide_{column}"] = own.mask(silent, value)
    for known_column in KNOWLEDGE:
        if known_column.kind == "number":
            fields[known_column.name] = pd.to_numeric(fields[known_column.name])
        elif known_column.kind == "date":
            fields[known_column.name] = pd.to_datetime(fields[known_column.name])
    check(pd.DataFrame(fields.drop(columns="geometry")), FIELDS, farm.path.name)
    notes.extend(_gap_notes(fields))
    return fields, notes


def _gap_notes(fields: gpd.GeoDataFrame) -> list[Note]:
    lacking = fields.loc[fields["gap_opens"].isna() | fields["gap_closes"].isna(), "field_id"]
    if not len(lacking):
        return []
    text = (
        f"For {len(lacking)} of {len(fields)} fields no gap (opening and closing day) was given: "
        "how long the season is, and how wet the ground stands in it, is not known."
    )
    return [Note("gap", "warning", text, tuple(lacking))]
