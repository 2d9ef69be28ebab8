"""The invented fields: outlines between streams, road and hedges, and what the growers know."""

from dataclasses import dataclass

import _terrain as terrain
import geopandas as gpd
import pandas as pd
import shapely
from shapely import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

GROWER = "Tallowmere Farm"
AVERLOW = "Averlow Land"
PETTIBRAND = "Pettibrand Land"

# Woods along the creek and its branches, and the road's verge: half widths in metres.
CREEK_WOODS_M, BRANCH_WOODS_M, VERGE_M = 48.0, 20.0, 13.0
# Edges of wider woods, each a closed curve through these points.
WOODS = (
    ((240, 1330), (420, 1322), (560, 1262), (700, 1240), (820, 1252), (960, 1215), (1000, 1100),
     (600, 1100), (240, 1200)),
    ((940, 1240), (1040, 1195), (1150, 1150), (1270, 1128), (1380, 1150), (1500, 1135),
     (1600, 1180), (1700, 1165), (1800, 1195), (1880, 1178), (1990, 1120), (1950, 850),
     (1500, 980), (960, 1120)),
    ((230, 1010), (330, 940), (440, 925), (530, 945), (600, 900), (690, 860), (760, 900),
     (860, 915), (960, 865), (1090, 872), (1200, 815), (1330, 800), (1440, 735), (1550, 800),
     (1500, 1050), (800, 1120), (240, 1200)),
    ((1590, 760), (1480, 740), (1415, 640), (1432, 520), (1388, 430), (1330, 300), (1420, 240),
     (1640, 260), (1660, 380), (1720, 500), (1700, 640), (1650, 760)),
    ((1600, 620), (1740, 655), (1840, 700), (1960, 690), (2080, 705), (2180, 640), (2225, 540),
     (2205, 430), (2260, 300), (2400, 420), (2330, 800), (1900, 830), (1640, 760)),
    ((1960, 1090), (2040, 1065), (2120, 1080), (2210, 1050), (2320, 1075), (2330, 900),
     (2000, 900)),
    ((260, 600), (322, 560), (345, 450), (330, 360), (380, 290), (300, 250), (220, 420)),
)  # fmt: skip
CORNER_M = 14.0  # radius a tractor turns in a corner
COLUMNS = (
    "gap_opens", "gap_closes", "legume_last_year", "drained", "irrigated_mm_week",
    "soil_test_date", "soil_test_ph", "compaction", "herbicide_product", "herbicide_date",
    "next_crop", "use",
)  # fmt: skip


@dataclass(frozen=True)
class Claim:
    """One field: the ground it claims (cut back by woods, water and road) and what is known."""

    field_id: str
    name: str
    owner: str
    corners: tuple[tuple[tuple[float, float], ...], ...]
    known: tuple[object, ...]  # in the order of COLUMNS


