"""In how many years water stands too long over ground in hollows, for many weeks at once."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.compiled import compiled

Floats = NDArray[np.float64]
Counts = NDArray[np.uint16]


class WetYears:
    """Counts years by sowing week as the days of the ponds come in, stretch by stretch.

    So that no more than a stretch of days is held: the ponds of a large area over 40 years are
    more than a small computer's memory.
    """

    def __init__(
        self,
        height_m: ArrayLike,
        sow_day: ArrayLike,
        known: NDArray[np.bool_],
        window_d: int,
        borne_d: float,
    ) -> None:
        """Ask for some heights and weeks.

        Parameters
        ----------
        height_m : (n_ponds, n_classes) heights of ground [m], rising along each row.
        sow_day : (n_weeks, n_years) row of the sowing day in the record, itself the first day of
            the window; -1 for a stand not asked for.
        known : (n_days,) days of the record with weather. A stand whose window runs beyond the
            record or holds a day without weather does not count.
        window_d : days of the window [d], less than a year.
        borne_d : longest run of days with standing water that the crop bears [d].
        """
        self._height_m = np.asarray(height_m, dtype=float)
        self._window_d, self._borne_d = window_d, borne_d
        starts = np.asarray(sow_day, dtype=np.int64)
        self._day_of_window = np.zeros((len(starts), len(known)), np.int16)
        self.n_years = np.zeros(len(starts), np.int64)
        for week, first in zip(*np.nonzero(starts >= 0), strict=True):
            days = slice(starts[week, first], starts[week, first] + window_d)
            if days.stop <= len(known) and known[days].all():
                self._day_of_window[week, days] = np.arange(1, window_d + 1)
                self.n_years[week] += 1
        shape = self._height_m.shape
        self._run_d = np.zeros(shape, np.int32)
        self._standing = np.zeros(shape[0], np.int64)
        self._too_long = np.zeros((len(starts), *shape), np.bool_)
        self._n_wet = np.zeros((len(starts), *shape), np.uint16)
        self._next_day = 0

    def take(self, level_m: Floats) -> None:
        """Take in the next days: levels (n_ponds, n_days) of ``ponds.PondDays`` [m]."""
        days = slice(self._next_day, self._next_day + level_m.shape[1])
        _count(
            level_m,
            self._height_m,
            self._day_of_window[:, days],
            self._window_d,
            self._borne_d,
            self._run_d,
            self._standing,
            self._too_long,
            self._n_wet,
        )
        self._next_day = days.stop

    def years_in_ten(self, week: int) -> Floats:
        """(n_ponds, n_classes) of one week; NaN where no year or no height is known."""
        if not self.n_years[week]:
            return np.full(self._height_m.shape, np.nan)
        share = 10.0 * self._n_wet[week] / self.n_years[week]
        return np.where(np.isnan(self._height_m), np.nan, share)


@compiled
def _count(
    level_m: Floats,
    height_m: Floats,
    day_of_window: NDArray[np.int16],
    window_d: int,
    borne_d: float,
    run_d: NDArray[np.int32],
    standing: NDArray[np.int64],
    too_long: NDArray[np.bool_],
    n_wet: Counts,
) -> None:
    """Take days in; ``standing`` is how many heights of each pond were under water the day before.

    No window is longer than its days so far, so a run may be left to stand between the windows.
    """
    n_ponds, n_classes = height_m.shape
    n_weeks = day_of_window.shape[0]
    is_open = np.empty(n_weeks, np.int64)
    for day in range(level_m.shape[1]):
        n_open = 0
        for week in range(n_weeks):
            if day_of_window[week, day] > 0:
                is_open[n_open] = week
                n_open += 1
        if n_open == 0:
            continue
        for pond in range(n_ponds):
            under = 0
            while under < n_classes and level_m[pond, day] > height_m[pond, under]:
                run_d[pond, under] += 1
                under += 1
            for rank in range(under, standing[pond]):
                run_d[pond, rank] = 0
            standing[pond] = under
            for rank in range(under):
                for k in range(n_open):
                    week = is_open[k]
                    if min(run_d[pond, rank], np.int32(day_of_window[week, day])) > borne_d:
                        too_long[week, pond, rank] = True
        for k in range(n_open):
            week = is_open[k]
            if day_of_window[week, day] == window_d:
                for pond in range(n_ponds):
                    for rank in range(n_classes):
                        n_wet[week, pond, rank] += np.uint16(too_long[week, pond, rank])
                        too_long[week, pond, rank] = False
