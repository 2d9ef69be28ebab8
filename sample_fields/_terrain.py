"""The invented ground: a creek with side branches, hollows, knolls, a pond, a road on a bank.

Everything is in metres on a local grid whose lower left corner is (0, 0); ``ORIGIN_E_M`` and
``ORIGIN_N_M`` shift it into UTM. Arrays run from north to south like a raster.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from scipy.interpolate import CubicSpline
from shapely.geometry.base import BaseGeometry

Grid = NDArray[np.float64]
Line = NDArray[np.float64]  # (n, 2) points

CRS = "EPSG:26917"
ORIGIN_E_M, ORIGIN_N_M = 241_200.0, 3_501_600.0
CELL_M = 3.0
N_COLS, N_ROWS = 860, 700
WIDTH_M, HEIGHT_M = N_COLS * CELL_M, N_ROWS * CELL_M
STEP_M = 1.0 / 128.0  # heights are stored in steps of just under 1 cm


@dataclass(frozen=True)
class Stream:
    """A line of running water: points downstream, bed height at both ends, shape of its valley."""

    points: tuple[tuple[float, float], ...]
    top_m: float
    bottom_m: float
    floor_m: float  # half width of the valley floor
    left_m: float  # how far the left side takes to rise (two thirds of the way up)
    right_m: float
    # A low terrace on the left bank: at which x, over what length, how much wider the floor.
    terrace: tuple[float, float, float] = (0.0, 1.0, 0.0)


@dataclass(frozen=True)
class Spot:
    """A hollow (negative height) or a knoll (positive): an ellipse."""

    x_m: float
    y_m: float
    long_m: float
    short_m: float
    turn_deg: float
    height_m: float


CREEK = Stream(
    (
        (-80, 1190), (140, 1215), (330, 1265), (520, 1185), (690, 1135), (860, 1160), (1010, 1150),
        (1180, 1045), (1350, 1020), (1530, 1065), (1700, 1030), (1860, 900), (2050, 850),
        (2240, 865), (2400, 770), (2670, 655),
    ),
    81.0, 77.4, 22.0, 265.0, 135.0, (640.0, 260.0, 105.0),
)  # fmt: skip
BRANCHES = {
    "north": Stream(
        (
            (905, 2130), (880, 1960), (925, 1800), (905, 1650), (960, 1520), (965, 1340),
            (1010, 1150),
        ),
        87.6, 79.6, 5.0, 190.0, 190.0,
    ),
    "pond": Stream(
        ((2010, 1560), (1985, 1440), (1925, 1330), (1895, 1210), (1800, 1110), (1740, 1008)),
        86.9, 78.6, 6.0, 95.0, 105.0,
    ),
    "west": Stream(
        ((640, 240), (600, 420), (655, 600), (640, 780), (720, 950), (760, 1142)),
        87.8, 79.9, 5.0, 130.0, 150.0,
    ),
    "south": Stream(
        ((1480, 60), (1530, 260), (1600, 430), (1590, 620), (1665, 800), (1700, 1030)),
        86.9, 78.7, 5.0, 150.0, 140.0,
    ),
    "east": Stream(
        ((2300, 180), (2260, 370), (2320, 560), (2290, 720), (2330, 812)),
        85.4, 77.9, 5.0, 160.0, 160.0,
    ),
}  # fmt: skip

HOLLOWS = (
    Spot(1560, 1715, 78, 52, 35, -1.20),
    Spot(430, 1740, 60, 44, 20, -0.85),
    Spot(1285, 1475, 52, 38, 50, -0.70),
    Spot(2190, 1425, 56, 40, 30, -0.90),
    Spot(395, 720, 44, 34, 60, -0.60),
    Spot(1120, 640, 66, 46, 25, -1.00),
    Spot(1290, 370, 34, 24, 40, -0.40),
    Spot(1905, 440, 36, 28, 10, -0.50),
    Spot(655, 1750, 28, 20, 70, -0.35),
    Spot(190, 1935, 58, 40, 40, -0.80),
    Spot(1165, 1930, 66, 48, 30, -0.95),
    Spot(1880, 1890, 50, 36, 55, -0.60),
    Spot(170, 520, 62, 46, 15, -0.75),
    Spot(960, 190, 60, 40, 45, -0.70),
)
KNOLLS = (
    Spot(1395, 1300, 46, 34, 15, 1.5),
    Spot(900, 480, 70, 45, 120, 1.8),
    Spot(430, 480, 80, 50, 80, 1.6),
    Spot(2140, 1130, 60, 38, 140, 1.2),
)
GRAVEYARD_KNOLL = KNOLLS[0]
ROAD = (
    (-60, 1470), (300, 1500), (620, 1525), (920, 1560), (1250, 1585), (1600, 1575),
    (1900, 1600), (2250, 1650), (2660, 1670),
)  # fmt: skip
DAM_AT_M = (1893.0, 1205.0)  # where the dam crosses the pond's branch
POND_ABOVE_BED_M = 2.0


@dataclass(frozen=True)
class Ground:
    """The ground and what the soil map is drawn from."""

    height_m: Grid  # NaN outside the flown area
    bed_m: Grid  # height of the water line that drains the place
    upland_m: Grid  # height of the plain above it
    creek_distance_m: Grid
    branch_distance_m: Grid
    terrace_m: Grid  # how much wider than usual the creek's floor is here
    pond: NDArray[np.bool_]
    pond_level_m: float
    culvert: Line  # from the upper toe of the road bank to the lower


def centres() -> tuple[Grid, Grid]:
    """Local x and y of all cell centres."""
    x = (np.arange(N_COLS) + 0.5) * CELL_M
    y = HEIGHT_M - (np.arange(N_ROWS) + 0.5) * CELL_M
    grid_x, grid_y = np.meshgrid(x, y)
    return grid_x, grid_y


def on_map(shape: BaseGeometry) -> BaseGeometry:
    """The shape moved from local metres to its place in ``CRS``."""
    origin = np.array([ORIGIN_E_M, ORIGIN_N_M])
    return shapely.transform(shape, lambda xy: xy + origin)


def smooth_line(points: tuple[tuple[float, float], ...], step_m: float = 2.0) -> Line:
    """A smooth curve through the points, sampled about every ``step_m``."""
    xy = np.asarray(points, dtype=float)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    at = np.arange(0.0, along[-1], step_m)
    return np.asarray(CubicSpline(along, xy)(at))


def noise(rng: np.random.Generator, length_m: float) -> Grid:
    """Smooth noise of mean 0 and deviation 1 with a given correlation length."""
    raw = rng.standard_normal((N_ROWS, N_COLS))
    soft = ndimage.gaussian_filter(raw, length_m / CELL_M, mode="wrap")
    return np.asarray((soft - soft.mean()) / soft.std())


def _nearest(line: Line) -> tuple[Grid, NDArray[np.int64]]:
    """Distance of each cell to the line, and which point of the line is the nearest."""
    pad = 40  # lines run past the grid's edge
    shape = (N_ROWS + 2 * pad, N_COLS + 2 * pad)
    col = np.floor(line[:, 0] / CELL_M).astype(int) + pad
    row = np.floor((HEIGHT_M - line[:, 1]) / CELL_M).astype(int) + pad
    inside = (row >= 0) & (row < shape[0]) & (col >= 0) & (col < shape[1])
    which = np.full(shape, -1)
    which[row[inside], col[inside]] = np.flatnonzero(inside)
    away, (i, j) = ndimage.distance_transform_edt(which < 0, return_indices=True)
    cut = (slice(pad, -pad), slice(pad, -pad))
    return away[cut] * CELL_M, which[i, j][cut]


def _valley(stream: Stream, upland: Grid) -> tuple[Grid, Grid, Grid, Grid]:
    """Ground, bed height, distance and terrace as this stream alone would have them."""
    line = smooth_line(stream.points)
    away, which = _nearest(line)
    share = np.linspace(0.0, 1.0, len(line))
    bed = (stream.bottom_m + (stream.top_m - stream.bottom_m) * (1 - share) ** 1.25)[which]
    ahead = np.gradient(line, axis=0)[which]
    x, y = centres()
    side = ahead[..., 0] * (y - line[which, 1]) - ahead[..., 1] * (x - line[which, 0])
    reach = np.where(side > 0, stream.left_m, stream.right_m)
    reach = ndimage.gaussian_filter(reach, 20)
    at_x, length, extra = stream.terrace
    terrace = np.where(side > 0, extra * np.exp(-(((x - at_x) / length) ** 2)), 0.0)
    up = np.maximum(away - stream.floor_m - terrace, 0.0) / reach
    ground = bed + (upland - bed) * (1 - np.exp(-(up**1.7)))
    step_up = 0.012 * np.minimum(np.maximum(away - stream.floor_m, 0.0), terrace)
    return ground + step_up, bed, away, terrace


def spot_radius(spot: Spot, x: Grid, y: Grid) -> Grid:
    """Distance from the middle of a spot, 1 on its rim."""
    turn = np.deg2rad(spot.turn_deg)
    dx, dy = x - spot.x_m, y - spot.y_m
    u = dx * np.cos(turn) + dy * np.sin(turn)
    v = dy * np.cos(turn) - dx * np.sin(turn)
    return np.asarray(np.hypot(u / spot.long_m, v / spot.short_m))


def _press_in(height: Grid, spot: Spot, ragged: Grid) -> Grid:
    """Level the place, then press a bowl into it, so that its depth is what the spot says."""
    radius = spot_radius(spot, *centres()) * ragged
    near = radius < 1.3
    level = float(np.median(height[(radius > 0.9) & (radius < 1.1)]))
    fade = np.clip((1.75 - radius) / 0.75, 0, 1)
    fade = fade * fade * (3 - 2 * fade)
    levelled = height + fade * (level - height)
    bowl = np.where(near, np.clip(1 - radius**2, 0, 1) ** 0.8, 0.0)
    return levelled + spot.height_m * bowl


def _road(height: Grid) -> tuple[Grid, Line]:
    """Lay the road on a bank, and say where the culvert runs under it."""
    line = smooth_line(ROAD)
    away, which = _nearest(line)
    col = np.clip((line[:, 0] / CELL_M).astype(int), 0, N_COLS - 1)
    row = np.clip(((HEIGHT_M - line[:, 1]) / CELL_M).astype(int), 0, N_ROWS - 1)
    along = height[row, col]
    grade = ndimage.gaussian_filter1d(along, 45, mode="nearest")
    grade = ndimage.gaussian_filter1d(np.maximum(grade, along + 0.25), 12, mode="nearest")
    bank = grade[which] - np.maximum(away - 4.5, 0) / 2.0
    lowest = int(np.argmin(np.where(np.abs(line[:, 0] - 920) < 120, along, np.inf)))
    ahead = np.gradient(line, axis=0)[lowest]
    across = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead)
    half = 4.5 + 2.0 * (grade[lowest] - along[lowest]) + 6.0
    culvert = np.array([line[lowest] + across * half, line[lowest] - across * half])
    return np.maximum(height, np.where(away < 20, bank, -np.inf)), culvert


def _pond(height: Grid) -> tuple[Grid, NDArray[np.bool_], float]:
    """Dam the branch and fill the pond to a flat surface, with a spillway at the dam's end."""
    line = smooth_line(BRANCHES["pond"].points)
    at = int(np.argmin(np.hypot(*(line - DAM_AT_M).T)))
    ahead = np.gradient(line, axis=0)[at]
    ahead = ahead / np.hypot(*ahead)
    x, y = centres()
    down = (x - line[at, 0]) * ahead[0] + (y - line[at, 1]) * ahead[1]
    over = (y - line[at, 1]) * ahead[0] - (x - line[at, 0]) * ahead[1]
    bed = float(height[int((HEIGHT_M - line[at, 1]) / CELL_M), int(line[at, 0] / CELL_M)])
    level = round((bed + POND_ABOVE_BED_M) / STEP_M) * STEP_M
    crest = level + np.where(np.abs(over - 52) < 6, 0.1, 0.8)
    dam = crest - np.maximum(np.abs(down) - 3.0, 0) / 2.5
    dammed = np.where(np.abs(over) < 95, np.maximum(height, dam), height)
    low = (dammed < level) & (down < 0) & (np.hypot(down, over) < 260)
    labels, _ = ndimage.label(low)
    start = line[at] - ahead * 20
    pond = labels == labels[int((HEIGHT_M - start[1]) / CELL_M), int(start[0] / CELL_M)]
    pond = ndimage.binary_fill_holes(ndimage.binary_opening(pond, iterations=2))
    return np.where(pond, level, dammed), pond, level


