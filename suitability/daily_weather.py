"""Daily weather of one place as the arrays that the day steps read, without a day left out."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.evapotranspiration import (
    extraterrestrial_mj_m2_d,
    hargreaves_et0_mm_d,
    net_longwave_mj_m2_d,
    solar_from_range_mj_m2_d,
)
from suitability.stand_run import (
    ET0_MM,
    GROUND_SOLAR,
    LONGWAVE,
    N_WEATHER,
    RAIN_MM,
    SOLAR,
    TMAX_C,
    TMIN_C,
)


@dataclass(frozen=True)
class DailyWeather:
    """``values`` (N_WEATHER, n_days), missing is NaN; ``dates`` of its days, none left out."""

    values: NDArray[np.float64]
    dates: pd.DatetimeIndex

    @cached_property
    def doy(self) -> NDArray[np.float64]:
        """Day of the year of each day, 1 to 366."""
        return np.asarray(self.dates.day_of_year, dtype=float)

    @cached_property
    def month(self) -> NDArray[np.int64]:
        """Month of each day, 1 to 12."""
        return np.asarray(self.dates.month, dtype=np.int64)

    @property
    def years(self) -> tuple[int, ...]:
        """Years of the record, also those of which only a part is there."""
        return tuple(range(self.dates[0].year, self.dates[-1].year + 1))

    def row(self, year: int, mmdd: str) -> int:
        """Row of a day; -1 where the record does not reach it. 29 February stands for 1 March."""
        month, day = int(mmdd[:2]), int(mmdd[3:])
        if (month, day) == (2, 29):
            month, day = 3, 1
        row = (pd.Timestamp(year, month, day) - self.dates[0]).days
        return row if 0 <= row < len(self.dates) else -1


def daily_weather(weather: pd.DataFrame, lat_deg: float) -> DailyWeather:
    """Arrays of one station.

    Parameters
    ----------
    weather : WEATHER rows of one weather_id, short gaps already filled. lat_deg : latitude [deg].

    Notes
    -----
    Solar radiation that the record lacks comes from the temperature range (FAO-56 equation 50),
    reference evapotranspiration from Hargreaves (equation 52). What warms the ground is reckoned
    from the range always, as the soil temperature was fitted so.
    """
    days = weather.set_index("date").sort_index()
    dates = pd.date_range(days.index[0], days.index[-1], freq="D")
    days = days.reindex(dates)
    tmax, tmin = days["tmax_c"].to_numpy(dtype=float), days["tmin_c"].to_numpy(dtype=float)
    ra = extraterrestrial_mj_m2_d(lat_deg, dates.day_of_year.to_numpy(dtype=float))
    solar = days["solar_mj_m2_d"].to_numpy(dtype=float)
    values = np.empty((N_WEATHER, len(dates)))
    values[TMAX_C], values[TMIN_C] = tmax, tmin
    values[RAIN_MM] = days["precip_mm"].to_numpy(dtype=float)
    from_range = solar_from_range_mj_m2_d(tmax, tmin, ra)
    values[SOLAR] = np.where(np.isnan(solar), from_range, solar)
    values[GROUND_SOLAR] = from_range
    values[LONGWAVE] = net_longwave_mj_m2_d(tmax, tmin, from_range, ra)
    values[ET0_MM] = hargreaves_et0_mm_d(tmax, tmin, ra)
    return DailyWeather(values, pd.DatetimeIndex(dates))
