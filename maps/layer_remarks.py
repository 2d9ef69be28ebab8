"""What each layer of a farm holds, covers and lacks, and what it is worth; nothing is scored."""

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from layers.aerial_image import NAME as AERIAL
from layers.elevation import NAME as ELEVATION
from layers.marks import DRAIN
from layers.marks import NAME as MARKS
from layers.soil_grids import NAME as GRID
from layers.soil_map.survey import LAYER as SOIL
from layers.sound_fields import NAME as FIELDS
from layers.water_seen import NAME as WATER_SEEN
from maps.farm_file import FarmFile
from maps.layers_read import LayersRead
from maps.legend import M_PER_FT, Legend
from maps.words import load_words
from suitability.columns import KNOWLEDGE
from suitability.notes import Note

_WHOLE_PCT = 99.0  # less than this is a gap in the survey rather than a rounded border
_MOST_NAMED = 12
_CELLS_TO_SEE = 3  # across a hollow, so that one of them lies wholly within (judgement)

_NOT_GIVEN = {
    SOIL: "soil, wetness and pH of the ground are not known",
    ELEVATION: "where in a field the low, wet ground lies is not known",
    "weather": "soil warmth and drought are not known, and nothing is counted in years of ten",
    "frost": "freeze dates are not known",
}


@dataclass(frozen=True)
class Remarks:
    """One layer: its name, the files it came from, what was read, and its notes."""

    layer: str
    files: tuple[str, ...]
    lines: tuple[str, ...]
    notes: tuple[Note, ...]


def layer_remarks(farm: FarmFile, read: LayersRead, legend: Legend) -> list[Remarks]:
    """Remarks on every layer, given or not, in reading order; notes of no layer come last."""
    told = {
        FIELDS: _fields(read, legend),
        SOIL: _soil(read, legend),
        **({GRID: _grids(read)} if farm.soil_grid else {}),
        ELEVATION: _elevation(read, legend),
        "weather": _weather(read),
        "frost": _frost(read),
        **({MARKS: _marks(read, legend)} if farm.marks else {}),
        **({AERIAL: _aerial(read, legend)} if farm.aerial_image else {}),
        **({WATER_SEEN: ["laid beside the answer by a run"]} if farm.water_seen else {}),
    }
    named: dict[str, list[str]] = {layer: [] for layer in told}
    layer_of = {
        "soil": SOIL,
        "soil_grid": GRID,
        "fields": FIELDS,
        "culverts": ELEVATION,
        "water_seen": WATER_SEEN,
        "aerial_image": AERIAL,
    }
    for table, path in farm.input_files:
        named[layer_of.get(table, table)].append(path.name)
    remarks = []
    for layer, lines in told.items():
        notes = tuple(note for note in read.notes if note.layer == layer)
        if not named[layer]:
            lines = [f"not given: {_NOT_GIVEN[layer]}"]
            notes = tuple(note for note in notes if note.level == "info")
        elif not lines:
            lines = [f"named, but not read by this version: {_NOT_GIVEN[layer]}"]
        remarks.append(Remarks(layer, tuple(named[layer]), tuple(lines), notes))
    for layer in dict.fromkeys(note.layer for note in read.notes):
        if layer not in told:
            notes = tuple(note for note in read.notes if note.layer == layer)
            remarks.append(Remarks(layer, (), (), notes))
    return remarks


def _fields(read: LayersRead, legend: Legend) -> list[str]:
    fields = read.fields
    area = fields["area_ha"]
    lines = [f"{_count(len(fields), 'field')}, {legend.area(area.sum())}"]
    if len(fields) > 1:
        lines[0] += f" together, {legend.area(area.min())} to {legend.area(area.max())} each"
    owners = sorted({o for o in fields["owner"].dropna() if o})
    if owners:
        lines.append(f"owners: {_some(owners)}")
    known = [
        f"{column.name} of {int(fields[column.name].notna().sum())}"
        for column in KNOWLEDGE
        if fields[column.name].notna().any()
    ]
    lines.append(f"known of the fields: {', '.join(known) or 'nothing beyond their outlines'}")
    return lines


def _soil(read: LayersRead, legend: Legend) -> list[str]:
    if read.survey is None:
        return []
    pieces, soils = read.cut.pieces, read.survey.components
    pieces = pieces[pieces["mukey"].isin(read.survey.map_units["mukey"])]
    here = soils[soils["mukey"].isin(pieces["mukey"])]
    minor = int((~here["major"].fillna(False).astype(bool)).sum())
    months = here["cokey"].isin(read.survey.months["cokey"]).sum()
    depth = here["cokey"].isin(read.survey.horizons["cokey"]).sum()
    lines = [
        f"layout: {read.survey.layout}",
        f"{_count(pieces['mukey'].nunique(), 'map unit')} in the fields, "
        f"{_count(len(here), 'soil')}, {minor} of them minor",
        f"layers of the soil are listed for {depth} of these soils, water by months for {months}",
        _cover(read.cut.soil_cover_pct),
        f"{_count(len(read.survey.map_units), 'outline')} in the file",
    ]
    lines.append(
        f"worth: {load_words()(f'caution.survey_{legend.units}')} A smaller wet corner is in it "
        "only as a share of a map unit, not as a place."
    )
    return lines


