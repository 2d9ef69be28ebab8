"""What the grower states in farm.toml: which files, which farm, and what they know of a field."""

import datetime
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeAlias

from pydantic import BeforeValidator, PrivateAttr, ValidationError, create_model
from pydantic import Field as Declared

from layers.local_path import local_file, local_path
from layers.soil_grid_kinds import DEEPEST_CM, KINDS
from layers.soil_grid_kinds import UNITS as SOIL_UNITS
from maps import farm_faults
from maps import farm_values as values
from maps.farm_pictures import AerialImageTable, MapTable, WaterSeenTable
from maps.farm_plan import PlanTable, PricesTable, SeedTable
from maps.farm_table import Table as _Table
from maps.toml_text import Place, read_toml
from maps.words import languages
from suitability.columns import FROST_EVENTS, KNOWLEDGE
from suitability.crop import crop_names
from suitability.errors import InputError

DEFAULTS: dict[str, str] = tomllib.loads(
    (files("maps") / "templates" / "defaults.toml").read_text("utf-8")
)
UNITS = ("us", "metric")


def _crop(value: Any) -> str:
    name = values.text(value)
    if name not in crop_names():
        raise ValueError(f"no crop {name!r}; {values.nearest(name, crop_names())}")
    return name


AnyPath = Annotated[Path, BeforeValidator(values.path_to(folder_ok=True))]
FilePath = Annotated[Path, BeforeValidator(values.path_to(folder_ok=False))]
Paths = Annotated[tuple[Path, ...], BeforeValidator(values.paths)]
Text = Annotated[str, BeforeValidator(values.text)]
MonthDay = Annotated[str, BeforeValidator(values.month_day)]


class FarmTable(_Table):
    """[farm]: the farm as a whole."""

    name: Text | None = None
    crop: Annotated[str, BeforeValidator(_crop)] = DEFAULTS["crop"]
    units: Annotated[Literal["us", "metric"], BeforeValidator(values.choice(*UNITS))] = (
        "metric" if DEFAULTS["units"] == "metric" else "us"
    )
    language: Annotated[str, BeforeValidator(values.choice(*languages()))] = DEFAULTS["language"]
    state: Annotated[str, BeforeValidator(values.state)] = ""


def _of_knowledge(name: str, types: dict[str, Any]) -> Any:
    keys: dict[str, Any] = {key: (type_, None) for key, type_ in types.items()}
    return create_model(name, __base__=_Table, **keys)


if TYPE_CHECKING:  # the real classes have one key for each declared column
    Knowledge: TypeAlias = _Table
    ColumnNames: TypeAlias = _Table
else:
    # What the grower knows of one field; None where nothing is said.
    Knowledge = _of_knowledge(
        "Knowledge",
        {c.name: Annotated[Any, BeforeValidator(values.knowledge(c))] for c in KNOWLEDGE},
    )
    # In which column of the boundary file the same stands.
    ColumnNames = _of_knowledge("ColumnNames", {c.name: Text for c in KNOWLEDGE})


class FieldsTable(_Table):
    """[fields]: the boundary file, its layer, and the names of its columns."""

    file: AnyPath
    layer: Text | None = None
    id: Text | None = None
    name: Text | None = None
    owner: Text | None = None
    columns: ColumnNames = ColumnNames()


class SoilTable(_Table):
    """[soil]: the soil survey, a file, folder or zip."""

    file: AnyPath


class ElevationTable(_Table):
    """[elevation]: heights, their unit where they do not say, and lines that let water through."""

    file: Paths
    vertical_unit: (
        Annotated[Literal["m", "ft"], BeforeValidator(values.choice("m", "ft"))] | None
    ) = None
    culverts: FilePath | None = None


class WeatherTable(_Table):
    """[weather]: a daily file; where it lies and its units, where the file does not say."""

    file: FilePath
    lat: Annotated[float, BeforeValidator(values.number(-90, 90, "degrees"))] | None = None
    lon: Annotated[float, BeforeValidator(values.number(-180, 180, "degrees"))] | None = None
    elevation_m: Annotated[float, BeforeValidator(values.number(-450, 6000, "m"))] | None = None
    temperature_unit: (
        Annotated[
            Literal["c", "f", "tenths_c"], BeforeValidator(values.choice("c", "f", "tenths_c"))
        ]
        | None
    ) = None
    precip_unit: (
        Annotated[
            Literal["mm", "in", "tenths_mm"],
            BeforeValidator(values.choice("mm", "in", "tenths_mm")),
        ]
        | None
    ) = None


