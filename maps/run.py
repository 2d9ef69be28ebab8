"""The story of a run: read the layers, judge the fields, write what people open."""

from collections.abc import Callable
from datetime import date, datetime
from importlib.metadata import version
from pathlib import Path

import pandas as pd

from layers.gathered import gathered_note
from layers.wet_ground import wet_ground_of_units
from maps.assessment import Assessment, Farm, Provenance, SourceFile
from maps.exports import write_fields_csv, write_zones
from maps.farm_file import FarmFile
from maps.layers_read import LayersRead, Progress, read_layers
from maps.phone_files import write_gpx, write_kml
from maps.report import write_report
from maps.report_pdf import write_pdf
from maps.web_map import write_map
from suitability.columns import FINDINGS, VERDICTS
from suitability.contract import check
from suitability.counted import counted
from suitability.crop import load_crop
from suitability.findings import find
from suitability.flowering_dates import flowering_columns
from suitability.freeze_columns import freeze_columns
from suitability.ground import ground
from suitability.verdict import judge
from suitability.warm_columns import warm_columns
from suitability.works import by_years
from suitability.years import years_of_farm

_WRITERS: tuple[tuple[str, str, Callable[[Assessment, Path], None]], ...] = (
    ("map.html", "Drawing the map", write_map),
    ("report.html", "Writing the report", write_report),
    ("report.pdf", "Writing the report as PDF", write_pdf),
    ("fields.csv", "Writing the table of fields", write_fields_csv),
    ("zones.gpkg", "Writing the shapes", write_zones),
    ("zones.kml", "Writing the shapes for map apps", write_kml),
    ("zones.gpx", "Writing the wet ground to walk to", write_gpx),
)


def assess(farm: FarmFile, progress: Progress) -> Assessment:
    """Judge the fields of a farm file.

    Raises
    ------
    SuitabilityError : anything the user can mend; nothing has been written by then.
    """
    read = read_layers(farm, progress)
    progress("Judging the fields")
    crop = load_crop(farm.farm.crop)
    tables = {name: read.table(name) for name in ("components", "horizons", "months")}
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    fields = fields.join(freeze_columns(read.frost), on="field_id")
    warm = warm_columns(read.parts, read.weather, read.stations, crop)
    fields = fields.join(warm, on="field_id")
    parts = ground(fields, read.parts, **tables)
    findings = check(find(parts, crop), FINDINGS, "The table of findings")
    made_on = date.today()
    counts = counted(parts, findings, crop)
    judged = judge(fields, counts, findings, crop, made_on.year)
    daily = {**tables, "stations": read.stations, "weather": read.weather}
    years = years_of_farm(fields, read.parts, counts, findings, daily, crop, progress)
    verdicts = judged.verdicts if years is None else by_years(judged, years, crop)
    if years is not None:
        lat_deg = fields.set_index("field_id")["lat_deg"]
        flowers = flowering_columns(years, lat_deg, farm.seed.type, crop)
        verdicts = verdicts.set_index("field_id").assign(**flowers).reset_index()
    return Assessment(
        farm=Farm(farm.title, farm.farm.state, farm.farm.units),
        crop=crop,
        fields=read.fields,
        soil_parts=read.cut.pieces,
        wet_ground=wet_ground_of_units(read.cut.pieces, judged.wet_units),
        parts=read.parts,
        **tables,
        stations=read.stations,
        weather=read.weather,
        frost=read.frost,
        findings=findings,
        verdicts=check(verdicts, VERDICTS, "The table of verdicts"),
        years=years,
        notes=read.notes if years is None else (*read.notes, *years.notes),
        provenance=_provenance(farm, read, made_on),
    )


def write_all(
    assessment: Assessment, out_dir: Path, *, tables: bool, progress: Progress
) -> list[Path]:
    """Write every output into an existing folder; returns the paths.

    Parameters
    ----------
    tables : write the tables behind the answer (findings.csv) too.
    """
    written = []
    for name, step, write in _WRITERS:
        progress(step)
        write(assessment, out_dir / name)
        written.append(out_dir / name)
    if tables:
        assessment.findings.to_csv(out_dir / "findings.csv", index=False)
        written.append(out_dir / "findings.csv")
    return written


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
