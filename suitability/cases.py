"""Cases: the distinct combinations of soil, ground position, drainage, weather and irrigation.

A county has a hundred thousand fields but some thousand cases. Everything that goes day by day
runs once per case; parts of fields look their case up.
"""

from collections.abc import Iterable

import pandas as pd

from suitability.columns import POSITIONS
from suitability.ground import PART_KEYS
from suitability.horizon_water import setting

CASE_COLUMNS = ["cokey", "position", "drained", "weather_id", "irrigated_mm_week"]


def cases_of(
    parts: pd.DataFrame, fields: pd.DataFrame, at_home: Iterable[str] = ()
) -> tuple[pd.DataFrame, "pd.Series[int]"]:
    """The distinct cases of a table of parts, and the case of each part.

    Parameters
    ----------
    parts : PARTS table. fields : FIELDS table; ``irrigated_mm_week`` missing means none.
    at_home : cokeys of soils that were placed on the very ground that the survey describes them
        on, such as a depressional soil in a hollow: its water is listed as it is there, so that
        the position changes nothing any more.

    Notes
    -----
    Slivers of a field (``tables/soil_water.csv``) are run as if they lay where most of the same
    soil of their map unit lies in that field, so that they make no cases of their own; hollows are
    not. Their areas stay theirs.

    Returns
    -------
    cases : one row a case with CASE_COLUMNS, in a fixed order whatever the order of the parts.
    case : row number in ``cases`` of every part, indexed by the part keys; -1 where the part has
        no weather or no soil, so that nothing can be simulated.
    """
    water = fields.set_index("field_id")["irrigated_mm_week"].astype(float).fillna(0.0)
    position = _position(parts).mask(parts["cokey"].isin(list(at_home)), POSITIONS[0])
    rain = parts["field_id"].map(water).astype(float)
    table = parts.assign(irrigated_mm_week=rain, position=position)
    can_run = table["weather_id"].notna() & table["cokey"].notna()
    cases = (
        table.loc[can_run, CASE_COLUMNS]
        .drop_duplicates()
        .sort_values(CASE_COLUMNS)
        .reset_index(drop=True)
    )
    numbered = table.merge(cases.assign(case=cases.index), on=CASE_COLUMNS, how="left")
    case = numbered["case"].fillna(-1).astype(int)
    case.index = pd.MultiIndex.from_frame(parts[PART_KEYS])
    return cases, case


def _position(parts: pd.DataFrame) -> "pd.Series[str]":
    """The position each part is run at."""
    area_ha = parts["area_ha"].astype(float)
    share_pct = 100 * area_ha / area_ha.groupby(parts["field_id"]).transform("sum")
    sliver = (share_pct < setting("sliver_pct")) & (area_ha < setting("sliver_ha"))
    sliver &= parts["position"] != POSITIONS[-1]
    ranked = parts.assign(area_ha=area_ha).sort_values(
        ["area_ha", "position"], ascending=[False, True], kind="stable"
    )
    keys = ["field_id", "mukey", "cokey", "drained"]
    largest = ranked.groupby(keys, dropna=False)["position"].transform("first")
    return parts["position"].mask(sliver, largest.reindex(parts.index))