class FrostTable(_Table):
    """[frost]: a file of freeze dates; what it is of, where the file does not say."""

    file: AnyPath
    station: Text | None = None
    event: (
        Annotated[
            Literal["last_spring", "first_autumn", "season"],
            BeforeValidator(values.choice(*FROST_EVENTS)),
        ]
        | None
    ) = None
    threshold_c: Annotated[float, BeforeValidator(values.number(-20, 10, "degrees C"))] | None = (
        None
    )
    prob_pct: Annotated[float, BeforeValidator(values.number(1, 99, "per cent"))] | None = None
    dates_as: (
        Annotated[Literal["doy", "mmdd"], BeforeValidator(values.choice("doy", "mmdd"))] | None
    ) = None


class SoilGridTable(_Table):
    """[[soil_grid]]: a raster of one soil property, and what its numbers mean."""

    file: FilePath
    property: Annotated[str, BeforeValidator(values.choice(*KINDS))]
    unit: Annotated[str, BeforeValidator(values.choice(*SOIL_UNITS))] | None = None
    scale: Annotated[float, BeforeValidator(values.number(1e-6, 1e6, ""))] | None = None
    from_cm: Annotated[float, BeforeValidator(values.number(0, DEEPEST_CM, "cm"))] | None = None
    to_cm: Annotated[float, BeforeValidator(values.number(0, DEEPEST_CM, "cm"))] | None = None
    classes: Annotated[dict[float, str], BeforeValidator(values.classes)] | None = None


class MarksTable(_Table):
    """[marks]: a file of spots the grower marked, and how far a point in it reaches."""

    file: FilePath
    radius_m: Annotated[float, BeforeValidator(values.number(1, 1000, "m"))] | None = None


class WetGroundTable(_Table):
    """[wet_ground]: the drill's width, how wet is too wet, and the smallest spot to go round."""

    drill_ft: Annotated[float, BeforeValidator(values.number(3, 120, "ft"))] | None = None
    drill_m: Annotated[float, BeforeValidator(values.number(1, 40, "m"))] | None = None
    years_in_ten: Annotated[float, BeforeValidator(values.number(0.5, 10, "years"))] | None = None
    smallest_acres: Annotated[float, BeforeValidator(values.number(0, 20, "acres"))] | None = None


class GapTable(_Table):
    """[gap]: from when to when the fields are free, MM-DD."""

    opens: MonthDay | None = None
    closes: MonthDay | None = None


class HerbicideTable(_Table):
    """[herbicide]: of all fields that do not say themselves; "none" where none was put on."""

    product: Text
    date: Annotated[datetime.date, BeforeValidator(values.day)] | None = None


