"""Whole seasons of the crop on real weather and one bucket of soil water, to set beside trials."""

import functools

import numpy as np
import pandas as pd
from real_data import real

from suitability import growth
from suitability.crop import load_crop
from suitability.evapotranspiration import (
    extraterrestrial_step,
    hargreaves_step,
    solar_from_range_step,
)

GEORGIA = ("GA_Newton_11_SW", "GA_Newton_8_W")
OKLAHOMA = ("OK_Stillwater_2_W", "OK_Stillwater_5_WNW")
ALABAMA = "AL_Gadsden_19_N"
DEEPEST_ROOTS_MM_PER_CM = {"sand": 0.7, "sandy loam": 1.0, "loam": 1.5}  # plant-available water


def _with_sun(days, lat_deg):
    days = days.assign(lat_deg=lat_deg, doy=days["date"].dt.day_of_year)
    ra = np.array([extraterrestrial_step(lat_deg, d) for d in days["doy"]])
    sun = np.array(
        [
            solar_from_range_step(x, n, r)
            for x, n, r in zip(days.tmax_c, days.tmin_c, ra, strict=True)
        ]
    )
    known = days["solar"].to_numpy() if "solar" in days else np.full(len(days), np.nan)
    return days.assign(ra=ra, solar=np.where(np.isnan(known), sun, known)).set_index("date")


@functools.cache
def station(name):
    """One station of 2020 with its measured sunlight; days without rain reading count as dry."""
    table = pd.read_csv(real("soil_temperature", "stations_2020.csv"), parse_dates=["date"])
    table = table[table["station"] == name].rename(columns={"solar_mj_m2": "solar"})
    table[["tmax_c", "tmin_c"]] = table[["tmax_c", "tmin_c"]].interpolate(limit_direction="both")
    table["precip_mm"] = table["precip_mm"].fillna(0.0)
    kept = table[["date", "tmax_c", "tmin_c", "precip_mm", "solar"]].reset_index(drop=True)
    return _with_sun(kept, float(table["lat"].iloc[0]))


@functools.cache
def north_florida():
    """Gainesville, 1985-2022 (the file is in F and inches); sunlight from the range."""
    table = pd.read_csv(
        real("weather", "ghcnd_gainesville_fl_USW00012816_1960-2022.csv"), parse_dates=["DATE"]
    )
    table = table[table["DATE"] >= "1985"]
    days = pd.DataFrame(
        {
            "date": table["DATE"],
            "tmax_c": (table["TMAX"] - 32) / 1.8,
            "tmin_c": (table["TMIN"] - 32) / 1.8,
            "precip_mm": table["PRCP"].fillna(0) * 25.4,
        }
    )
    days = days.set_index("date").resample("D").mean().reset_index()
    days[["tmax_c", "tmin_c"]] = days[["tmax_c", "tmin_c"]].interpolate(limit_direction="both")
    days["precip_mm"] = days["precip_mm"].fillna(0.0)
    return _with_sun(days, 29.69)


@functools.cache
def tennessee():
    """Oak Ridge cell, 2000-2010, with its sunlight (mean of the lit hours times their length)."""
    path = real("weather", "daymet_oakridge_tn_single_pixel.csv")
    table = pd.read_csv(path, skiprows=7)
    table.columns = [c.split(" ")[0] for c in table.columns]
    dates = pd.to_datetime(table["year"].astype(int).astype(str), format="%Y") + pd.to_timedelta(
        table["yday"] - 1, unit="D"
    )
    days = pd.DataFrame(
        {
            "date": dates,
            "tmax_c": table["tmax"],
            "tmin_c": table["tmin"],
            "precip_mm": table["prcp"],
            "solar": table["srad"] * table["dayl"] / 1e6,
        }
    )
    return _with_sun(days, 36.0133)


def season(days, sown, length_d, soil="sandy loam", parameters=None, watered=False):
    """States of the stand (length_d, growth.STATE_SIZE), sown on a full bucket, up after 5 days."""
    crop = load_crop("sunn_hemp")
    p = growth.growth_parameters(crop) if parameters is None else parameters
    part = days.loc[pd.Timestamp(sown) :].iloc[:length_d]
    assert len(part) == length_d, f"{sown}: the record ends after {len(part)} days"
    state, out = np.zeros(growth.STATE_SIZE), np.zeros((length_d, growth.STATE_SIZE))
    per_cm, missing_mm = DEEPEST_ROOTS_MM_PER_CM[soil], 0.0
    for i, day in enumerate(part.itertuples()):
        if i < 5:
            continue
        if i == 5:
            growth.emerge(state, 1.0, p)
        hold_mm = per_cm * max(30.0, state[growth.ROOT])
        left = 1.0 if watered else (hold_mm - missing_mm) / (0.55 * hold_mm)
        stress = min(1.0, max(0.0, left))
        et0 = hargreaves_step(day.tmax_c, day.tmin_c, day.ra)
        cover = state[growth.COVER]
        used_mm = et0 * (stress * 1.1 * cover + 0.3 * (1 - cover))
        missing_mm = min(hold_mm, max(0.0, missing_mm + used_mm - day.precip_mm))
        growth.growth_step(state, day.tmax_c, day.tmin_c, day.solar, stress, 1.0, p)
        out[i] = state
    return out
