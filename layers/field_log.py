"""What was done and seen in the fields: a plain CSV beside the farm file, a line an event."""

import csv
import io
import math
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import geopandas as gpd
import pandas as pd
from shapely.geometry import Point

from layers.crs import LONLAT, to_working
from layers.marked_ground import MARK_CAUSE
from suitability.conversions import M_PER_FT
from suitability.errors import InputError, listed

FILE_NAME = "field_log.csv"
COLUMNS = ("date", "field_id", "what", "value", "unit", "lat_deg", "lon_deg", "note")
_DANGEROUS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet would take the cell for a formula
_FIRST_YEAR = 1950


@dataclass(frozen=True)
class Kind:
    """A kind of event: its unit in the program, what one of each unit is in it, plausible range.

    ``offset`` is taken off before the factor (degrees Fahrenheit). Kinds without units take no
    value.
    """

    column: str = ""
    units: tuple[tuple[str, float, float], ...] = ()
    low: float = -math.inf
    high: float = math.inf
    placed: bool = False

    @property
    def factors(self) -> dict[str, tuple[float, float]]:
        """Factor and offset by unit."""
        return {unit: (factor, offset) for unit, factor, offset in self.units}


KINDS: dict[str, Kind] = {
    "sown": Kind(),
    "emerged": Kind(),
    "soil-temperature": Kind(
        "soil_temp_c", (("F", 5 / 9, 32.0), ("C", 1.0, 0.0)), low=-15.0, high=60.0
    ),
    "stand": Kind(
        "plants_m2", (("plants/ft2", 10.7639104, 0.0), ("plants/m2", 1.0, 0.0)), low=0, high=1000
    ),
    "height": Kind(
        "height_m",
        (("ft", M_PER_FT, 0.0), ("in", 0.0254, 0.0), ("cm", 0.01, 0.0), ("m", 1.0, 0.0)),
        low=0,
        high=6,
    ),
    "wet-spot": Kind(placed=True),
    "cut-weight": Kind(
        "cut_kg_ha",
        (("lb/ac", 1.1208511561944561, 0.0), ("kg/ha", 1.0, 0.0), ("ton/ac", 2241.7023, 0.0)),
        low=0,
        high=40000,
    ),
    "grazing-days": Kind("head_days", (("head-days", 1.0, 0.0),), low=0, high=1e6),
}


@dataclass(frozen=True)
class Entry:
    """One event as it was entered."""

    day: date
    field_id: str
    what: str
    value: float | None = None
    unit: str = ""
    lat_deg: float | None = None
    lon_deg: float | None = None
    note: str = ""


def check_entry(entry: Entry, today: date) -> None:
    """Hold an event to what its kind asks for.

    Raises
    ------
    InputError : all faults in one message.
    """
    kind = KINDS.get(entry.what)
    if kind is None:
        remedy = f"Known are: {', '.join(KINDS)}."
        raise InputError(listed("Nothing was logged", [f"{entry.what!r} is not known"], remedy))
    faults = _value_faults(entry, kind)
    if kind.placed and (entry.lat_deg is None or entry.lon_deg is None):
        faults.append("a place is missing: give latitude and longitude in degrees (west is minus)")
    for name, degrees, most in (("latitude", entry.lat_deg, 90), ("longitude", entry.lon_deg, 180)):
        if degrees is not None and not -most <= degrees <= most:
            faults.append(f"{name} must be from {-most} to {most} degrees, got {degrees:g}")
    if entry.day > today:
        faults.append(f"{entry.day} lies in the future")
    elif entry.day.year < _FIRST_YEAR:
        faults.append(f"{entry.day} lies before {_FIRST_YEAR}")
    if faults:
        raise InputError(listed("Nothing was logged", faults, "Enter it again."))


def _value_faults(entry: Entry, kind: Kind) -> list[str]:
    if not kind.units:
        return [] if entry.value is None else [f"{entry.what} takes no value, got {entry.value:g}"]
    units = ", ".join(kind.factors)
    if entry.value is None:
        return [f"{entry.what} needs a value and its unit: {units}"]
    if entry.unit not in kind.factors:
        got = repr(entry.unit) if entry.unit else "none"
        return [f"{entry.what} needs a unit, one of {units}; got {got}"]
    ours = _in_our_unit(entry.value, entry.unit, kind)
    if not kind.low <= ours <= kind.high:  # not-a-number fails this too
        factor, offset = kind.factors[entry.unit]
        low, high = kind.low / factor + offset, kind.high / factor + offset
        return [
            f"{entry.what} must be from {low:g} to {high:g} {entry.unit}, got {entry.value:g}; "
            "is it in another unit?"
        ]
    return []


def append(path: Path, entry: Entry, today: date | None = None) -> None:
    """Add one line, whole or not at all; several programs may do so at once.

    Raises
    ------
    InputError : the event breaks its rules, or the file cannot be written.
    """
    check_entry(entry, date.today() if today is None else today)
    cells = [
        entry.day.isoformat(),
        _defused(entry.field_id),
        entry.what,
        "" if entry.value is None else repr(float(entry.value)),
        entry.unit,
        "" if entry.lat_deg is None else repr(float(entry.lat_deg)),
        "" if entry.lon_deg is None else repr(float(entry.lon_deg)),
        _defused(" ".join(entry.note.split())),
    ]
    try:
        with _locked(path) as file:
            size = os.fstat(file).st_size
            text = "" if size else _line(list(COLUMNS))
            if size:
                os.lseek(file, -1, os.SEEK_END)
                # Somebody's editor may have left the last line open.
                text = "" if os.read(file, 1) == b"\n" else "\n"
            os.lseek(file, 0, os.SEEK_END)
            data = (text + _line(cells)).encode()
            while data:
                data = data[os.write(file, data) :]
            os.fsync(file)
    except OSError as error:
        raise InputError(
            f"{path} cannot be written: {error.strerror}. Close it where it is open, and enter it "
            "again."
        ) from None


