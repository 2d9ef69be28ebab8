"""Small invented weather files in every layout, from one and the same record."""

from pathlib import Path

import numpy as np
import pandas as pd

PLACE = (31.5, -84.0)


def record(first: str = "2001-01-01", last: str = "2003-12-31") -> pd.DataFrame:
    """Days with a yearly curve, some noise and rain on every third day: C and mm, to 0.1."""
    day = pd.date_range(first, last)
    rng = np.random.default_rng(5)
    curve = np.cos(2 * np.pi * (day.day_of_year.to_numpy() - 200) / 365.25)
    tmin = 13 + 9 * curve + rng.normal(0, 2, len(day))
    rain = np.where(np.arange(len(day)) % 3 == 0, rng.exponential(11, len(day)) + 0.3, 0)
    return pd.DataFrame(
        {
            "date": day,
            "tmax_c": np.round(tmin + rng.uniform(8, 14, len(day)), 1),
            "tmin_c": np.round(tmin, 1),
            "precip_mm": np.round(rain, 1),
        }
    )


def in_unit(days: pd.DataFrame, system: str) -> pd.DataFrame:
    """TMAX, TMIN, PRCP as published in ``tenths``, ``metric`` or ``us`` units."""
    temp = days[["tmax_c", "tmin_c"]].set_axis(["TMAX", "TMIN"], axis=1)
    rain = days["precip_mm"]
    if system == "us":
        return (temp * 1.8 + 32).round().astype(int).assign(PRCP=(rain / 25.4).round(2))
    if system == "tenths":
        whole = (temp * 10).round().astype(int)
        return whole.assign(PRCP=(rain * 10).round().astype(int))
    return temp.assign(PRCP=rain)


def daily_csv(
    path: Path,
    days: pd.DataFrame,
    system: str = "metric",
    *,
    station: str = "USW00000001",
    date_format: str = "%Y-%m-%d",
    place: tuple[float, float, float] | None = (*PLACE, 60.0),
) -> Path:
    """Write a national daily station file."""
    table = in_unit(days, system)
    table.insert(0, "DATE", days["date"].dt.strftime(date_format))
    table.insert(0, "STATION", station)
    table.insert(1, "NAME", "SOMEWHERE, GA US")
    if place is not None:
        table[["LATITUDE", "LONGITUDE", "ELEVATION"]] = place
    table.to_csv(path, index=False)
    return path


def fixed_width(path: Path, days: pd.DataFrame, station: str = "USW00000001") -> Path:
    """Write the fixed-width form; no value is flagged."""
    table = in_unit(days, "tenths").assign(date=days["date"])
    lines = []
    for (year, month), own in table.groupby([table["date"].dt.year, table["date"].dt.month]):
        for element in ("TMAX", "TMIN", "PRCP"):
            value = dict(zip(own["date"].dt.day, own[element], strict=True))
            cells = "".join(f"{value.get(d, -9999):5d}  7" for d in range(1, 32))
            lines.append(f"{station}{year:04d}{month:02d}{element}{cells}")
    path.write_text("\n".join(lines) + "\n")
    return path


def gridded(path: Path, days: pd.DataFrame) -> Path:
    """Write a grid point: 365 days a year."""
    own = days[days["date"].dt.day_of_year <= 365]
    lines = [
        "Latitude: 31.5  Longitude: -84.0",
        "Tile: 11000",
        "Elevation: 60 meters",
        "",
        "year,yday,dayl (s),prcp (mm/day),srad (W/m^2),tmax (deg c),tmin (deg c)",
    ]
    for r in own.itertuples():
        lines.append(
            f"{r.date.year}.0,{r.date.day_of_year}.0,40000.0,{r.precip_mm},350.0,{r.tmax_c},{r.tmin_c}"
        )
    path.write_text("\n".join(lines) + "\n")
    return path


def agronomic(path: Path, days: pd.DataFrame, digits: int = 7) -> Path:
    """Write a crop-model file with dates of 7 or 5 digits."""
    lines = [
        "*WEATHER DATA : Somewhere",
        "",
        "@ INSI      LAT     LONG  ELEV   TAV   AMP REFHT WNDHT",
        "  SOME   31.500  -84.000    60  19.0  10.0   -99   -99",
        "@DATE  SRAD  TMAX  TMIN  RAIN".replace("@DATE", "@  DATE" if digits == 7 else "@DATE"),
    ]
    for r in days.itertuples():
        date = f"{r.date.year}{r.date.day_of_year:03d}"[-digits:]
        lines.append(f"{date}{18.5:6.1f}{r.tmax_c:6.1f}{r.tmin_c:6.1f}{r.precip_mm:6.1f}")
    path.write_text("\n".join(lines) + "\n")
    return path
