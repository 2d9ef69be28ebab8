"""What the grower marked: wet spots, spots that are never wet, and drains."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from layers.crs import LONLAT, to_lonlat, to_working
from layers.field_names import some_of
from layers.files import open_vector, read_table, vector_layers
from layers.mark_kinds import DRAIN, DRY, NAME, NAME_COLUMNS, WET, kind_called, kind_of
from layers.outlines import CLOSED_WITHIN_M
from suitability.conversions import M_PER_FT
from suitability.errors import InputError, listed
from suitability.notes import Note

POINT_RADIUS_M = 10.0
# A phone writes these beside the marks themselves: the single points of tracks and routes.
_PARTS_OF_LINES = ("route_points", "track_points")
_CSV_SUFFIXES = (".csv", ".txt", ".tsv")
_WIDEST_RADIUS_M = 1000.0
_RADIUS_UNITS = {"radius_m": 1.0, "radius_ft": M_PER_FT}
_UNITLESS = "column 'radius' does not say its unit: name it radius_m or radius_ft"
_NEAR_DEG = 0.5  # a place farther from all fields is hardly meant
_EXPECTED = "Expected wet, dry (never wet) or drain"


def read_marks(
    path: str | Path, fields: gpd.GeoDataFrame, *, point_radius_m: float = POINT_RADIUS_M
) -> tuple[gpd.GeoDataFrame, tuple[Note, ...]]:
    """Read the grower's marks.

    Parameters
    ----------
    path : GPX, KML, GeoJSON or another vector file; or a CSV with the columns kind, lat, lon and,
        if wanted, name and radius_m or radius_ft. In a vector file the kind is what the column
        kind or type says, else what the name or description begins with.
    fields : field_id and geometry in a metre CRS.
    point_radius_m : how far a wet or dry spot reaches around a point, and to both sides of a line
        that is not closed, where the file does not say [m].

    Returns
    -------
    Marks in the CRS of the fields with kind (wet, dry or drain), name and geometry: polygons, but
    drains as they were drawn; and Notes.

    Raises
    ------
    InputError : a file that cannot be used, or marks of no known kind, all of them at once.
    """
    source = Path(path)
    is_csv = source.suffix.lower() in _CSV_SUFFIXES
    table = _from_csv(source, fields) if is_csv else _from_shapes(source)
    marks = to_working(table, fields.crs)
    made = [
        (kind, name, _ground(shape, kind, point_radius_m if np.isnan(radius) else radius))
        for kind, name, radius, shape in zip(
            marks["kind"], marks["name"], marks["radius_m"], marks.geometry, strict=True
        )
    ]
    result = gpd.GeoDataFrame(
        pd.DataFrame(made, columns=["kind", "name", "geometry"]),
        geometry="geometry",
        crs=fields.crs,
    )
    return result, _read_notes(source, marks, result, fields, point_radius_m)


def _from_csv(source: Path, fields: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    table, _ = read_table(source, layer=NAME)
    columns = {name.lower(): name for name in table.columns}
    lacking = [name for name in ("kind", "lat", "lon") if name not in columns]
    if lacking or "radius" in columns:
        faults = [f"column {name!r} is missing" for name in lacking]
        if "radius" in columns:
            faults.append(_UNITLESS)
        remedy = "Expected the columns kind, lat, lon and, if wanted, name and radius_m."
        raise InputError(listed(f"{source} cannot be used as marks", faults, remedy))
    faults = []
    lat = _numbers(table[columns["lat"]], "lat", -90, 90, "degrees", faults)
    lon = _numbers(table[columns["lon"]], "lon", -180, 180, "degrees", faults)
    radius = np.full(len(table), np.nan)
    for name, metres in _RADIUS_UNITS.items():
        if name in columns:
            most = _WIDEST_RADIUS_M / metres
            unit = name.removeprefix("radius_")
            read = _numbers(table[columns[name]], name, 0.1, most, unit, faults, may_be_empty=True)
            radius = np.where(np.isnan(read), radius, read * metres)
    kinds = []
    for row, word in enumerate(table[columns["kind"]], start=2):
        kind = kind_called(word, whole=True)
        if kind is None:
            said = repr(word) if isinstance(word, str) else "nothing"
            faults.append(f"row {row}: kind is {said}")
        kinds.append(kind)
    faults += _turned(lat, lon, fields)
    if faults:
        remedy = f"{_EXPECTED} as kind, and lat and lon in degrees. Mend these values."
        raise InputError(listed(f"{source} cannot be used as marks", faults, remedy))
    marks = gpd.GeoDataFrame(
        {
            "kind": kinds,
            "name": table[columns["name"]] if "name" in columns else None,
            "radius_m": radius,
            "label": [f"row {row}" for row in range(2, len(table) + 2)],
        },
        geometry=gpd.points_from_xy(lon, lat),
        crs=LONLAT,
    )
    marks.attrs["source"] = str(source)
    return marks


def _turned(lat: np.ndarray, lon: np.ndarray, fields: gpd.GeoDataFrame) -> list[str]:
    """Faults of the places that lie near the fields only with latitude and longitude swapped."""
    west, south, east, north = to_lonlat(fields).total_bounds + _NEAR_DEG * np.array([-1, -1, 1, 1])

    def near(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.asarray((west <= x) & (x <= east) & (south <= y) & (y <= north))

    return [
        f"row {row + 2}: lat is {lat[row]:g} and lon {lon[row]:g}; they look swapped"
        for row in np.flatnonzero(near(lat, lon) & ~near(lon, lat))
    ]


def _numbers(
    texts: pd.Series,
    name: str,
    low: float,
    high: float,
    unit: str,
    faults: list[str],
    *,
    may_be_empty: bool = False,
) -> np.ndarray:
    values: np.ndarray = pd.to_numeric(texts, errors="coerce").to_numpy(float)
    for row, (text, value) in enumerate(zip(texts, values, strict=True), start=2):
        if may_be_empty and not isinstance(text, str):
            continue
        if not low <= value <= high:
            said = repr(text) if isinstance(text, str) else "empty"
            faults.append(f"row {row}: {name} is {said}; expected {low:g} to {high:g} {unit}")
    return values


def _from_shapes(source: Path) -> gpd.GeoDataFrame:
    frames = [open_vector(source, layer) for layer in _layers(source)]
    if not frames:
        raise InputError(f"{source} holds no mark. {_EXPECTED} spots. Export it again.")
    rows, faults = [], []
    for frame in frames:
        texts = {str(c).lower(): c for c in frame.columns if c != frame.geometry.name}
        lonlat = to_working(frame, LONLAT)
        for number, (_, row) in enumerate(frame.iterrows(), start=1):
            shape = lonlat.geometry.iloc[number - 1]
            said = {key: row[column] for key, column in texts.items()}
            named = next((said[c] for c in NAME_COLUMNS if isinstance(said.get(c), str)), None)
            kind = kind_of(said)
            layer = frame.attrs["layer"]
            if kind is None and shape is not None and not shape.is_empty:
                shown = f"called {named!r}" if named else "without a name"
                faults.append(f"{layer}, number {number}, {shown}: not said what it is")
            radius_m, fault = _radius_m(said)
            if fault:
                faults.append(f"{layer}, number {number}: {fault}")
            label = _label(number, layer if len(frames) > 1 else None)
            rows.append((kind, named, radius_m, label, shapely.force_2d(shape)))
    if faults:
        remedy = (
            f"{_EXPECTED} in a column `kind` or `type`, or as the first word of the name, such as "
            "'wet by the barn'. Name these marks, or take them out."
        )
        raise InputError(listed(f"{source} cannot be used as marks", faults, remedy))
    table = pd.DataFrame(rows, columns=["kind", "name", "radius_m", "label", "geometry"])
    marks = gpd.GeoDataFrame(table, geometry="geometry", crs=LONLAT)
    marks.attrs["source"] = str(source)
    return marks


def _label(number: int, layer: str | None) -> str:
    """What a note calls a mark, with its layer where the file has several."""
    return f"row {number}" if layer is None else f"row {number} of {layer}"


def _layers(source: Path) -> list[str | None]:
    """Phones put points, tracks and folders into layers of their own: all of these count."""
    if source.suffix.lower() not in (".gpx", ".kml", ".kmz"):
        return [None]
    return [layer for layer in vector_layers(source) if layer not in _PARTS_OF_LINES]


def _radius_m(said: dict[str, object]) -> tuple[float, str]:
    """Radius of a mark [m], NaN where not said; and what is wrong with it, or an empty text."""
    if not pd.isna(said.get("radius")):
        return float("nan"), _UNITLESS
    for name, metres in _RADIUS_UNITS.items():
        value = said.get(name)
        if pd.isna(value):
            continue
        number = pd.to_numeric(pd.Series([value]), errors="coerce").iloc[0]
        if 0 < number * metres <= _WIDEST_RADIUS_M:
            return float(number * metres), ""
        return float("nan"), f"{name} is {value!r}; expected up to {_WIDEST_RADIUS_M / metres:g}"
    return float("nan"), ""


def _ground(shape: BaseGeometry, kind: str, radius_m: float) -> BaseGeometry:
    """Ground that a mark means, in a metre CRS; a drain stays as it was drawn."""
    if kind == DRAIN:
        return shape
    parts = []
    for part in shapely.get_parts(shape) if shape is not None else ():
        coords = np.asarray(part.coords) if part.geom_type == "LineString" else np.empty((0, 2))
        if part.geom_type == "Polygon":
            parts.append(shapely.make_valid(part, method="structure", keep_collapsed=False))
        elif len(coords) > 3 and np.hypot(*(coords[0] - coords[-1])) <= CLOSED_WITHIN_M:
            ring = shapely.Polygon(coords)  # walked round
            parts.append(shapely.make_valid(ring, method="structure", keep_collapsed=False))
        else:
            parts.append(shapely.buffer(part, radius_m))
    return shapely.union_all(parts)


def _read_notes(
    source: Path,
    drawn: gpd.GeoDataFrame,
    marks: gpd.GeoDataFrame,
    fields: gpd.GeoDataFrame,
    point_radius_m: float,
) -> tuple[Note, ...]:
    counts = marks["kind"].value_counts()
    words = {WET: "wet", DRY: "never wet", DRAIN: "drain"}
    told = ", ".join(f"{words[k]}: {counts[k]}" for k in (WET, DRY, DRAIN) if k in counts)
    text = f"{source.name}: marks read: {told or 'none'}."
    notes = [Note(NAME, "info" if told else "warning", text)]
    spots = drawn.geometry.geom_type.isin(["Point", "MultiPoint"]) & (drawn["kind"] != DRAIN)
    if (spots & drawn["radius_m"].isna()).any():
        count = int((spots & drawn["radius_m"].isna()).sum())
        text = (
            f"{count} of them are points without a size; each was taken to reach "
            f"{point_radius_m:g} m around. Walk round a spot to give its size."
        )
        notes.append(Note(NAME, "caution", text))
    drain = drawn["kind"] == DRAIN
    far = np.isinf(drawn.bounds).any(axis=1)  # so far that the fields' CRS has no number for it
    nowhere = (marks.geometry.isna() | marks.geometry.is_empty) & ~far
    no_line = drain & ~(
        drawn.geom_type.isin(["LineString", "MultiLineString"]) & (drawn.length > 0)
    )
    ground = shapely.union_all(fields.geometry.to_numpy())
    beside = ~drain & ~nowhere & ~marks.intersects(ground)
    if nowhere.any():
        some = some_of(drawn["label"][nowhere].tolist())
        text = f"Marks without a place, or an outline around no ground, change nothing: {some}."
        notes.append(Note(NAME, "warning", text))
    if (no_line & ~nowhere).any():
        some = some_of(drawn["label"][no_line & ~nowhere].tolist())
        text = f"Drains that are not drawn as a line change nothing: {some}."
        notes.append(Note(NAME, "warning", text))
    if beside.any():
        some = some_of(drawn["label"][beside].tolist())
        text = f"{int(beside.sum())} of them lie in no field and change nothing: {some}."
        notes.append(Note(NAME, "warning", text))
    return tuple(notes)
