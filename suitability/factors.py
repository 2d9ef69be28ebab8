"""Everything a crop file may set limits on: each factor with unit, range and meaning."""

from suitability.columns import DRAINAGE_CLASSES, DURATIONS, FREQUENCIES
from suitability.contract import Column
from suitability.texture import TEXTURE_CLASSES

_EVENTS = (*FREQUENCIES, *(f"{f} {d}" for f in FREQUENCIES for d in DURATIONS))

_ALL = (
    Column("no_stand_years_in_ten", "years without a stand", "number", "years/10", 0, 10),
    Column("drowned_years_in_ten", "years too wet or flooded", "number", "years/10", 0, 10),
    Column("short_years_in_ten", "years too short or too dry", "number", "years/10", 0, 10),
    Column("crust_index", "crusting index of the 0-5 cm layer", low=0, high=100),
    Column("slope_pct", "slope", unit="pct", low=0, high=200),
    Column("surface_texture", "texture of the 0-5 cm layer", "text", allowed=TEXTURE_CLASSES),
    Column("water_table_cm", "shallowest wet layer in the gap", unit="cm", low=0, high=1000),
    Column("drainage_class", "natural drainage class", "text", allowed=DRAINAGE_CLASSES),
    Column("ponding", "ponding in the worst month of the gap", "text", allowed=_EVENTS),
    Column("flooding", "flooding in the worst month of the gap", "text", allowed=_EVENTS),
    Column("ksat_um_s", "slowest layer of the top 50 cm", unit="um/s", low=0, high=705),
    Column("restriction_depth_cm", "depth to a restrictive layer", unit="cm", low=0, high=1000),
    Column("soil_ph", "pH in water, 0-20 cm", low=1.8, high=11),
    Column(
        "bulk_density_class",
        "density against the texture's own limits, 0-30 cm",
        "text",
        allowed=("free", "slowed", "stopped"),
    ),
    Column("compaction", "compaction as measured", "text", allowed=("none", "moderate", "severe")),
    Column("inoculant_texture", "surface texture", "text", allowed=TEXTURE_CLASSES),
    Column("gap_d", "days from the opening of the gap to its end", unit="d", low=0, high=366),
)

FACTORS: dict[str, Column] = {column.name: column for column in _ALL}
