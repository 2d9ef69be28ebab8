"""The story of a run: read the layers, judge the fields, gather what the pages need."""

from collections.abc import Callable
from datetime import date, datetime
from importlib.metadata import version
from pathlib import Path

from layers.gathered import gathered_note
from layers.ground_picture import read_picture
from maps.assessment import Assessment, Farm, Provenance, SourceFile
from maps.farm_file import FarmFile
from maps.farm_plan import settings_of
from maps.farm_years import farm_years
from maps.for_owner import of_owner, owned_by
from maps.layers_read import LayersRead, Progress, read_layers
from maps.log_seen import log_seen
from maps.second_process import Beside, Here
from suitability.crop import load_crop
from suitability.engine import is_compiled
from suitability.plan_faults import check_wishes


def assess(
    farm: FarmFile,
    progress: Progress,
    owner: str | None = None,
    beside: Beside | None = None,
    meanwhile: Callable[[], None] | None = None,
) -> Assessment:
    """Judge the fields of a farm file; the whole farm, or what is one owner's of it.

    Parameters
    ----------
    beside : where what can be is done while the run goes on; here by default.
    meanwhile : done while the simulation runs, as loading what is needed after it.

    Raises
    ------
    SuitabilityError : anything the user can mend; nothing has been written by then.
    """
    beside = beside or Here()
    if not is_compiled():  # compiling takes a lot of memory in each process that does it
        beside.end()
    read = read_layers(farm, progress, beside)
    metric = farm.farm.units == "metric"
    picture = beside.start(read_picture, read.elevation, read.fields, metric=metric)
    if owner is not None:
        owned_by(read.fields["owner"], owner)  # a wrong name is told before the long work
    if farm.plan is not None:  # and so is a wish that no plan can keep
        ids = tuple(str(i) for i in read.fields["field_id"])
        check_wishes(settings_of(farm.plan, farm.seed), ids)
    crop = load_crop(farm.farm.crop)
    judged = farm_years(farm, read, crop, progress, beside=beside, meanwhile=meanwhile)
    whole = Assessment(
        farm=Farm(
            farm.title,
            farm.farm.state,
            farm.farm.units,
            farm.farm.language,
            online_imagery=farm.map.online_imagery,
        ),
        crop=crop,
        fields=read.fields,
        soil_parts=read.cut.pieces,
        wet_ground=judged.wet_ground,
        parts=judged.parts,
        components=judged.components,
        horizons=read.table("horizons"),
        months=read.table("months"),
        stations=read.stations,
        weather=read.weather,
        level_water=judged.level_water,
        frost=read.frost,
        findings=judged.findings,
        verdicts=judged.verdicts,
        years=judged.years,
        plan=judged.plan.plan,
        calendar=judged.plan.calendar,
        seen=log_seen(farm, read, judged),
        ground=picture(),
        aerial=read.aerial,
        water_seen=judged.water_seen,
        notes=(*read.notes, *judged.notes),
        provenance=_provenance(farm, read, date.today()),
    )
    return whole if owner is None else of_owner(whole, owner)


def _provenance(farm: FarmFile, read: LayersRead, made_on: date) -> Provenance:
    own = [("farm", farm.path)] if farm.path.suffix == ".toml" else []
    files = [_source_file(layer, path) for layer, path in [*own, *farm.input_files]]
    options = {"crop": farm.farm.crop, "units": farm.farm.units}
    if read.survey is not None:
        options["soil survey layout"] = read.survey.layout
    return Provenance(version("summer-gap-fields"), made_on.isoformat(), tuple(files), options)


def _source_file(layer: str, path: Path) -> SourceFile:
    members = [p for p in path.rglob("*") if p.is_file()] if path.is_dir() else [path]
    newest = max((p.stat().st_mtime for p in members), default=0.0)
    size = sum(p.stat().st_size for p in members)
    modified = datetime.fromtimestamp(newest).date().isoformat()
    return SourceFile(layer, path.name, size, modified, gathered_note(path))
