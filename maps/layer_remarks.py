"""What each layer of a farm holds, covers and lacks, and what it is worth; nothing is scored."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

import pandas as pd

from layers.aerial_image import NAME as AERIAL
from layers.elevation import NAME as ELEVATION
from layers.mark_kinds import DRAIN
from layers.mark_kinds import NAME as MARKS
from layers.soil_grids import NAME as GRID
from layers.soil_map.survey import LAYER as SOIL
from layers.sound_fields import NAME as FIELDS
from layers.water_seen import NAME as WATER_SEEN
from maps.farm_file import FarmFile
from maps.layers_read import LayersRead
from maps.legend import Legend
from maps.spoken_notes import spoken
from maps.words import load_words
from suitability.columns import KNOWLEDGE
from suitability.conversions import M_PER_FT
from suitability.notes import Note

_WHOLE_PCT = 99.0  # less than this is a gap in the survey rather than a rounded border
_MOST_NAMED = 12
_CELLS_TO_SEE = 3  # across a hollow, so that one of them lies wholly within (judgement)


@dataclass(frozen=True)
class Remarks:
    """One layer: its name, the files it came from, what was read, and its notes."""

    layer: str
    files: tuple[str, ...]
    lines: tuple[str, ...]
    notes: tuple[Note, ...]


def layer_remarks(farm: FarmFile, read: LayersRead, legend: Legend) -> list[Remarks]:
    """Remarks on every layer, given or not, in reading order; notes of no layer come last."""
    say = partial(_say, legend)
    told = {
        FIELDS: _fields(read, legend),
        SOIL: _soil(read, legend),
        **({GRID: _grids(read, legend)} if farm.soil_grid else {}),
        ELEVATION: _elevation(read, legend),
        "weather": _weather(read, legend),
        "frost": _frost(read, legend),
        **({MARKS: _marks(read, legend)} if farm.marks else {}),
        **({AERIAL: _aerial(read, legend)} if farm.aerial_image else {}),
        **({WATER_SEEN: [say("water_seen")]} if farm.water_seen else {}),
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
            lines = [say("not_given", lack=say(f"lack_{_key(layer)}"))]
            notes = tuple(note for note in notes if note.level == "info")
        elif not lines:
            lines = [say("not_read", lack=say(f"lack_{_key(layer)}"))]
        remarks.append(Remarks(layer, tuple(named[layer]), tuple(lines), notes))
    for layer in dict.fromkeys(note.layer for note in read.notes):
        if layer not in told:
            notes = tuple(note for note in read.notes if note.layer == layer)
            remarks.append(Remarks(layer, (), (), notes))
    return remarks


def _say(legend: Legend, key: str, **values: object) -> str:
    return load_words(legend.language)(f"check.{key}", **values)


def _key(layer: str) -> str:
    return layer.replace(" ", "_")


def _fields(read: LayersRead, legend: Legend) -> list[str]:
    say = partial(_say, legend)
    fields = read.fields
    area = fields["area_ha"]
    count, total = _count(legend, len(fields), "field"), legend.area(area.sum())
    lines = [say("fields", fields=count, area=total)]
    if len(fields) > 1:
        each = {"least": legend.area(area.min()), "most": legend.area(area.max())}
        lines = [say("fields_each", fields=count, area=total, **each)]
    owners = sorted({o for o in fields["owner"].dropna() if o})
    if owners:
        lines.append(say("owners", names=_some(legend, owners)))
    known = [
        say("known_of", column=column.name, n=int(fields[column.name].notna().sum()))
        for column in KNOWLEDGE
        if fields[column.name].notna().any()
    ]
    lines.append(say("known", known=", ".join(known) or say("known_nothing")))
    return lines


def _soil(read: LayersRead, legend: Legend) -> list[str]:
    if read.survey is None:
        return []
    say, words = partial(_say, legend), load_words(legend.language)
    pieces, soils = read.cut.pieces, read.survey.components
    pieces = pieces[pieces["mukey"].isin(read.survey.map_units["mukey"])]
    here = soils[soils["mukey"].isin(pieces["mukey"])]
    minor = int((~here["major"].fillna(False).astype(bool)).sum())
    months = int(here["cokey"].isin(read.survey.months["cokey"]).sum())
    depth = int(here["cokey"].isin(read.survey.horizons["cokey"]).sum())
    map_units = _count(legend, pieces["mukey"].nunique(), "map_unit")
    worth = f"{words(f'caution.survey_{legend.units}')} {say('worth_soil')}"
    return [
        say("layout", layout=_layout(read.survey.layout, legend)),
        say("units", map_units=map_units, soils=_count(legend, len(here), "soil"), minor=minor),
        say("listed", depth=depth, months=months),
        _cover(legend, read.cut.soil_cover_pct),
        say("outlines", outlines=_count(legend, len(read.survey.map_units), "outline")),
        say("worth", text=worth),
    ]


def _layout(layout: str, legend: Legend) -> str:
    words, key = load_words(legend.language), f"option_value.{_key(layout)}"
    return words(key) if words.has(key) else layout


def _marks(read: LayersRead, legend: Legend) -> list[str]:
    if read.marks is None:
        return []
    ground = read.marks[read.marks["kind"] != DRAIN]
    size = legend.area(float(ground.area.sum()) / 10_000)
    return [_say(legend, "marks", marks=_count(legend, len(read.marks), "mark"), area=size)]


def _aerial(read: LayersRead, legend: Legend) -> list[str]:
    if read.aerial is None:
        return []
    native, kept = (legend.small_length(m) for m in (read.aerial.native_m, read.aerial.pixel_m))
    return [_say(legend, "aerial", native=native, kept=kept)]


def _cover(legend: Legend, cover_pct: "pd.Series[float]") -> str:
    say = partial(_say, legend)
    whole = cover_pct >= _WHOLE_PCT
    if whole.all():
        return say("covers_all", fields=_count(legend, len(cover_pct), "field"))
    rest = [say("covers_one", field=f, pct=f"{pct:.0f}") for f, pct in cover_pct[~whole].items()]
    return say("covers", n=int(whole.sum()), of=len(cover_pct), each=_some(legend, rest))


def _grids(read: LayersRead, legend: Legend) -> list[str]:
    if read.soil_grids is None:
        return []
    fields = _count(legend, read.soil_grids.pieces["field_id"].nunique(), "field")
    worth = _say(legend, "worth", text=_say(legend, "worth_grids"))
    return [_say(legend, "grids", fields=fields), worth]


def _elevation(read: LayersRead, legend: Legend) -> list[str]:
    say = partial(_say, legend)
    heights = read.elevation
    if heights is None:
        return []
    cell = _length(heights.cell_m, legend)
    if heights.unit is None:
        return [say("cells", cell=cell), _cover(legend, heights.cover_pct)]
    relief = read.relief.dropna(subset="elevation_m")
    low, high = (
        legend.length(m) for m in (relief["elevation_m"].min(), relief["elevation_m"].max())
    )
    least, most = (_length(m, legend) for m in (relief["relief_m"].min(), relief["relief_m"].max()))
    steep = relief["slope_pct"].dropna()
    why = spoken(heights.unit.why, legend.language, "unit_why")
    lines = [
        say("cells_unit", cell=cell, unit=heights.unit.name, why=why),
        _cover(legend, heights.cover_pct),
        say("lie", low=low, high=high, least=least, most=most),
    ]
    if len(steep):
        lines.append(say("slope", least=f"{steep.min():.1f}", most=f"{steep.max():.1f}"))
    narrow = say("worth_elevation", narrow=_length(_CELLS_TO_SEE * heights.cell_m, legend))
    lines.append(say("worth", text=narrow))
    return lines


def _length(length_m: float, legend: Legend) -> str:
    """With one decimal where whole feet or metres would be too coarse."""
    if length_m >= 10:
        return legend.length(length_m)
    if legend.units == "us":
        return load_words(legend.language)("unit.feet", n=f"{length_m / M_PER_FT:.1f}")
    return f"{length_m:.1f} m"


def _weather(read: LayersRead, legend: Legend) -> list[str]:
    say = partial(_say, legend)
    lines = []
    names = read.stations.set_index("weather_id")["name"]
    for weather_id, days in read.weather.groupby("weather_id"):
        first, last = days["date"].min().date(), days["date"].max().date()
        whole = int(days[["tmax_c", "tmin_c", "precip_mm"]].notna().all(axis=1).sum())
        lacking_pct = 100 * (1 - whole / ((last - first).days + 1))
        name = names.get(weather_id)
        title = name if isinstance(name, str) else str(weather_id)
        lines.append(say("station", name=title, first=first, last=last, pct=f"{lacking_pct:.0f}"))
        measured = days[days[["tmax_c", "tmin_c", "precip_mm"]].notna().any(axis=1)]
        years = _count(legend, measured["date"].dt.year.nunique(), "year")
        lines.append(say("worth", text=say("worth_weather", years=years)))
    return lines


def _frost(read: LayersRead, legend: Legend) -> list[str]:
    if not len(read.frost):
        return []
    say = partial(_say, legend)
    frost = read.frost
    sources = sorted(set(frost["source"].dropna()))
    lines = [
        say(
            "frost",
            n=frost["field_id"].nunique(),
            of=len(read.fields),
            limits=", ".join(f"{c:g}" for c in sorted(frost["threshold_c"].unique())),
            sources=_some(legend, sources) or say("no_source"),
        )
    ]
    years = frost["n_years"].dropna()
    if len(years):
        told = say("worth_frost", least=f"{years.min():.0f}", most=f"{years.max():.0f}")
        lines.append(say("worth", text=told))
    return lines


def _count(legend: Legend, number: int, thing: str) -> str:
    if number == 1:
        return _say(legend, f"one.{thing}")
    return _say(legend, f"many.{thing}", n=number)


def _some(legend: Legend, texts: Iterable[object]) -> str:
    shown = [str(text) for text in texts]
    rest = len(shown) - _MOST_NAMED
    more = _say(legend, "and_more", n=rest) if rest > 0 else ""
    return ", ".join(shown[:_MOST_NAMED]) + more
