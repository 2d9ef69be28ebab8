"""The invented soil map: which soil lies where, with smooth borders and no gaps."""

import _terrain as terrain
import geopandas as gpd
import numpy as np
import shapely
from _soils import UNITS
from numpy.typing import NDArray
from rasterio.features import shapes
from rasterio.transform import from_origin
from scipy import ndimage
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

CRS = "EPSG:5070"
AREA_SYMBOL = "ZZ901"
BLOCK = 3  # cells of the ground to one of the sketch, so 9 m
SMALLEST_M2 = 8_000.0  # two acres: a surveyor draws nothing smaller, water apart
# North-east of this line lies the next survey area, not yet published.
AREA_ENDS = ((1640, 2100), (2580, 1158), (2580, 0), (0, 0), (0, 2100))


def _sketch(ground: terrain.Ground, rng: np.random.Generator) -> NDArray[np.int64]:
    """Which map unit each cell belongs to, by its place on the ground: an index into UNITS."""
    at = {symbol: i for i, symbol in enumerate(unit.symbol for unit in UNITS)}
    x, y = terrain.centres()
    filled = np.where(np.isnan(ground.height_m), ground.upland_m, ground.height_m)
    soft = ndimage.gaussian_filter(filled, 7)
    down_row, down_col = np.gradient(soft, terrain.CELL_M)
    slope_pct = ndimage.gaussian_filter(100 * np.hypot(down_row, down_col), 7)
    rise = np.clip((soft - ground.bed_m) / (ground.upland_m - ground.bed_m), 0, 1)
    sand, wander = terrain.noise(rng, 150), terrain.noise(rng, 60)

    unit = np.full(soft.shape, at["FhB"])
    unit[sand + 0.9 * (slope_pct - 2.0) * (slope_pct < 3.5) > 1.15] = at["QhB"]
    flat = (rise > 0.85) & (slope_pct + 0.15 * wander < 1.4)
    unit[flat & (sand < 0.35)] = at["TwA"]
    unit[flat & (sand > 0.95)] = at["QhB"]
    for hollow in terrain.HOLLOWS:
        away = np.hypot(x - hollow.x_m, y - hollow.y_m) - 1.1 * hollow.long_m
        unit[away < 42 + 14 * wander] = at["TwA"]
    unit[slope_pct > 3.6 + 0.25 * wander] = at["RgC2"]
    for knoll in terrain.KNOLLS:
        unit[terrain.spot_radius(knoll, x, y) < 1.45 + 0.15 * wander] = at["KfB"]
    toe_m = 95 + ground.terrace_m
    foot = np.minimum(ground.creek_distance_m - toe_m, ground.branch_distance_m - 42)
    unit[(foot < 16 * wander) & (rise < 0.55)] = at["DsA"]
    wet = np.minimum(ground.creek_distance_m - 52, ground.branch_distance_m - 20)
    unit[wet < 7 * wander] = at["SgA"]
    return unit


def _settle(unit: NDArray[np.int64], cell_m: float) -> NDArray[np.int64]:
    """Smooth the sketch and give pieces too small to draw to their neighbours."""
    kinds = np.unique(unit)
    for _ in range(2):
        soft = [ndimage.gaussian_filter((unit == kind).astype(float), 2.0) for kind in kinds]
        unit = kinds[np.argmax(soft, axis=0)]
    small = np.zeros(unit.shape, bool)
    for kind in kinds:
        labels, count = ndimage.label(unit == kind)
        sizes = ndimage.sum_labels(np.ones(unit.shape), labels, np.arange(count + 1))
        small |= (sizes[labels] * cell_m**2 < SMALLEST_M2) & (labels > 0)
    where = ndimage.distance_transform_edt(small, return_distances=False, return_indices=True)
    return np.asarray(unit[tuple(where)])


def _rounded(line: LineString, coarse_m: float) -> LineString:
    """Cut the corners of a border three times over; its ends stay."""
    xy = shapely.get_coordinates(line.simplify(coarse_m))
    closed = bool(np.allclose(xy[0], xy[-1]))
    for _ in range(3):
        near = 0.75 * xy[:-1] + 0.25 * xy[1:]
        far = 0.25 * xy[:-1] + 0.75 * xy[1:]
        cut = np.stack([near, far], axis=1).reshape(-1, 2)
        xy = np.vstack([cut, cut[:1]]) if closed else np.vstack([xy[:1], cut, xy[-1:]])
    return LineString(np.round(xy, 1))


def _pond_shore(ground: terrain.Ground) -> Polygon:
    transform = from_origin(0, terrain.HEIGHT_M, terrain.CELL_M, terrain.CELL_M)
    pieces = shapes(ground.pond.astype("uint8"), mask=ground.pond, transform=transform)
    shore = max((shapely.geometry.shape(s) for s, _ in pieces), key=lambda p: p.area)
    return Polygon(_rounded(LineString(shapely.get_exterior_ring(shore)), 3.0))


def make_soil_map(ground: terrain.Ground, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """The delineations: spatialver, areasymbol, musym, mukey, in EPSG:5070.

    Borders are smoothed as lines shared by two neighbours, so that neither gap nor overlap opens.
    """
    cell_m = BLOCK * terrain.CELL_M
    rows = terrain.N_ROWS // BLOCK * BLOCK
    sketch = _sketch(ground, rng)[1:rows:BLOCK, 1 : terrain.N_COLS - 1 : BLOCK]
    over = 2 * cell_m  # the sketch runs past the frame, so that every border reaches it
    unit = np.pad(_settle(sketch, cell_m), 2, mode="edge")
    transform = from_origin(-over, terrain.HEIGHT_M + over, cell_m, cell_m)
    blocks = [
        shapely.geometry.shape(s) for s, _ in shapes(unit.astype("int32"), transform=transform)
    ]
    net = shapely.union_all([block.boundary for block in blocks])
    lines = shapely.line_merge(net.difference(shapely.union_all(blocks).boundary))
    frame = Polygon(AREA_ENDS)
    inside = [_rounded(line, 11.0) for line in shapely.get_parts(lines)]
    shore = _pond_shore(ground)
    net = shapely.union_all([*inside, frame.exterior, shore.exterior], grid_size=0.1)
    faces = [
        f for f in shapely.get_parts(shapely.polygonize([net])) if frame.covers(f.buffer(-0.2))
    ]
    kinds: dict[int, list[Polygon]] = {}
    water = len(UNITS) - 1
    for face in faces:
        spot = face.representative_point()
        row = int((terrain.HEIGHT_M + over - spot.y) / cell_m)
        col = int((spot.x + over) / cell_m)
        kind = water if shore.covers(spot) else int(unit[row, col])
        kinds.setdefault(kind, []).append(face)
    records: list[dict[str, object]] = []
    outlines: list[BaseGeometry] = []
    for kind in sorted(kinds):
        for piece in shapely.get_parts(shapely.union_all(kinds[kind])):
            records.append(
                {
                    "areasymbol": AREA_SYMBOL,
                    "spatialver": 1,
                    "musym": UNITS[kind].symbol,
                    "mukey": UNITS[kind].mukey,
                }
            )
            outlines.append(terrain.on_map(piece))
    return gpd.GeoDataFrame(records, geometry=outlines, crs=terrain.CRS).to_crs(CRS)
