"""The invented soils: series and map units.

The series are made up, and so are their values: plausible for sandy old sea-floor plains of the
warm South, taken from no survey.
"""

from dataclasses import dataclass

BRIEF, LONG, VERY_BRIEF = "Brief (2 to 7 days)", "Long (7 to 30 days)", "Very brief (4 to 48 hours)"
NEVER = (("None", None),) * 12


@dataclass(frozen=True)
class Horizon:
    """One horizon; what is not given follows from it or is left empty, as in real surveys."""

    name: str
    top_cm: int
    bottom_cm: int
    sand_pct: float
    clay_pct: float
    om_pct: float | None
    bulk_density_g_cm3: float
    ksat_um_s: float
    awc_frac: float
    water_fifteen_bar_pct: float
    ph: float


@dataclass(frozen=True)
class Series:
    """One soil. Water table in cm by month from January, None where there is none within 2 m."""

    name: str
    drainage: str
    group: str
    landform: str
    horizons: tuple[Horizon, ...]
    water_table_cm: tuple[int | None, ...]
    hydric: str = "No"
    phase: str | None = None
    floods: tuple[tuple[str, str | None], ...] = NEVER
    ponds: tuple[tuple[str, str | None], ...] = NEVER
    pond_cm: int | None = None
    restriction: tuple[str, str | None, int, int] | None = None


@dataclass(frozen=True)
class Share:
    """A soil's share of a map unit."""

    series: str
    pct: int
    slope_pct: float
    major: bool = False
    described: bool = True  # minor soils are sometimes named without horizons


@dataclass(frozen=True)
class Unit:
    """One map unit."""

    symbol: str
    mukey: str
    name: str
    farmland: str
    shares: tuple[Share, ...]


def _h(*values: object) -> Horizon:
    return Horizon(*values)  # type: ignore[arg-type]