class FarmFile(_Table):
    """A farm file, read and checked; tables it does not have are None or empty.

    ``field`` holds by field id what the grower knows; ``known_of`` gives it as a plain dict.
    """

    farm: FarmTable = FarmTable()
    fields: FieldsTable
    soil: SoilTable | None = None
    soil_grid: tuple[SoilGridTable, ...] = ()
    elevation: ElevationTable | None = None
    weather: tuple[WeatherTable, ...] = ()
    frost: FrostTable | None = None
    marks: MarksTable | None = None
    wet_ground: WetGroundTable = WetGroundTable()
    water_seen: WaterSeenTable | None = None
    aerial_image: AerialImageTable | None = None
    map: MapTable = MapTable()
    gap: GapTable = GapTable()
    herbicide: HerbicideTable | None = None
    seed: SeedTable = SeedTable()
    prices: PricesTable = PricesTable()
    plan: PlanTable | None = None
    field: dict[str, Knowledge] = Declared(default_factory=dict)
    _path: Path = PrivateAttr(default=Path())

    @property
    def path(self) -> Path:
        """The farm file itself; the boundary file where there is no farm file."""
        return self._path

    @property
    def title(self) -> str:
        """The farm's name, else the name of the file, or of its folder where it is a farm.toml."""
        if self.farm.name:
            return self.farm.name
        return self._path.parent.name if self._path.stem == "farm" else self._path.stem

    @property
    def known_of(self) -> dict[str, dict[str, Any]]:
        """By field id: the columns of KNOWLEDGE that the grower states, with their values."""
        return {id_: table.model_dump(exclude_none=True) for id_, table in self.field.items()}

    @property
    def column_names(self) -> dict[str, str]:
        """By column of KNOWLEDGE: the column of the boundary file that holds it."""
        names: dict[str, str] = self.fields.columns.model_dump(exclude_none=True)
        return names

    @property
    def input_files(self) -> tuple[tuple[str, Path], ...]:
        """Layer and path of every file the farm names, in reading order."""
        named = [
            ("fields", (self.fields,)),
            ("soil", (self.soil,)),
            ("soil_grid", self.soil_grid),
            ("elevation", (self.elevation,)),
            ("weather", self.weather),
            ("frost", (self.frost,)),
            ("marks", (self.marks,)),
            ("water_seen", (self.water_seen,)),
            ("aerial_image", (self.aerial_image,)),
        ]
        culverts = self.elevation.culverts if self.elevation else None
        return tuple(
            (layer, path)
            for layer, tables in named
            for table in tables
            if table is not None
            for path in (table.file if isinstance(table.file, tuple) else (table.file,))
        ) + ((("culverts", culverts),) if culverts else ())

    def with_units(self, units: Literal["us", "metric"]) -> "FarmFile":
        """Return the same farm, to be shown in other units."""
        return self.model_copy(update={"farm": self.farm.model_copy(update={"units": units})})

    def with_language(self, language: str) -> "FarmFile":
        """Return the same farm, to be told in another language."""
        told = self.farm.model_copy(update={"language": language})
        return self.model_copy(update={"farm": told})


TABLES: dict[str, type[_Table]] = {
    "farm": FarmTable,
    "fields": FieldsTable,
    "soil": SoilTable,
    "soil_grid": SoilGridTable,
    "elevation": ElevationTable,
    "weather": WeatherTable,
    "frost": FrostTable,
    "marks": MarksTable,
    "wet_ground": WetGroundTable,
    "water_seen": WaterSeenTable,
    "aerial_image": AerialImageTable,
    "map": MapTable,
    "gap": GapTable,
    "herbicide": HerbicideTable,
    "seed": SeedTable,
    "prices": PricesTable,
    "plan": PlanTable,
    "field": Knowledge,
}


def farm_file_for(path: Path) -> FarmFile:
    """Read the farm file at ``path``, or make a farm of nothing but a boundary file.

    Raises
    ------
    InputError : as ``read_farm_file``; or the boundary file is not a plain, existing file.
    """
    if path.suffix.lower() == ".toml":
        return read_farm_file(path)
    if path.is_dir() and (path / "farm.toml").is_file():
        return read_farm_file(path / "farm.toml")
    folder_of_layers = path.suffix.lower() == ".gdb"
    file = local_path(path) if folder_of_layers else local_file(path)
    farm = FarmFile.model_construct(fields=FieldsTable.model_construct(file=file))
    farm._path = file
    return farm


def read_farm_file(path: Path) -> FarmFile:
    """Read and check a farm.toml; paths in it are relative to it.

    Raises
    ------
    InputError : not readable, not TOML, or any number of faults, all in one message with lines.
    """
    document, lines = read_toml(path)
    faults: list[tuple[Place, str]] = []
    document = _with_lists(document)
    try:
        farm = FarmFile.model_validate(document, context={"folder": path.resolve().parent})
    except ValidationError as error:
        faults = [farm_faults.in_words(e, TABLES) for e in error.errors()]
    faults += farm_faults.between(document, path.resolve().parent)
    if faults:
        raise InputError(farm_faults.message(path, faults, lines))
    farm._path = path.resolve()
    return farm


def _with_lists(document: dict[str, Any]) -> dict[str, Any]:
    """Weather and soil grids as lists of tables.

    Weather may be one table, a table with a list of files, or a list of names.
    """
    grids = document.get("soil_grid", [])
    if isinstance(grids, dict):
        document = {**document, "soil_grid": [grids]}
    weather = document.get("weather", [])
    if isinstance(weather, dict):
        names = weather.get("file")
        if isinstance(names, list):
            weather = [{**weather, "file": name} for name in names]
        else:
            weather = [weather]
    if isinstance(weather, list):
        weather = [{"file": w} if isinstance(w, str) else w for w in weather]
    return {**document, "weather": weather}
