"""From the stands of its parts to a field's year: it worked, or what failed it first."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.compiled import compiled, inlined
from suitability.crop import Crop
from suitability.engine import Simulated
from suitability.gap import gap_days
from suitability.outcomes import N_END_CAUSES, N_OUTCOMES, UNKNOWN, WORKS, outcome
from suitability.sowing_weeks import weeks_in
from suitability.stand_run import RUN_EARLY_D, RUN_LATER_D

_MEANS = ("growing_days", "dry_matter_60d_kg_ha", "dry_matter_end_kg_ha")  # of all ground
_OF_STAND = ("emerged_d", "end_d")  # of the ground that came up
_GAP = ["gap_opens", "gap_closes"]


@dataclass(frozen=True)
class FieldYears:
    """Arrays (field, year, week); NaN, or UNKNOWN as outcome, where the year is not known.

    ``stand_frac`` is the share of the ground that came up; ``wet_run_d`` the run of saturated
    days that more than ``policy.field_fails_pct`` of the ground stood. ``growing_days`` and dry
    matter are means over the counted ground, and ground without a stand counts with nothing on it;
    ``emerged_d`` and ``end_d``, days from the first day of the sowing week, are those by which half
    of the ground that came up was up and over. ``in_gap`` (field, week) says which weeks are of the
    field's gap, whether anything is known of them or not; None: those of which something is.
    """

    field_ids: tuple[str, ...]
    years: tuple[int, ...]
    weeks: tuple[str, ...]
    outcome: NDArray[np.int8]
    end_cause: NDArray[np.int8]
    growing_days: NDArray[np.float32]
    dry_matter_60d_kg_ha: NDArray[np.float32]
    dry_matter_end_kg_ha: NDArray[np.float32]
    emerged_d: NDArray[np.float32]
    end_d: NDArray[np.float32]
    wet_run_d: NDArray[np.float32]
    stand_frac: NDArray[np.float32]
    in_gap: NDArray[np.bool_] | None = None


@dataclass(frozen=True)
class GroundYears:
    """What became of each case under each gap, and the ground of each field that has it.

    ``parts`` has field_id, area_ha and ``pair``, the row in the arrays of ``of_pair`` (pair, year,
    week); -1: not simulated. Fields lie in the order of their ids. ``in_gap`` (pair, week): whether
    the week is of the gap.
    """

    parts: pd.DataFrame
    years: tuple[int, ...]
    weeks: tuple[str, ...]
    of_pair: dict[str, NDArray[np.float32]]
    fails_frac: float
    known_frac: float
    in_gap: NDArray[np.bool_]

    @cached_property
    def rows_of(self) -> dict[str, range]:
        """Rows of ``parts`` of each field with a gap and ground that counts."""
        ids = self.parts["field_id"].to_numpy(dtype=object)
        first = np.flatnonzero(ids[1:] != ids[:-1]) + 1
        bounds = [0, *first.tolist(), len(ids)] if len(ids) else []
        return {str(ids[a]): range(a, b) for a, b in pairwise(bounds)}

    @property
    def field_ids(self) -> tuple[str, ...]:
        """Fields with a gap and ground that counts."""
        return tuple(self.rows_of)


def ground_years(
    simulated: Simulated, parts: pd.DataFrame, fields: pd.DataFrame, crop: Crop
) -> GroundYears:
    """Every case under every gap, from which ``field_years`` sums up fields.

    Parameters
    ----------
    simulated : of ``engine.simulate``.
    parts : the parts that count: field_id, ``case`` (row of ``simulated.cases``, -1: not to be
        simulated) and area_ha. fields : FIELDS table with gap_opens and gap_closes.
    """
    gap = fields.set_index("field_id")[_GAP]
    table = parts[["field_id", "case", "area_ha"]].join(gap, on="field_id").dropna(subset=_GAP)
    pairs = table.loc[table["case"] >= 0, ["case", *_GAP]].drop_duplicates()
    pairs = pairs.sort_values(["case", *_GAP]).reset_index(drop=True)
    numbered = table.merge(pairs.assign(pair=pairs.index), on=["case", *_GAP], how="left")
    numbered["pair"] = numbered["pair"].fillna(-1).astype(np.int64)
    # In one order whatever that of the parts, so that the last digit of a sum is the same too.
    numbered = numbered.sort_values(["field_id", "pair", "area_ha"]).reset_index(drop=True)
    close = [_days_to_close(simulated.weeks, *gap) for gap in pairs[_GAP].to_numpy()]
    close_d = np.array(close, dtype=float).reshape(len(pairs), len(simulated.weeks))
    return GroundYears(
        numbered[["field_id", "pair", "area_ha"]],
        simulated.years,
        simulated.weeks,
        _outcomes_of_pairs(simulated, pairs, close_d, crop),
        crop.number("policy.field_fails_pct") / 100,
        crop.number("policy.least_soil_cover_pct") / 100,
        ~np.isnan(close_d),
    )


def field_years(ground: GroundYears, field_ids: Sequence[str] | None = None) -> FieldYears:
    """Every year and week of these fields; of all by default.

    Notes
    -----
    A year fails for a field when more than ``policy.field_fails_pct`` of its known ground fails;
    the cause with most failing ground stands for it. Where less than
    ``policy.least_soil_cover_pct`` of its ground is known, so is the year. The arrays take some
    30 bytes a field, year and week: thousands of fields are asked for in blocks.
    """
    asked = ground.rows_of if field_ids is None else set(field_ids)
    rows_of = {i: ground.rows_of[i] for i in sorted(asked) if i in ground.rows_of}
    parts = ground.parts.iloc[[row for rows in rows_of.values() for row in rows]]
    first = np.cumsum([0, *(len(rows) for rows in rows_of.values())])
    shape = (len(rows_of), len(ground.years), len(ground.weeks))
    codes = np.full((2, *shape), UNKNOWN, dtype=np.int8)
    n_numbers = len(_MEANS) + len(_OF_STAND)
    numbers = np.full((n_numbers + 2, *shape), np.nan, dtype=np.float32)
    _gather(
        first.astype(np.int64),
        parts["pair"].to_numpy(dtype=np.int64),
        parts["area_ha"].to_numpy(dtype=float),
        ground.of_pair["codes"],
        ground.of_pair["numbers"],
        ground.fails_frac,
        ground.known_frac,
        codes,
        numbers,
    )
    in_gap = np.zeros((shape[0], shape[2]), dtype=bool)
    # All ground of a field has one gap, and ground that is not simulated (-1) lies first.
    last = parts["pair"].to_numpy(dtype=np.int64)[first[1:] - 1]
    in_gap[last >= 0] = ground.in_gap[last[last >= 0]]
    of_years = codes[0], codes[1], *numbers, in_gap
    return FieldYears(tuple(rows_of), ground.years, ground.weeks, *of_years)


def _outcomes_of_pairs(
    simulated: Simulated, pairs: pd.DataFrame, close_d: NDArray[np.float64], crop: Crop
) -> dict[str, NDArray[np.float32]]:
    """Outcomes (pair, year, week) of each case under each gap that its fields have."""
    case = pairs["case"].to_numpy(dtype=np.int64)
    found = outcome(
        simulated.result,
        simulated.standing,
        case,
        close_d,
        crop.number("odds.season_needed_d"),
        crop.number("odds.least_dry_matter_kg_ha"),
    )
    early_d, later_d = (simulated.result[..., run][case] for run in (RUN_EARLY_D, RUN_LATER_D))
    runs_d = np.where(found["outcome"] == UNKNOWN, np.nan, np.maximum(early_d, later_d))
    return {
        "codes": np.stack([found["outcome"], found["end_cause"]]),
        "numbers": np.stack([*(found[name] for name in (*_MEANS, *_OF_STAND)), runs_d]),
    }


def _days_to_close(weeks: tuple[str, ...], opens: str, closes: str) -> list[float]:
    inside = set(weeks_in(opens, closes))
    return [gap_days(week, closes) if week in inside else np.nan for week in weeks]


@compiled
def _gather(
    start: NDArray[np.int64],
    pair: NDArray[np.int64],
    area_ha: NDArray[np.float64],
    of_pair: NDArray[np.float32],
    values: NDArray[np.float32],
    fails_frac: float,
    known_frac: float,
    codes: NDArray[np.int8],
    numbers: NDArray[np.float32],
) -> None:
    """Sum the parts of each field; ``codes`` and ``numbers`` are filled in place.

    ``of_pair`` are outcome and end cause; ``values`` three to be averaged over all ground, two days
    of the ground that came up, and the wet run.
    """
    by_cause, by_end = np.zeros(N_OUTCOMES), np.zeros(N_END_CAUSES)
    sums = np.zeros(3)
    for f in range(len(start) - 1):
        for y in range(of_pair.shape[2]):
            for w in range(of_pair.shape[3]):
                by_cause[:] = 0.0
                by_end[:] = 0.0
                sums[:] = 0.0
                total, known, up = 0.0, 0.0, 0.0
                for p in range(start[f], start[f + 1]):
                    total += area_ha[p]
                    q = pair[p]
                    if q < 0 or of_pair[0, q, y, w] < 0:
                        continue
                    known += area_ha[p]
                    by_cause[int(of_pair[0, q, y, w])] += area_ha[p]
                    for k in range(3):
                        sums[k] += area_ha[p] * values[k, q, y, w]
                    if not np.isnan(values[3, q, y, w]):
                        up += area_ha[p]
                        by_end[int(of_pair[1, q, y, w])] += area_ha[p]
                if known <= 0.0 or known < known_frac * total:
                    continue
                worst = WORKS
                if known - by_cause[WORKS] > (fails_frac + 1e-9) * known:
                    worst = _place_of_most(by_cause, 1)
                codes[0, f, y, w] = worst
                codes[1, f, y, w] = _place_of_most(by_end, 0)
                for k in range(3):
                    numbers[k, f, y, w] = sums[k] / known
                for k in range(3, 6):
                    # Days run the other way: that by which half of what came up was there.
                    sign = 1.0 if k == 5 else -1.0
                    least_ha = (fails_frac + 1e-9) * known if k == 5 else 0.5 * up
                    largest = np.nan
                    for p in range(start[f], start[f + 1]):
                        value = sign * _value(values, k, pair[p], y, w)
                        if np.isnan(value) or value <= largest:
                            continue
                        as_large_ha = 0.0
                        for other in range(start[f], start[f + 1]):
                            if sign * _value(values, k, pair[other], y, w) >= value:
                                as_large_ha += area_ha[other]
                        if as_large_ha > least_ha:
                            largest = value
                    numbers[k, f, y, w] = sign * largest
                numbers[6, f, y, w] = up / known


@inlined
def _value(values: NDArray[np.float32], k: int, pair: int, y: int, w: int) -> float:
    return float(values[k, pair, y, w]) if pair >= 0 else np.nan


@inlined
def _place_of_most(values: NDArray[np.float64], first: int) -> int:
    """Index of the largest from ``first`` on; of equals the first."""
    most = first
    for i in range(first + 1, len(values)):
        if values[i] > values[most]:
            most = i
    return most
