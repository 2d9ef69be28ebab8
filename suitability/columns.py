"""The tables that pass between the packages: each column with its unit and plausible range.

Tables are joined on their keys, never on row order. Missing is NaN (numbers) or None/NaN (text):
never zero.
"""

from suitability.contract import Column

UNSURVEYED = "unsurveyed"  # mukey and cokey of ground that no soil survey covers
CLASSES = ("S1", "S2", "S3", "N")
QUALITIES = ("germination", "waterlogging", "inoculation", "season")
POSITIONS = ("unplaced", "shedding", "level", "gathering", "hollow")
DRAINAGE_CLASSES = (
    "excessively",
    "somewhat excessively",
    "well",
    "moderately well",
    "somewhat poorly",
    "poorly",
    "very poorly",
)
FREQUENCIES = ("none", "very rare", "rare", "occasional", "frequent", "very frequent")
DURATIONS = ("extremely brief", "very brief", "brief", "long", "very long")


def _text(name: str, meaning: str, *allowed: str, required: bool = False) -> Column:
    return Column(name, meaning, "text", allowed=allowed, required=required)


def _key(name: str, meaning: str, *allowed: str) -> Column:
    return Column(name, meaning, "text", allowed=allowed, required=True, key=True)


def _flag(name: str, meaning: str) -> Column:
    return Column(name, meaning, "flag")


def _date(name: str, meaning: str) -> Column:
    return Column(name, meaning, "date", unit="date")


def _number(name: str, meaning: str, unit: str, low: float, high: float) -> Column:
    return Column(name, meaning, "number", unit, low, high)


# What the grower may know of a field. It overrides the survey and is shown as theirs.
KNOWLEDGE: tuple[Column, ...] = (
    _text("gap_opens", "the field is free from this day on, MM-DD"),
    _text("gap_closes", "the field must be free again by this day, MM-DD"),
    Column("legume_last_year", "last year a cowpea-group legume grew here", low=1900, high=2200),
    _flag("drained", "the field has working tile or ditch drainage"),
    _number("irrigated_mm_week", "irrigation the field can get", "mm/week", 0, 100),
    _date("soil_test_date", "day of the soil test"),
    Column("soil_test_ph", "pH in water by the soil test", low=3.0, high=10.0),
    _text("compaction", "compaction as the grower measured it", "none", "moderate", "severe"),
    _text("herbicide_product", "herbicide with soil residue used in the last 12 months, or none"),
    _date("herbicide_date", "day that herbicide was applied"),
    _text("next_crop", "what is sown after the gap"),
    _text("use", "what the stand is for", "graze", "cut", "cover"),
)

FIELDS: tuple[Column, ...] = (
    _key("field_id", "unique id of the field"),
    _text("name", "what the grower calls it"),
    _text("owner", "whose land it is"),
    Column("area_ha", "geodesic area", unit="ha", low=1e-6, high=1e6, required=True),
    Column("lat_deg", "latitude of a point inside", unit="deg", low=-90, high=90, required=True),
    Column("lon_deg", "longitude of that point", unit="deg", low=-180, high=180, required=True),
    *KNOWLEDGE,
)

MAP_UNITS: tuple[Column, ...] = (
    _key("mukey", "map unit key of the survey"),
    _text("musym", "symbol on the soil map"),
    _text("muname", "name of the map unit"),
)

PARTS: tuple[Column, ...] = (
    _key("field_id", "the field this ground is part of"),
    _key("mukey", "map unit of the soil survey"),
    _key("cokey", "soil component of that map unit"),
    _key("position", "where it lies on the ground", *POSITIONS),
    Column("drained", "drained by tile or ditch", "flag", required=True, key=True),
    _text("weather_id", "weather cell it looks to"),
    Column("area_ha", "share of the field in hectares", unit="ha", low=0, high=1e6, required=True),
)

COMPONENTS: tuple[Column, ...] = (
    _key("cokey", "component key of the survey"),
    Column("mukey", "map unit it belongs to", "text", required=True),
    _text("compname", "name of the soil"),
    _text("kind", "soil, open water, or other ground", "soil", "water", "not soil", required=True),
    _number("comppct_pct", "share of the map unit", "pct", 0, 100),
    _flag("major", "named in the map unit's name"),
    _number("slope_pct", "representative slope", "pct", 0, 200),
    _text("drainage_class", "natural drainage class", *DRAINAGE_CLASSES),
    _text("hydrologic_group", "runoff group A-D, or drained/undrained as A/D"),
    _flag("hydric", "rated hydric by the survey"),
    _text("phase", "local phase, such as depressional or ponded"),
    _text("landform", "geomorphic description"),
    _text("restriction_kind", "kind of the shallowest layer that stops roots or water"),
    _number("restriction_depth_cm", "depth to that layer", "cm", 0, 1000),
)