def _flown(rng: np.random.Generator) -> NDArray[np.bool_]:
    """The area with heights: a rounded box with a ragged edge."""
    x, y = centres()
    inward = np.minimum.reduce([x, WIDTH_M - x, y, HEIGHT_M - y])
    corner = np.minimum.reduce([x + y, WIDTH_M - x + y, WIDTH_M - x + HEIGHT_M - y])
    edge = 28 + 14 * noise(rng, 60)
    return np.asarray((inward > edge) & (corner > 260 + 5 * edge))


def make_ground(rng: np.random.Generator) -> Ground:
    """Shape the whole ground."""
    x, y = centres()
    upland = 90.4 - 0.0011 * x + 0.0006 * (y - 1000) + 0.55 * noise(rng, 170)
    surface, bed, creek_away, terrace = _valley(CREEK, upland)
    pull = np.exp(-surface / 0.5)
    beds = bed * pull
    branch_away = np.full(surface.shape, np.inf)
    for branch in BRANCHES.values():
        ground, line_bed, away, _ = _valley(branch, upland)
        weight = np.exp(-ground / 0.5)
        pull, beds = pull + weight, beds + weight * line_bed
        branch_away = np.minimum(branch_away, away)
    height = -0.5 * np.log(pull)
    height = ndimage.gaussian_filter(height, 6)
    above = np.clip((height - beds / pull) / 4.0, 0, 1)
    height += above * (0.22 * noise(rng, 85) + 0.05 * noise(rng, 36))
    channel = 0.9 * np.exp(-((creek_away / 5.0) ** 2)) + 0.3 * np.exp(-((branch_away / 4.0) ** 2))
    height -= channel
    ragged = 1 + 0.07 * noise(rng, 30)
    for hollow in HOLLOWS:
        height = _press_in(height, hollow, ragged)
    for knoll in KNOLLS:
        height += knoll.height_m * np.exp(-1.6 * spot_radius(knoll, x, y) ** 2)
    height += 0.012 * noise(rng, 5)
    height, culvert = _road(height)
    height, pond, level = _pond(height)
    height = np.round(height / STEP_M) * STEP_M
    height[~_flown(rng)] = np.nan
    return Ground(
        height, beds / pull, upland, creek_away, branch_away, terrace, pond, level, culvert
    )
