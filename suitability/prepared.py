"""What is prepared once for a farm before its days are simulated: soils, weather, water below."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from os import cpu_count

import pandas as pd

from suitability.crop import Crop
from suitability.daily_weather import DailyWeather, daily_weather
from suitability.lower_boundary import BoundaryFit, LowerBoundary, lower_boundary_fit
from suitability.profile import Profiles, profiles
from suitability.stand_run import ET0_MM, RAIN_MM


@dataclass(frozen=True)
class Engine:
    """All that is prepared once for a farm: columns, boundaries, weather and what is asked."""

    cases: pd.DataFrame
    gaps: tuple[tuple[tuple[str, str], ...], ...]
    profile: Profiles
    weather: dict[str, DailyWeather]
    boundaries: dict[tuple[str, str], LowerBoundary]
    crop: Crop


def prepare(
    cases: pd.DataFrame,
    gaps: tuple[tuple[tuple[str, str], ...], ...],
    components: pd.DataFrame,
    horizons: pd.DataFrame,
    months: pd.DataFrame,
    weather: pd.DataFrame,
    lat_deg: "pd.Series[float]",
    crop: Crop,
) -> Engine:
    """Make columns, weather arrays and lower boundaries of all cases.

    Parameters
    ----------
    cases : as ``cases.cases_of``. gaps : for each case, the gaps of the fields that have it.
    components, horizons, months, weather : tables of the contract.
    lat_deg : latitude of each weather_id [deg].
    """
    used = components[components["cokey"].isin(cases["cokey"])].reset_index(drop=True)
    profile = profiles(used, horizons)
    daily = {
        str(w): daily_weather(weather[weather["weather_id"] == w], float(lat_deg[w]))
        for w in cases["weather_id"].unique()
    }
    drainage = used.set_index("cokey")["drainage_class"]
    pairs = cases[["cokey", "weather_id"]].drop_duplicates()
    pairs = pairs[pairs["cokey"].isin(used["cokey"])]
    rows = {cokey: row for row, cokey in enumerate(profile.cokeys)}

    def fit_of(cokey: str, place: str) -> BoundaryFit:
        record = daily[place]
        named = drainage[cokey]
        return lower_boundary_fit(
            profile,
            rows[cokey],
            months,
            named if isinstance(named, str) else None,
            record.values[RAIN_MM],
            record.values[ET0_MM],
            record.month,
            record.doy,
        )

    # Tables are asked here and not on the threads: pandas changes the filters of warnings for a
    # moment in much that it does, and two that do so at once may leave them changed.
    fits = {key: fit_of(*key) for key in pairs.itertuples(index=False, name=None)}
    # One soil of the survey stands under many keys, and is fitted once for each weather.
    alike = {(place, fit.key): fit for (_, place), fit in fits.items()}
    with ThreadPoolExecutor(cpu_count()) as threads:
        fitted = dict(zip(alike, threads.map(lambda fit: fit.run(), alike.values()), strict=True))
    boundaries = {key: fitted[key[1], fit.key] for key, fit in fits.items()}
    return Engine(cases, gaps, profile, daily, boundaries, crop)