CLAIMS = (
    Claim("F01", "Home Forty", GROWER,
          (((318, 1490), (565, 1490), (590, 1802), (330, 1810)),),
          ("05-28", "10-20", 2024, None, None, "2025-02-11", 5.9, "none", "none", None,
           "winter wheat", "cover")),
    Claim("F02", "Packhouse", GROWER,
          (((577, 1490), (960, 1490), (940, 1790), (602, 1800)),),
          ("05-28", "10-20", 2021, False, None, "2025-02-11", 6.1, "moderate",
           "fomesafen", "2025-06-18", "winter wheat", "cover")),
    Claim("F03", "Road Field", GROWER,
          (((880, 1500), (1372, 1500), (1395, 1806), (870, 1800)),),
          ("07-20", "08-25", None, False, 25, None, None, None, "none", None,
           "fall collards", "cover")),
    Claim("F04", "Bay Field", AVERLOW,
          (((1384, 1500), (1770, 1500), (1822, 1790), (1700, 1812), (1407, 1806)),),
          ("05-05", None, None, None, None, None, None, None, "none", None, "ryegrass", "graze")),
    Claim("F05", "Long Piece", GROWER,
          (((325, 1180), (985, 1130), (985, 1580), (312, 1530)),),
          ("06-01", "10-15", None, None, None, "2023-11-20", 5.4, None, "none", None,
           "winter wheat", "cut")),
    Claim("F06", "Graveyard Field", GROWER,
          (((1010, 1050), (1480, 1010), (1500, 1250), (1545, 1600), (950, 1600), (985, 1450)),),
          ("05-28", "10-20", 2022, False, None, "2025-02-11", 5.7, "none",
           "imazethapyr", "2024-05-30", "winter wheat", "graze")),
    Claim("F07", "Pond Field", GROWER,
          (((1492, 1010), (1950, 900), (1950, 1330), (1990, 1420), (1960, 1610), (1557, 1600),
            (1512, 1250)),),
          ("05-01", "10-01", None, None, None, None, None, "none", "none", None,
           "ryegrass", "graze")),
    Claim("F08", "County Line", PETTIBRAND,
          (((1990, 1000), (2180, 960), (2287, 1010), (2270, 1660), (2010, 1660), (2015, 1460),
            (1985, 1210)),),
          (None, None, None, None, None, None, None, None, None, None, None, None)),
    Claim("F09", "Sand Hill", GROWER,
          (((316, 600), (330, 372), (600, 385), (690, 600), (700, 930), (540, 985), (330, 1000)),),
          ("04-20", "09-20", 2019, False, 30, "2024-10-03", 6.3, "none", "none", None,
           "sweet onions", "cover")),
    Claim("F10", "Middle Ground", GROWER,
          (((650, 560), (640, 700), (700, 960), (1010, 930), (1028, 455), (720, 440)),),
          ("05-28", "10-20", None, None, None, None, None, "severe", "none", None,
           "winter wheat", "cover")),
    Claim("F11", "Dish Field", AVERLOW,
          (((1022, 925), (1250, 880), (1470, 830), (1490, 600), (1400, 318), (1050, 312),
            (1042, 420)),),
          ("05-05", "10-01", None, True, None, None, None, None, "none", None,
           "ryegrass", "graze")),
    Claim("F12", "Two Halves", PETTIBRAND,
          (((1680, 430), (1840, 342), (1982, 338), (1945, 720), (1700, 640)),
           ((2000, 338), (2240, 350), (2215, 640), (1962, 720))),
          ("05-15", None, None, None, None, None, None, None, "none", None, None, "cut")),
)  # fmt: skip


def _woods_and_road() -> BaseGeometry:
    """Everything no field runs over."""
    away = [LineString(terrain.smooth_line(terrain.CREEK.points, 12)).buffer(CREEK_WOODS_M)]
    away.append(LineString(terrain.smooth_line(terrain.ROAD, 12)).buffer(VERGE_M))
    for points in WOODS:
        edge = terrain.smooth_line((*points, points[0]), 8)
        away.append(Polygon(edge).buffer(0))
    for name, branch in terrain.BRANCHES.items():
        if name != "pond":  # Pond Field was outlined across the pond's water
            away.append(LineString(terrain.smooth_line(branch.points, 12)).buffer(BRANCH_WOODS_M))
    return shapely.union_all(away)


def _graveyard() -> Polygon:
    """The fenced graveyard on its knoll, a slightly crooked square."""
    knoll = terrain.GRAVEYARD_KNOLL
    corners = ((-27, -22), (24, -25), (29, 23), (-22, 26))
    return Polygon([(knoll.x_m + dx, knoll.y_m + dy) for dx, dy in corners])


def _outline(claim: Claim, taken: BaseGeometry) -> BaseGeometry:
    """Cut a claim back, drop thin ends, round the corners."""
    pieces = []
    for corners in claim.corners:
        free = Polygon(corners).difference(taken)
        whole = max(shapely.get_parts(free), key=lambda part: part.area)
        turned = whole.buffer(-CORNER_M).buffer(2 * CORNER_M).buffer(-CORNER_M)
        turned = turned.intersection(whole)
        turned = max(shapely.get_parts(turned), key=lambda part: part.area)
        pieces.append(turned.simplify(0.8))
    shape: BaseGeometry = pieces[0] if len(pieces) == 1 else MultiPolygon(pieces)
    if claim.name == "Graveyard Field":
        shape = shape.difference(_graveyard())
    return shape


def make_fields() -> gpd.GeoDataFrame:
    """All fields in the DEM's metre system, ids ascending."""
    taken = _woods_and_road()
    rows: list[dict[str, object]] = []
    shapes = []
    for claim in CLAIMS:
        known = dict(zip(COLUMNS, claim.known, strict=True))
        rows.append({"field_id": claim.field_id, "name": claim.name, "owner": claim.owner} | known)
        shapes.append(terrain.on_map(_outline(claim, taken)))
    table = pd.DataFrame(rows, dtype=object)  # null stays null, a year stays whole
    return gpd.GeoDataFrame(table, geometry=shapes, crs=terrain.CRS)
