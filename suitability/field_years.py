"""From the stands of its parts to a field's year: it worked, or what failed it first."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.case_run import RUN_EARLY_D, RUN_LATER_D
from suitability.compiled import compiled
from suitability.crop import Crop
from suitability.engine import Simulated
from suitability.gap import gap_days
from suitability.outcomes import N_OUTCOMES, UNKNOWN, WORKS, outcome
from suitability.sowing_weeks import weeks_in

_NUMBERS = ("growing_days", "dry_matter_60d_kg_ha", "dry_matter_end_kg_ha")


@dataclass(frozen=True)
class FieldYears:
    """Arrays (field, year, week); NaN, or UNKNOWN as outcome, where the week is not simulated.

    ``wet_run_d`` is the longest saturated run of any counted part. Numbers of the stand are means
    over the counted ground; ground without a stand counts with nothing on it.
    """

    field_ids: tuple[str, ...]
    years: tuple[int, ...]
    weeks: tuple[str, ...]
    outcome: NDArray[np.int8]
    end_cause: NDArray[np.int8]
    wet_run_d: NDArray[np.float32]
    growing_days: NDArray[np.float32]
    dry_matter_60d_kg_ha: NDArray[np.float32]
    dry_matter_end_kg_ha: NDArray[np.float32]


def field_years(
    simulated: Simulated, parts: pd.DataFrame, fields: pd.DataFrame, crop: Crop
) -> FieldYears:
    """Every field, year and week.

    Parameters
    ----------
    simulated : of ``engine.simulate``.
    parts : the parts that count: field_id, ``case`` (row of ``simulated.cases``, -1: not to be
        simulated) and area_ha. fields : FIELDS table with gap_opens and gap_closes.

    Notes
    -----
    A year fails for a field when more than ``policy.field_fails_pct`` of its known ground fails;
    the cause with most failing ground stands for it. Where less than
    ``policy.least_soil_cover_pct`` of its ground is known, so is the year.
    """
    gap = fields.set_index("field_id")[["gap_opens", "gap_closes"]]
    table = parts[["field_id", "case", "area_ha"]].join(gap, on="field_id")
    table = table.dropna(subset=["gap_opens", "gap_closes"])
    pairs = table.loc[table["case"] >= 0, ["case", "gap_opens", "gap_closes"]].drop_duplicates()
    pairs = pairs.reset_index(drop=True)
    of_pair = _outcomes_of_pairs(simulated, pairs, crop)
    numbered = table.merge(
        pairs.assign(pair=pairs.index), on=["case", "gap_opens", "gap_closes"], how="left"
    )
    numbered = numbered.sort_values("field_id", kind="stable")
    field_ids = tuple(numbered["field_id"].drop_duplicates())
    start = np.searchsorted(
        numbered["field_id"].to_numpy(dtype=str), np.array(field_ids, dtype=str)
    )
    shape = (len(field_ids), len(simulated.years), len(simulated.weeks))
    codes = np.full((2, *shape), UNKNOWN, dtype=np.int8)
    numbers = np.full((4, *shape), np.nan, dtype=np.float32)
    _gather(
        np.append(start, len(numbered)).astype(np.int64),
        numbered["pair"].fillna(-1).to_numpy(dtype=np.int64),
        numbered["area_ha"].to_numpy(dtype=float),
        of_pair["outcome"],
        of_pair["end_cause"],
        np.stack([of_pair[name] for name in _NUMBERS]),
        of_pair["wet_run_d"],
        crop.number("policy.field_fails_pct") / 100,
        crop.number("policy.least_soil_cover_pct") / 100,
        codes,
        numbers,
    )
    return FieldYears(
        field_ids, simulated.years, simulated.weeks, codes[0], codes[1], numbers[3], *numbers[:3]
    )


def _outcomes_of_pairs(
    simulated: Simulated, pairs: pd.DataFrame, crop: Crop
) -> dict[str, NDArray[np.float64]]:
    """Outcomes (pair, year, week) of each case under each gap that its fields have."""
    close = np.full((len(pairs), 1, len(simulated.weeks)), np.nan)
    for i, (_, opens, closes) in enumerate(pairs.itertuples(index=False)):
        inside = set(weeks_in(opens, closes))
        for k, week in enumerate(simulated.weeks):
            if week in inside:
                close[i, 0, k] = gap_days(week, closes)
    rows = pairs["case"].to_numpy(dtype=int)
    found = outcome(
        simulated.result[rows],
        simulated.standing[rows],
        close,
        crop.number("odds.season_needed_d"),
        crop.number("odds.least_dry_matter_kg_ha"),
    )
    runs = simulated.result[rows][..., [RUN_EARLY_D, RUN_LATER_D]].astype(float)
    found["wet_run_d"] = np.where(found["outcome"] == UNKNOWN, np.nan, runs.max(axis=-1))
    return found


@compiled
def _gather(
    start: NDArray[np.int64],
    pair: NDArray[np.int64],
    area_ha: NDArray[np.float64],
    outcomes: NDArray[np.float64],
    end_causes: NDArray[np.float64],
    values: NDArray[np.float64],
    wet_runs: NDArray[np.float64],
    fails_frac: float,
    known_frac: float,
    codes: NDArray[np.int8],
    numbers: NDArray[np.float32],
) -> None:
    """Sum the parts of each field; ``codes`` and ``numbers`` are filled in place."""
    by_cause = np.zeros(N_OUTCOMES)
    by_end = np.zeros(4)
    sums = np.zeros(3)
    for f in range(len(start) - 1):
        for y in range(outcomes.shape[1]):
            for w in range(outcomes.shape[2]):
                by_cause[:] = 0.0
                by_end[:] = 0.0
                sums[:] = 0.0
                total, known, run = 0.0, 0.0, 0.0
                for p in range(start[f], start[f + 1]):
                    total += area_ha[p]
                    q = pair[p]
                    if q < 0 or outcomes[q, y, w] < 0:
                        continue
                    known += area_ha[p]
                    by_cause[int(outcomes[q, y, w])] += area_ha[p]
                    by_end[int(end_causes[q, y, w])] += area_ha[p]
                    run = max(run, wet_runs[q, y, w])
                    for k in range(3):
                        sums[k] += area_ha[p] * values[k, q, y, w]
                if known <= 0.0 or known < known_frac * total:
                    continue
                worst = WORKS
                if known - by_cause[WORKS] > fails_frac * known:
                    worst = 1 + int(np.argmax(by_cause[1:]))
                codes[0, f, y, w] = worst
                codes[1, f, y, w] = int(np.argmax(by_end))
                for k in range(3):
                    numbers[k, f, y, w] = sums[k] / known
                numbers[3, f, y, w] = run
