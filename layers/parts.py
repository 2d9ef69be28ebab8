"""Parts: each field by map unit, soil and ground position, with its hectares."""

import geopandas as gpd
import pandas as pd

from layers.overlay import Overlay
from layers.soil_map.combine import component_shares
from suitability.columns import PARTS, UNSURVEYED
from suitability.contract import check, names


def build_parts(
    fields: gpd.GeoDataFrame,
    cut: Overlay,
    components: pd.DataFrame,
    weather_id: pd.Series | None = None,
) -> pd.DataFrame:
    """The PARTS table of a farm, all in position ``unplaced``.

    Parameters
    ----------
    fields : FIELDS table. cut : the soil map laid over them.
    components : COMPONENTS table of the survey.
    weather_id : weather cell by field_id, None where a field has none.

    Notes
    -----
    A map unit's area goes to its soils by their listed shares; open water and other ground share
    it only where the unit has no soil at all. Ground that no survey covers, and map units without
    a listed soil, become parts with cokey ``unsurveyed``. The parts of a field add up to its area.
    """
    soils = component_shares(components)
    other = components[~components["mukey"].isin(soils.dropna()["mukey"])]
    shares = pd.concat([soils, component_shares(other, kinds=("water", "not soil"))])
    shares = shares.dropna(subset="share_frac")
    pieces = pd.DataFrame(cut.pieces[["field_id", "mukey", "area_ha"]])
    known = pieces.merge(shares, on="mukey", how="left")
    known["cokey"] = known["cokey"].fillna(UNSURVEYED)
    known["area_ha"] = known["area_ha"] * known["share_frac"].fillna(1.0)
    parts = pd.concat([known, _rest(fields, pieces)], ignore_index=True)
    return parts_of_fields(parts.assign(position="unplaced"), fields, weather_id)


def parts_of_fields(
    ground: pd.DataFrame, fields: gpd.GeoDataFrame, weather_id: pd.Series | None
) -> pd.DataFrame:
    """The PARTS table: ground by soil and position, with what each part has of its field.

    Parameters
    ----------
    ground : field_id, mukey, cokey, position and area_ha.
    fields, weather_id : as in ``build_parts``.
    """
    of_field = ground["field_id"]
    drained = fields.set_index("field_id")["drained"].eq(True).fillna(False)
    parts = ground.assign(drained=of_field.map(drained).astype(bool), weather_id=None)
    if weather_id is not None:
        cell = of_field.map(weather_id).astype(object)
        parts["weather_id"] = cell.where(cell.notna(), None)
    return check(parts[names(PARTS)], PARTS, "The table of parts")


def _rest(fields: gpd.GeoDataFrame, pieces: pd.DataFrame) -> pd.DataFrame:
    area = fields.set_index("field_id")["area_ha"]
    rest = area - pieces.groupby("field_id")["area_ha"].sum().reindex(area.index).fillna(0.0)
    # Less than a millionth of a field is rounding, not ground.
    rest = rest[rest > area * 1e-6]
    return pd.DataFrame(
        {
            "field_id": rest.index,
            "mukey": UNSURVEYED,
            "cokey": UNSURVEYED,
            "area_ha": rest.to_numpy(),
        }
    )