def _marks(read: LayersRead, legend: Legend) -> list[str]:
    if read.marks is None:
        return []
    ground = read.marks[read.marks["kind"] != DRAIN]
    size = legend.area(float(ground.area.sum()) / 10_000)
    return [f"{_count(len(read.marks), 'mark')}, {size} of ground in them; they override"]


def _aerial(read: LayersRead, legend: Legend) -> list[str]:
    if read.aerial is None:
        return []
    native, kept = (legend.small_length(m) for m in (read.aerial.native_m, read.aerial.pixel_m))
    return [f"pixels of {native}, kept as {kept}; shown under the fields, it changes no answer"]


def _cover(cover_pct: "pd.Series[float]") -> str:
    whole = cover_pct >= _WHOLE_PCT
    if whole.all():
        return f"covers all of {_count(len(cover_pct), 'field')}"
    rest = cover_pct[~whole]
    each = _some([f"{field_id} {pct:.0f} %" for field_id, pct in rest.items()])
    return f"covers {int(whole.sum())} of {len(cover_pct)} fields; the others: {each}"


def _grids(read: LayersRead) -> list[str]:
    if read.soil_grids is None:
        return []
    pieces = read.soil_grids.pieces
    lines = [f"used in {_count(pieces['field_id'].nunique(), 'field')} where no survey is"]
    return [*lines, "worth: means of an area; a spot that differs does not show. Test the soil."]


def _elevation(read: LayersRead, legend: Legend) -> list[str]:
    heights = read.elevation
    if heights is None:
        return []
    cell = _length(heights.cell_m, legend)
    if heights.unit is None:
        return [f"cells of {cell}", _cover(heights.cover_pct)]
    relief = read.relief.dropna(subset="elevation_m")
    low, high = (
        legend.length(m) for m in (relief["elevation_m"].min(), relief["elevation_m"].max())
    )
    least, most = (_length(m, legend) for m in (relief["relief_m"].min(), relief["relief_m"].max()))
    steep = relief["slope_pct"].dropna()
    lines = [
        f"cells of {cell}; unit of the heights: {heights.unit.name}, {heights.unit.why}",
        _cover(heights.cover_pct),
        f"fields lie {low} to {high} above the sea, with {least} to {most} between their lowest "
        "and their highest spot",
    ]
    if len(steep):
        lines.append(f"mean slope of a field {steep.min():.1f} to {steep.max():.1f} percent")
    narrow = _length(_CELLS_TO_SEE * heights.cell_m, legend)
    lines.append(
        f"worth: a hollow or ditch narrower than about {narrow} does not show, and a road over a "
        "culvert looks like a dam."
    )
    return lines


def _length(length_m: float, legend: Legend) -> str:
    """With one decimal where whole feet or metres would be too coarse."""
    if length_m >= 10:
        return legend.length(length_m)
    return f"{length_m / M_PER_FT:.1f} ft" if legend.units == "us" else f"{length_m:.1f} m"


def _weather(read: LayersRead) -> list[str]:
    lines = []
    names = read.stations.set_index("weather_id")["name"]
    for weather_id, days in read.weather.groupby("weather_id"):
        first, last = days["date"].min().date(), days["date"].max().date()
        whole = int(days[["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=1).sum())
        lacking_pct = 100 * (1 - whole / ((last - first).days + 1))
        name = names.get(weather_id)
        lines.append(
            f"{name if isinstance(name, str) else str(weather_id)}: {first} to {last}, "
            f"{lacking_pct:.0f} % of the days lack a high, a low or the rain"
        )
        measured = days[days[["tmax_c", "tmin_c", "precip_mm"]].notna().any(axis=1)]
        years = measured["date"].dt.year.nunique()
        lines.append(f"worth: odds rest on {_count(years, 'year')} with any record")
    return lines


def _frost(read: LayersRead) -> list[str]:
    if not len(read.frost):
        return []
    frost = read.frost
    sources = sorted(set(frost["source"].dropna()))
    lines = [
        f"freeze dates for {frost['field_id'].nunique()} of {len(read.fields)} fields, at "
        f"{', '.join(f'{c:g}' for c in sorted(frost['threshold_c'].unique()))} C; "
        f"from {_some(sources) or 'a source not stated'}"
    ]
    years = frost["n_years"].dropna()
    if len(years):
        lines.append(f"worth: {years.min():.0f} to {years.max():.0f} years stand behind the dates")
    return lines


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _some(texts: Iterable[object]) -> str:
    shown = [str(text) for text in texts]
    more = f" and {len(shown) - _MOST_NAMED} more" if len(shown) > _MOST_NAMED else ""
    return ", ".join(shown[:_MOST_NAMED]) + more