HORIZONS: tuple[Column, ...] = (
    _key("cokey", "component the horizon belongs to"),
    _key("chkey", "horizon key of the survey"),
    Column("top_cm", "depth of its top", unit="cm", low=0, high=1000, required=True),
    Column("bottom_cm", "depth of its bottom", unit="cm", low=0, high=2000, required=True),
    _number("sand_pct", "sand, share of the fine earth", "pct", 0, 100),
    _number("silt_pct", "silt", "pct", 0, 100),
    _number("clay_pct", "clay", "pct", 0, 100),
    _number("silt_coarse_pct", "silt 0.02-0.05 mm", "pct", 0, 100),
    _number("silt_fine_pct", "silt 0.002-0.02 mm", "pct", 0, 100),
    _number("om_pct", "organic matter", "pct", 0, 100),
    _number("bulk_density_g_cm3", "moist bulk density at 1/3 bar", "g/cm3", 0.02, 2.6),
    _number("ksat_um_s", "saturated hydraulic conductivity", "um/s", 0, 705),
    _number("awc_frac", "available water, volume of water per volume of soil", "frac", 0, 0.7),
    _number("water_third_bar_pct", "water held at 1/3 bar, by volume", "pct", 0, 100),
    _number("water_fifteen_bar_pct", "water held at 15 bar, by volume", "pct", 0, 100),
    _number("water_saturated_pct", "water when saturated, by volume", "pct", 0, 100),
    Column("ph", "pH in water 1:1", low=1.8, high=11),
    _number("ec_ds_m", "electrical conductivity", "dS/m", 0, 200),
)

MONTHS: tuple[Column, ...] = (
    _key("cokey", "component"),
    Column("month", "month of the year 1-12", low=1, high=12, required=True, key=True),
    _text("flood_frequency", "flooding odds class of the month", *FREQUENCIES),
    _text("flood_duration", "how long a flood lasts", *DURATIONS),
    _text("pond_frequency", "ponding odds class of the month", *FREQUENCIES),
    _text("pond_duration", "how long a pond stands", *DURATIONS),
    _number("pond_depth_cm", "representative depth of the pond", "cm", 0, 300),
    _number("water_table_cm", "top of the shallowest wet layer, 0 at the surface", "cm", 0, 1000),
    _number("moisture_listed_to_cm", "deepest depth with a listed state", "cm", 0, 1000),
)

STATIONS: tuple[Column, ...] = (
    _key("weather_id", "weather cell or station"),
    _text("name", "name of the station"),
    Column("lat_deg", "latitude", unit="deg", low=-90, high=90, required=True),
    Column("lon_deg", "longitude", unit="deg", low=-180, high=180, required=True),
    _number("elevation_m", "height above sea level", "m", -450, 6000),
)

WEATHER: tuple[Column, ...] = (
    _key("weather_id", "weather cell or station"),
    Column("date", "day", "date", unit="date", required=True, key=True),
    _number("tmax_c", "highest air temperature of the day", "degC", -60, 60),
    _number("tmin_c", "lowest air temperature of the day", "degC", -70, 50),
    _number("precip_mm", "rain and melted snow of the day", "mm", 0, 1800),
    _number("solar_mj_m2_d", "solar radiation", "MJ/m2/d", 0, 50),
)

FROST_EVENTS = ("last_spring", "first_autumn", "season")
FROST: tuple[Column, ...] = (
    _key("field_id", "field the dates are for"),
    _key("event", "last freeze of spring, first of autumn, or season between", *FROST_EVENTS),
    Column(
        "threshold_c", "air temperature", unit="degC", low=-20, high=10, required=True, key=True
    ),
    # Of last_spring: odds of a freeze ON OR AFTER the date (10 % is a late date). Of first_autumn:
    # odds ON OR BEFORE (10 % is an early date). Of season: odds that it is this long OR longer.
    Column(
        "prob_pct", "odds as the event defines", unit="pct", low=1, high=99, required=True, key=True
    ),
    _text("date_mmdd", "month and day, MM-DD; empty where no freeze comes by then"),
    _number("season_d", "length of the season", "d", 0, 366),
    _number(
        "freeze_years_in_ten", "years in ten that have such a freeze at all", "years/10", 0, 10
    ),
    _number(
        "by_year_end_years_in_ten", "years in ten that have it by 31 December", "years/10", 0, 10
    ),
    Column("n_years", "years behind the figure", low=1, high=300),
    _text("source", "file or own computation"),
)

