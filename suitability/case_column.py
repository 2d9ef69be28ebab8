"""What the days of a case are run with, and which cases are run with the very same.

A survey lists one soil under many keys, once for each map unit that it occurs in. Where the numbers
are the same the days are the same, and are run once.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.ground_position import ground_row
from suitability.prepared import Engine
from suitability.profile import soil_rows

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CaseColumn:
    """Arguments of ``case_run`` that a case brings, but for its gaps.

    ``soil`` and ``ground`` as ``soil_water.water_step`` takes them; ``outside_cm`` (12,) depth of
    the water outside by month, as ``lower_boundary.LowerBoundary`` has it.
    """

    soil: Floats
    ground: Floats
    outside_cm: Floats
    crust_index: float
    irrigation_mm_week: float
    weather_id: str

    @property
    def key(self) -> tuple[bytes, str]:
        """The same for cases with the same numbers; a missing number is a number here."""
        rest = np.array([self.crust_index, self.irrigation_mm_week])
        arrays = (self.soil, self.ground, self.outside_cm, rest)
        return b"".join(values.tobytes() for values in arrays), self.weather_id


def case_columns(engine: Engine) -> list[CaseColumn | None]:
    """Of each case; None where its soil, or the water below it, is not known."""
    profile = engine.profile
    row_of = {cokey: row for row, cokey in enumerate(profile.cokeys)}
    columns: list[CaseColumn | None] = []
    for case in engine.cases.itertuples(index=False):
        boundary = engine.boundaries.get((case.cokey, case.weather_id))
        if boundary is None or not boundary.is_fitted:
            columns.append(None)
            continue
        row = row_of[case.cokey]
        per_d = boundary.conductance_per_d
        columns.append(
            CaseColumn(
                soil_rows(profile, row),
                ground_row(profile, row, 0.0, per_d, case.position, bool(case.drained)),
                boundary.outside_cm,
                float(profile.crust_index[row]),
                float(case.irrigated_mm_week),
                str(case.weather_id),
            )
        )
    return columns


def alike(columns: Iterable[CaseColumn | None]) -> list[list[int]]:
    """Numbers of the cases that are run with the same, group by group; unknown ones in none."""
    groups: dict[tuple[bytes, str], list[int]] = {}
    for number, column in enumerate(columns):
        if column is not None:
            groups.setdefault(column.key, []).append(number)
    return list(groups.values())