def read_log(path: Path) -> pd.DataFrame:
    """Read the log; a file that is not there is an empty log.

    Returns
    -------
    DataFrame in the order of the days: day (date), field_id, what, value and unit as entered,
    ``in_our_unit`` (degC, m, plants/m2, kg/ha, head-days), lat_deg, lon_deg, note.

    Raises
    ------
    InputError : lines that cannot be read, all of them in one message with their numbers.
    """
    names = ["day", "field_id", "what", "value", "unit", "in_our_unit", "lat_deg", "lon_deg"]
    rows, faults = [], []
    if path.exists():
        try:
            text = path.read_bytes().decode("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise InputError(f"{path} cannot be read as a field log: {error}.") from None
        reader = csv.reader(io.StringIO(text))
        for cells in reader:
            if not cells or cells == list(COLUMNS):
                continue
            try:
                rows.append(_row(cells))
            except (ValueError, InputError) as error:
                words = str(error).split("\n")
                told = words[1].removeprefix("  - ") if len(words) > 1 else words[0]
                faults.append(f"line {reader.line_num}: {told}")
    if faults:
        remedy = f"Mend these lines; the columns are {', '.join(COLUMNS)}."
        raise InputError(listed(f"{path} cannot be used as a field log", faults, remedy))
    table = pd.DataFrame(rows, columns=[*names, "note"])
    return table.sort_values("day", kind="stable").reset_index(drop=True)


def wet_spots(log: pd.DataFrame, fields: gpd.GeoDataFrame, radius_m: float) -> gpd.GeoDataFrame:
    """Logged wet spots as marks: kind, name and a circle of ``radius_m``, in the fields' CRS."""
    spots = log[log["what"] == "wet-spot"]
    points = [Point(lon, lat) for lon, lat in zip(spots["lon_deg"], spots["lat_deg"], strict=True)]
    names = [f"log of {day}" for day in spots["day"]]
    shapes = gpd.GeoDataFrame(
        {"kind": "wet", "name": names}, geometry=gpd.GeoSeries(points, crs=LONLAT)
    )
    if not len(shapes):
        return gpd.GeoDataFrame({"kind": [], "name": []}, geometry=[], crs=fields.crs)
    placed = to_working(shapes, fields.crs)
    return placed.assign(geometry=placed.geometry.buffer(radius_m))


def spots_foreseen(
    log: pd.DataFrame, wet_ground: gpd.GeoDataFrame, fields: gpd.GeoDataFrame
) -> pd.DataFrame:
    """Whether each logged wet spot lies on ground drawn as wet, but for the grower's own marks.

    Parameters
    ----------
    wet_ground : cause and years_in_ten, with geometry in the CRS of ``fields``.

    Returns
    -------
    DataFrame on the index of the spots in ``log``: drawn (true or false), years_in_ten (NaN where
    not drawn, or drawn without odds).
    """
    spots = log[log["what"] == "wet-spot"]
    points = to_working(
        gpd.GeoDataFrame(
            geometry=gpd.points_from_xy(spots["lon_deg"], spots["lat_deg"]), crs=LONLAT
        ),
        fields.crs,
    ).geometry
    drawn = wet_ground[wet_ground["cause"] != MARK_CAUSE]
    rows = []
    for point in points:
        here = drawn[drawn.intersects(point)]
        rows.append((len(here) > 0, here["years_in_ten"].max() if len(here) else math.nan))
    return pd.DataFrame(rows, columns=["drawn", "years_in_ten"], index=spots.index)


def _row(cells: list[str]) -> tuple[object, ...]:
    if len(cells) != len(COLUMNS):
        raise ValueError(f"{len(COLUMNS)} cells were expected, got {len(cells)}")
    day, field_id, what, value, unit, lat, lon, note = cells
    entry = Entry(
        date.fromisoformat(day),
        _fused(field_id),
        what,
        float(value) if value else None,
        unit,
        float(lat) if lat else None,
        float(lon) if lon else None,
        _fused(note),
    )
    check_entry(entry, date.max)
    ours = math.nan
    if entry.value is not None:
        ours = _in_our_unit(entry.value, unit, KINDS[what])
    lat_deg, lon_deg = (math.nan if v is None else v for v in (entry.lat_deg, entry.lon_deg))
    value_or_nan = math.nan if entry.value is None else entry.value
    return (
        entry.day, entry.field_id, what, value_or_nan, unit, ours, lat_deg, lon_deg, entry.note
    )  # fmt: skip


def _in_our_unit(value: float, unit: str, kind: Kind) -> float:
    factor, offset = kind.factors[unit]
    return (value - offset) * factor


def _line(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()


def _defused(text: str) -> str:
    """A leading quote keeps a spreadsheet from computing the cell; one that is there is doubled."""
    return f"'{text}" if text.startswith((*_DANGEROUS, "'")) else text


def _fused(text: str) -> str:
    return text[1:] if text.startswith("'") else text


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    """The file, open for reading and writing, held for us alone until the end."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0)
    file = os.open(path, flags, 0o644)
    try:
        _lock(file)
        yield file
    finally:
        os.close(file)  # the lock goes with it


def _lock(file: int) -> None:
    try:
        import fcntl
    except ImportError:  # Windows
        import msvcrt

        os.lseek(file, 0, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_LOCK, 1)  # type: ignore[attr-defined,unused-ignore]
    else:
        fcntl.flock(file, fcntl.LOCK_EX)