# One row a part, quality and factor: what was compared with which limit, and what came out.
FINDINGS: tuple[Column, ...] = (
    _key("field_id", "field"),
    _key("mukey", "map unit"),
    _key("cokey", "component"),
    _key("position", "ground position", *POSITIONS),
    Column("drained", "drained", "flag", required=True, key=True),
    _key("quality", "one of the four questions", *QUALITIES),
    _key("factor", "what was looked at; a factor of the crop file"),
    Column("value", "value compared, in the factor's unit"),
    _text("value_text", "the value where it is a class"),
    _text("suitability_class", "class by this factor", *CLASSES),
    _number("score", "0 best, 10 worst", "", 0, 10),
    _text("origin", "where the value comes from", "survey", "grower", "weather", "farm file"),
)

WORDS = {
    "season": ("long enough", "tight", "too short"),
    "inoculation": ("normal rate", "double rate"),
    "germination": ("low", "moderate", "high"),
    "waterlogging": ("low", "moderate", "high"),
}
VERDICT_WORDS = ("sow", "sow with care", "leave out", "not known")
SCORE_BASES = ("survey rule", "years in ten")

# One row a field: the answer. Every output takes its numbers from here.
VERDICTS: tuple[Column, ...] = (
    _key("field_id", "field"),
    Column("area_ha", "geodesic area", unit="ha", low=1e-6, high=1e6, required=True),
    _number("sowable_ha", "what is left without water and placed wet ground", "ha", 0, 1e6),
    _number("water_ha", "open water in it, by the soil survey", "ha", 0, 1e6),
    _number("wet_unplaced_pct", "too wet, but nothing says where", "pct", 0, 100),
    _text("verdict", "what to do", *VERDICT_WORDS, required=True),
    _text("conditions", "what to mind: codes of suitability.verdict.CONDITIONS, a blank between"),
    _text("suitability_class", "worst quality; empty while any is unknown", *CLASSES),
    _text("at_best", "worst of the known qualities while one is unknown", *CLASSES),
    _text("limiting", "the quality that governs; empty at S1", *QUALITIES),
    _number("works_years_in_ten", "years in ten in which it works", "years/10", 0, 10),
    Column("n_years", "years on record behind the odds", low=0, high=300),
    _number("works_least_years_in_ten", "lower end of the 95 % interval", "years/10", 0, 10),
    _number("works_most_years_in_ten", "upper end of the 95 % interval", "years/10", 0, 10),
    _number("works_low_years_in_ten", "with colder soil, less borne wet", "years/10", 0, 10),
    _number("works_high_years_in_ten", "with warmer soil, more borne wet", "years/10", 0, 10),
    _flag("verdict_flips", "the verdict would be another within that range"),
    _text("survey_class", "class by survey rule, where the years decide", *CLASSES),
    *(
        _number(f"{name}_years_in_ten", meaning, "years/10", 0, 10)
        for name, meaning in (
            ("germination_risk", "years without a stand"),
            ("waterlogging", "years drowned or flooded"),
            ("season_short", "years too short, or with too little growth"),
            ("cold_soil", "no stand: cold soil"),
            ("dry_seedbed", "no stand: dry seed bed"),
            ("crust", "no stand: crust"),
            ("wet_seedbed", "no stand: saturated seed bed"),
            ("drowned", "drowned later"),
            ("early_cold", "cold came too early"),
            ("next_crop", "the gap closed too early"),
            ("too_little_growth", "too little dry matter at the end"),
            ("reach_45d", "45 days of growth"),
            ("reach_60d", "60 days of growth"),
            ("reach_90d", "90 days of growth"),
        )
    ),
    Column("growing_days_p50", "days from sowing to the end, median", "number", "", 0, 366),
    *(
        Column(f"dry_matter_{age}_kg_ha_p{p}", f"kg/ha {what}, {p} %", "number", "", 0, 50000)
        for age, what in (("60d", "60 days after sowing"), ("end", "at the end"))
        for p in (10, 50, 90)
    ),
    _text("germination_risk", "rating in words", *WORDS["germination"]),
    _text("waterlogging", "rating in words", *WORDS["waterlogging"]),
    _text("inoculation_need", "rating in words", *WORDS["inoculation"]),
    _text("season_length", "rating in words", *WORDS["season"]),
    _text("germination_class", "class of the quality", *CLASSES),
    _text("waterlogging_class", "class of the quality", *CLASSES),
    _text("inoculation_class", "class of the quality", *CLASSES),
    _text("season_class", "class of the quality", *CLASSES),
    _number("germination_score", "0 best, 10 worst", "", 0, 10),
    _number("waterlogging_score", "0 best, 10 worst", "", 0, 10),
    _number("inoculation_score", "0 best, 10 worst", "", 0, 10),
    _number("season_score", "0 best, 10 worst", "", 0, 10),
    _text("germination_factor", "the factor that governs"),
    Column("germination_value", "its value, in the factor's unit"),
    _text("germination_value_text", "its value where it is a class"),
    _number("germination_share_pct", "share of the ground it governs", "pct", 0, 100),
    _text("waterlogging_factor", "the factor that governs"),
    Column("waterlogging_value", "its value, in the factor's unit"),
    _text("waterlogging_value_text", "its value where it is a class"),
    _number("waterlogging_share_pct", "share of the ground it governs", "pct", 0, 100),
    _text("inoculation_factor", "the factor that governs"),
    Column("inoculation_value", "its value, in the factor's unit"),
    _text("inoculation_value_text", "its value where it is a class"),
    _number("inoculation_share_pct", "share of the ground it governs", "pct", 0, 100),
    _text("season_factor", "the factor that governs"),
    Column("season_value", "its value, in the factor's unit"),
    _text("season_value_text", "its value where it is a class"),
    _number("season_share_pct", "share of the ground it governs", "pct", 0, 100),
    _text("score_basis", "what the scores rest on", *SCORE_BASES),
    _text("herbicide_product", "herbicide with residue that the grower named"),
    _text("herbicide_on", "day it was put on, YYYY-MM-DD"),
    _text("inoculant_reason", "why this rate: a code of suitability.inoculation"),
    _text("sow_date", "recommended day to start sowing, MM-DD"),
    _number("soil_cover_pct", "share of the field the soil survey covers", "pct", 0, 100),
    _text("last_freeze_p10", "32 F, 1 year in 10 later than this, MM-DD"),
    _text("last_freeze_p50", "32 F, 5 years in 10 later than this, MM-DD"),
    _text("first_freeze_p10", "32 F, 1 year in 10 before this, MM-DD"),
    _text("first_freeze_p50", "32 F, 5 years in 10 before this, MM-DD"),
    _text("first_freeze_28f_p10", "28 F, 1 year in 10 before this, MM-DD"),
    _text("first_freeze_28f_p50", "28 F, 5 years in 10 before this, MM-DD"),
    _number(
        "freeze_years_in_ten", "years in ten with a 28 F freeze by 31 December", "years/10", 0, 10
    ),
    _text("soil_65f_held_p50", "soil warm and holding by this day in 5 years of 10, MM-DD"),
    _text("soil_65f_held_p80", "soil warm and holding by this day in 8 years of 10, MM-DD"),
    _text("seed_type", "seed the flowering dates are of", "tropical", "seed-setting", "unknown"),
    _text("first_flower_mmdd", "start of the rough range of the first flower, MM-DD"),
    _text("latest_flower_mmdd", "end of that range, MM-DD"),
    _text("first_pods_mmdd", "first pods, going with the early flower, MM-DD"),
)