NO_WATER = (None,) * 12
SERIES = {
    s.name: s
    for s in (
        Series(
            "Fernlatch", "Well drained", "B", "interfluves on marine terraces",
            (
                _h("Ap", 0, 25, 82, 7, 1.2, 1.50, 42.0, 0.08, 5.0, 5.4),
                _h("Bt1", 25, 60, 64, 25, 0.4, 1.58, 9.0, 0.13, 12.0, 5.1),
                _h("Bt2", 60, 150, 60, 30, 0.2, 1.60, 5.0, 0.13, 14.0, 4.9),
                _h("BC", 150, 203, 66, 24, None, 1.65, 4.0, 0.11, 11.5, 4.8),
            ),
            NO_WATER,
        ),
        Series(
            "Quillhatch", "Well drained", "A", "interfluves on marine terraces",
            (
                _h("Ap", 0, 25, 87, 5, 0.9, 1.52, 92.0, 0.06, 3.2, 5.5),
                _h("E", 25, 72, 88, 5, 0.3, 1.56, 92.0, 0.05, 2.8, 5.2),
                _h("Bt", 72, 168, 68, 22, 0.2, 1.60, 14.0, 0.11, 10.5, 4.9),
                _h("BC", 168, 203, 72, 18, None, 1.64, 9.0, 0.10, 9.0, 4.8),
            ),
            NO_WATER,
        ),
        Series(
            "Kitefallow", "Excessively drained", "A", "rises on marine terraces",
            (
                _h("Ap", 0, 20, 93, 3, 0.9, 1.52, 141.0, 0.07, 2.2, 5.2),
                _h("C1", 20, 112, 94, 3, 0.2, 1.56, 141.0, 0.05, 1.8, 5.0),
                _h("C2", 112, 203, 95, 2, None, 1.56, 141.0, 0.05, 1.5, 5.0),
            ),
            NO_WATER,
        ),
        Series(
            "Tarnwillow", "Moderately well drained", "B/D", "flats on marine terraces",
            (
                _h("Ap", 0, 23, 80, 8, 1.6, 1.48, 42.0, 0.09, 5.5, 5.3),
                _h("E", 23, 38, 79, 9, 0.6, 1.54, 28.0, 0.08, 5.2, 5.0),
                _h("Bt", 38, 85, 61, 24, 0.3, 1.58, 9.0, 0.13, 12.0, 4.9),
                _h("Btv", 85, 160, 58, 29, 0.1, 1.68, 1.4, 0.10, 14.0, 4.7),
                _h("BCv", 160, 203, 60, 27, None, 1.70, 1.0, 0.09, 13.0, 4.7),
            ),
            (70, 60, 65, 90, 120, None, None, None, None, None, 135, 95),
        ),
        Series(
            "Dovesedge", "Somewhat poorly drained", "B/D", "toeslopes on marine terraces",
            (
                _h("Ap", 0, 20, 76, 9, 2.2, 1.45, 28.0, 0.11, 6.5, 5.2),
                _h("Eg", 20, 40, 75, 10, 0.7, 1.53, 20.0, 0.10, 6.0, 4.9),
                _h("Btg", 40, 112, 58, 26, 0.3, 1.60, 4.0, 0.13, 13.0, 4.7),
                _h("BCg", 112, 203, 63, 22, None, 1.64, 3.0, 0.11, 11.0, 4.7),
            ),
            (30, 25, 30, 45, 75, 110, 110, 105, 105, 140, 90, 45),
        ),
        Series(
            "Sloughwick", "Poorly drained", "C/D", "drainageways on marine terraces",
            (
                _h("A", 0, 20, 45, 18, 3.5, 1.35, 9.0, 0.17, 11.0, 5.0),
                _h("Bg", 20, 92, 50, 24, 0.8, 1.52, 4.0, 0.14, 13.0, 4.9),
                _h("Cg", 92, 203, 65, 18, None, 1.58, 7.0, 0.12, 9.0, 5.0),
            ),
            (0, 0, 5, 10, 30, 60, 60, 55, 60, 75, 30, 15),
            hydric="Yes", phase="frequently flooded",
            floods=(
                *((("Frequent", LONG),) * 4), ("Occasional", BRIEF),
                *((("Rare", VERY_BRIEF),) * 5), ("Occasional", BRIEF), ("Frequent", BRIEF),
            ),
        ),
        Series(
            "Bayhollin", "Poorly drained", "D", "closed depressions on marine terraces",
            (
                _h("Ap", 0, 18, 55, 17, 4.0, 1.32, 9.0, 0.15, 10.5, 4.9),
                _h("Btg1", 18, 62, 35, 42, 0.9, 1.45, 0.6, 0.15, 22.0, 4.7),
                _h("Btg2", 62, 203, 30, 50, 0.3, 1.42, 0.4, 0.14, 26.0, 4.6),
            ),
            (0, 0, 0, 0, 0, 10, 25, 30, 45, 75, 45, 10),
            hydric="Yes", phase="depressional",
            ponds=(
                *((("Frequent", LONG),) * 6), ("Frequent", BRIEF),
                *((("Occasional", BRIEF),) * 2), ("None", None), ("None", None),
                ("Frequent", LONG),
            ),
            pond_cm=30,
            restriction=("Abrupt textural change", None, 18, 62),
        ),
        Series(
            "Redgallin", "Well drained", "C", "side slopes on marine terraces",
            (
                _h("Ap", 0, 13, 56, 24, 0.9, 1.50, 4.0, 0.14, 12.5, 5.2),
                _h("Bt", 13, 76, 32, 50, 0.3, 1.41, 0.8, 0.14, 26.0, 4.9),
                _h("BC", 76, 118, 40, 40, None, 1.52, 0.5, 0.12, 21.0, 4.8),
                _h("Cd", 118, 203, 48, 34, None, 1.75, 0.2, 0.08, 18.0, 4.8),
            ),
            NO_WATER,
            phase="moderately eroded",
            restriction=("Densic material", "Noncemented", 118, 203),
        ),
    )
}  # fmt: skip
PRIME, IMPORTANT, NOT_PRIME = (
    "All areas are prime farmland", "Farmland of statewide importance", "Not prime farmland",
)  # fmt: skip
UNITS = (
    Unit("DsA", "9990011", "Dovesedge loamy fine sand, 0 to 2 percent slopes", IMPORTANT,
         (Share("Dovesedge", 85, 1.0, True), Share("Sloughwick", 9, 0.5),
          Share("Tarnwillow", 6, 1.0))),
    Unit("FhB", "9990012", "Fernlatch loamy sand, 2 to 5 percent slopes", PRIME,
         (Share("Fernlatch", 86, 3.0, True), Share("Quillhatch", 8, 3.0),
          Share("Redgallin", 6, 5.0))),
    Unit("KfB", "9990013", "Kitefallow sand, 0 to 5 percent slopes", NOT_PRIME,
         (Share("Kitefallow", 92, 3.0, True), Share("Quillhatch", 8, 2.0))),
    Unit("QhB", "9990014", "Quillhatch loamy sand, 0 to 5 percent slopes", IMPORTANT,
         (Share("Quillhatch", 88, 2.0, True), Share("Fernlatch", 8, 2.0),
          Share("Kitefallow", 4, 3.0, described=False))),
    Unit("RgC2", "9990015", "Redgallin sandy clay loam, 4 to 8 percent slopes, moderately eroded",
         IMPORTANT,
         (Share("Redgallin", 86, 5.0, True), Share("Fernlatch", 14, 4.0))),
    Unit("SgA", "9990016", "Sloughwick loam, 0 to 1 percent slopes, frequently flooded", NOT_PRIME,
         (Share("Sloughwick", 88, 0.5, True), Share("Dovesedge", 12, 1.0))),
    Unit("TwA", "9990017", "Tarnwillow loamy sand, 0 to 2 percent slopes", PRIME,
         (Share("Tarnwillow", 80, 1.0, True), Share("Bayhollin", 10, 0.5),
          Share("Dovesedge", 7, 1.0), Share("Fernlatch", 3, 2.0))),
    Unit("W", "9990018", "Water", NOT_PRIME, ()),
)  # fmt: skip
