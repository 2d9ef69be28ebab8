"""Wet ground in the sowing weeks that are not the recommended one."""

from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.field_ponds import FieldPonds
from layers.ground import GroundRead
from layers.marked_ground import apply_marks
from layers.wet_cells import WetCells, years_by_week
from layers.wet_outlines import Cleaning
from layers.wet_weeks import wet_weeks
from suitability.columns import WET_CAUSES
from suitability.wet_weeks import WetWeeks

_LETTERS = r"(?<=\d)[a-z]+$"


@dataclass(frozen=True)
class LaidOdds:
    """Odds laid on the ground: the cells and ponds of each group, with the odds of the ponds.

    ``odds`` (n_parts, n_weeks) are those of ``parts``.
    """

    ground: GroundRead
    cells: tuple[WetCells, ...]
    ponds: tuple[FieldPonds | None, ...]
    pond_odds: tuple[dict[str, np.ndarray], ...]
    parts: pd.DataFrame
    odds: np.ndarray
    least_years_in_ten: float


def wet_by_week(
    laid: LaidOdds,
    simulated_weeks: tuple[str, ...],
    weeks: pd.DataFrame,
    sow_date: "pd.Series[str]",
    fields: gpd.GeoDataFrame,
    marks: gpd.GeoDataFrame | None,
    drawn: gpd.GeoDataFrame,
    wet_ids: "pd.Series[str]",
    cleaning: Cleaning,
    most_pct: float,
) -> WetWeeks:
    """The ground that was drawn at the recommended week, in every other week.

    Parameters
    ----------
    simulated_weeks : of ``laid.odds``. weeks : field_id and sow_date of every week in which a field
        can be sown. sow_date : the recommended week by field_id.
    fields, marks : FIELDS table and the grower's marks, with geometry.
    drawn : wet ground of the recommended weeks without the marks; wet_ids : ids of its pieces with
        them.
    most_pct : share of a map unit that must be wet for all of it to be drawn [pct].
    """
    ground = laid.ground
    years_of = [
        years_by_week(
            cells, ground, laid.parts, laid.odds, simulated_weeks, ponds, standing, most_pct
        )
        for cells, ponds, standing in zip(ground.cells, laid.ponds, laid.pond_odds, strict=True)
    ]

    def marked(pieces: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
        if marks is None:
            return pieces
        plain = pieces.assign(years_in_ten=np.nan, cause=WET_CAUSES[0], compname=None)
        return apply_marks(plain, marks, fields)[0]

    found = wet_weeks(
        ground,
        laid.cells,
        lambda number, week: years_of[number](week),
        weeks,
        sow_date,
        drawn,
        fields,
        laid.least_years_in_ten,
        cleaning,
        marked,
    )
    return found if marks is None else replace(found, spots=_of_pieces(found.spots, wet_ids))


def _of_pieces(spots: pd.DataFrame, wet_id: "pd.Series[str]") -> pd.DataFrame:
    """Odds of spots for the pieces that marks part them into, whose ids have a letter more."""
    of_spot = wet_id.str.replace(_LETTERS, "", regex=True)
    pieces = pd.DataFrame({"piece": wet_id, "wet_id": of_spot})
    found = spots.merge(pieces, on="wet_id").assign(wet_id=lambda table: table["piece"])
    return found[spots.columns].sort_values(["field_id", "wet_id", "sow_date"], ignore_index=True)