# The columns of VERDICTS that come from FROST.
FREEZE_COLUMNS = (
    "last_freeze_p10",
    "last_freeze_p50",
    "first_freeze_p10",
    "first_freeze_p50",
    "first_freeze_28f_p10",
    "first_freeze_28f_p50",
    "freeze_years_in_ten",
)

# Ground of a field that stands too wet and can be drawn (geometry travels beside it).
WET_CAUSES = ("ponded", "water table", "wet inclusion", "runs together", "your mark")
WET_GROUND: tuple[Column, ...] = (
    _key("field_id", "field"),
    _key("wet_id", "unique id of the wet ground"),
    Column("area_ha", "area", unit="ha", low=0, high=1e6, required=True),
    _number(
        "years_in_ten",
        "years in ten in which it is too wet; empty by survey rule",
        "years/10",
        0,
        10,
    ),
    _text("cause", "why it is wet", *WET_CAUSES, required=True),
    _text("compname", "the wet soil, where the survey names it"),
)

TABLES: dict[str, tuple[Column, ...]] = {
    "fields": FIELDS,
    "map_units": MAP_UNITS,
    "parts": PARTS,
    "components": COMPONENTS,
    "horizons": HORIZONS,
    "months": MONTHS,
    "stations": STATIONS,
    "weather": WEATHER,
    "frost": FROST,
    "findings": FINDINGS,
    "verdicts": VERDICTS,
    "wet_ground": WET_GROUND,
}
