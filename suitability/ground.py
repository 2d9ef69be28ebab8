"""What the four questions are asked of: parts of fields with soil, months and what is known."""

from dataclasses import dataclass

import pandas as pd

from suitability.columns import FREEZE_COLUMNS, KNOWLEDGE
from suitability.contract import names

PART_KEYS = ["field_id", "mukey", "cokey", "position", "drained"]


@dataclass(frozen=True)
class Ground:
    """One row of ``parts`` is one part: its keys, its component's columns, its field's knowledge.

    ``horizons`` and ``months`` are the survey's tables, joined by cokey when a question needs
    them.
    """

    parts: pd.DataFrame
    horizons: pd.DataFrame
    months: pd.DataFrame

    def by_component(self, series: "pd.Series[float]") -> "pd.Series[float]":
        """A value by component laid out on the parts."""
        return self.parts["cokey"].map(series).astype(float)


def ground(
    fields: pd.DataFrame,
    parts: pd.DataFrame,
    components: pd.DataFrame,
    horizons: pd.DataFrame,
    months: pd.DataFrame,
) -> Ground:
    """Join the tables of the contract into what the questions read.

    ``fields`` may have FREEZE_COLUMNS; without them the parts have them empty.
    """
    known = fields.reindex(columns=["field_id", "area_ha", *names(KNOWLEDGE), *FREEZE_COLUMNS])
    known = known.rename(columns={"drained": "field_drained", "area_ha": "field_area_ha"})
    joined = parts.merge(components.drop(columns="mukey"), on="cokey", how="left", validate="m:1")
    joined = joined.merge(known, on="field_id", how="left", validate="m:1")
    return Ground(joined.reset_index(drop=True), horizons, months)
