"""A small farm with made-up weather for the daily engine; run as a file it prints stands.

With NUMBA_DISABLE_JIT=1 the same case runs as plain Python, so that the two can be compared.
"""

import json
import sys
from pathlib import Path

FIRST_YEAR = 2001
WEEKS = ("05-14", "06-04", "07-02")
GAP = ("05-10", "10-20")


def weather(n_years=12, seed=7, dry_years=(), weather_id="w", lat_deg=31.0):
    """WEATHER of a warm, humid place of our own invention; no rain May to October in dry years."""
    import numpy as np
    import pandas as pd

    rng = np.random.default_rng(seed)
    dates = pd.date_range(f"{FIRST_YEAR}-01-01", f"{FIRST_YEAR + n_years - 1}-12-31")
    doy = dates.day_of_year.to_numpy()
    mean_c = 18.5 - 9.0 * np.cos(2 * np.pi * (doy - 20) / 365) + rng.normal(0, 1.5, len(dates))
    rain = np.where(rng.random(len(dates)) < 0.3, rng.exponential(11.0, len(dates)), 0.0)
    summer = (dates.month >= 5) & (dates.month <= 10) & dates.year.isin(dry_years)
    return pd.DataFrame(
        {
            "weather_id": weather_id,
            "date": dates,
            "tmax_c": mean_c + 6.0,
            "tmin_c": mean_c - 6.0,
            "precip_mm": np.where(summer, 0.0, rain),
            "solar_mj_m2_d": np.nan,
        }
    )


def case(table=None, texture=(65.0, 12.0), base_cm=300.0, conductance_per_d=0.005, **changed):
    """Arguments of both steps of ``case_run``, but for the sowings and the results, by name."""
    import numpy as np
    from soil_columns import profiles_of

    from suitability.crop import load_crop
    from suitability.daily_weather import daily_weather
    from suitability.engine import Offset, _at_air_limit, _fixed
    from suitability.ground_position import ground_row
    from suitability.profile import soil_rows
    from suitability.soil_column import BASE_CM
    from suitability.soil_heat import soil_heat

    record = daily_weather(weather() if table is None else table, 31.0)
    profile = profiles_of([texture], hydrologic_group="B")
    ground = ground_row(profile, 0, base_cm, conductance_per_d)
    p_water, p_est, p_grow, p_wet, p_end = _at_air_limit(
        _fixed(load_crop("sunn_hemp"), Offset()), ground
    )
    arguments = {
        "weather": record.values,
        "base_cm": np.full(len(record.dates), ground[BASE_CM]),
        "soil": soil_rows(profile, 0),
        "ground": ground,
        "crust_index": 0.5,
        "irrigation_mm_week": 0.0,
        "surface": soil_heat().surface(),
        "heat_layers": soil_heat().layers(),
        "start_c": float(np.nanmean(record.values[:2])),
        "p_water": p_water,
        "p_est": p_est,
        "p_grow": p_grow,
        "p_wet": p_wet,
        "p_end": p_end,
        "offset_c": 0.0,
    }
    return record, arguments | changed


def stands(record, arguments, weeks=WEEKS, last_age_d=120):
    """Results (year, week, N_RESULT) and standing (year, week, age, N_STANDING) of one case."""
    import numpy as np

    from suitability.case_run import START_SIZE, bare_starts, run_stands
    from suitability.stand_run import AGE_STEP_D, N_RESULT, N_STANDING

    sow_day = np.array([record.row(y, w) for y in record.years for w in weeks], dtype=np.int64)
    result = np.empty((len(sow_day), N_RESULT))
    standing = np.empty((len(sow_day), last_age_d // AGE_STEP_D, N_STANDING))
    a = arguments
    starts = np.empty((len(sow_day), START_SIZE))
    bare_starts(
        a["weather"],
        a["base_cm"],
        sow_day,
        a["soil"],
        a["ground"],
        a["surface"],
        a["heat_layers"],
        a["start_c"],
        a["p_water"],
        starts,
    )
    run_stands(
        a["weather"],
        a["base_cm"],
        sow_day,
        np.full(len(sow_day), last_age_d),
        starts,
        a["soil"],
        a["ground"],
        a["crust_index"],
        a["irrigation_mm_week"],
        a["surface"],
        a["heat_layers"],
        a["p_water"],
        a["p_est"],
        a["p_grow"],
        a["p_wet"],
        a["p_end"],
        a["offset_c"],
        result,
        standing,
    )
    shape = (len(record.years), len(weeks))
    return result.reshape(*shape, -1), standing.reshape(*shape, *standing.shape[1:])


def two_years():
    """Results of one case over two years, as lists; a lasting table and irrigation in it."""
    record, arguments = case(weather(2), base_cm=60.0, irrigation_mm_week=20.0)
    return [values.tolist() for values in stands(record, arguments)]


def farm(*soils, weather_table=None, gap=GAP, **field_columns):
    """Arguments of ``years_of_farm`` for fields of one part each, or of several.

    ``soils`` has for each field a list of (texture, drainage class, hectares).
    """
    import farm_tables
    import pandas as pd
    from soil_columns import survey

    from suitability.columns import MONTHS, STATIONS
    from suitability.contract import empty
    from suitability.counted import counted
    from suitability.crop import load_crop
    from suitability.findings import find
    from suitability.ground import ground
    from suitability.verdict import judge

    crop = load_crop("sunn_hemp")
    kinds = sorted({(texture, drainage) for field in soils for texture, drainage, _ in field})
    components, horizons = survey([t for t, _ in kinds], hydrologic_group="B")
    components["drainage_class"] = [d for _, d in kinds]
    components["cokey"] = horizons["cokey"] = keys = [f"k{i}" for i in range(len(kinds))]
    components["mukey"] = keys
    for column in ("bulk_density_g_cm3", "ksat_um_s", "ph", "silt_fine_pct", "silt_coarse_pct"):
        horizons[column] = horizons[column].astype(float)
    horizons["silt_pct"] = 100 - horizons["sand_pct"] - horizons["clay_pct"]
    horizons["ph"] = 6.2
    ids = [f"F{i}" for i in range(1, len(soils) + 1)]
    rows = [
        (field_id, keys[kinds.index((t, d))], keys[kinds.index((t, d))], area_ha)
        for field_id, field in zip(ids, soils, strict=True)
        for t, d, area_ha in field
    ]
    fields = farm_tables.fields(*ids, gap_opens=gap[0], gap_closes=gap[1], legume_last_year=2025.0)
    fields = fields.assign(soil_65f_held_p80=None, **field_columns)
    fields["area_ha"] = [sum(part[2] for part in field) for field in soils]
    parts = farm_tables.parts(*rows).assign(weather_id="w")
    on_ground = ground(fields, parts, components, horizons, empty(MONTHS))
    findings = find(on_ground, crop)
    counts = counted(on_ground, findings, crop)
    stations = empty(STATIONS).reindex(range(1))
    stations = stations.assign(weather_id="w", lat_deg=31.0, lon_deg=-84.0)
    tables = {
        "components": components,
        "horizons": horizons,
        "months": empty(MONTHS),
        "stations": stations,
        "weather": weather() if weather_table is None else weather_table,
    }
    judged = judge(fields, counts, findings, crop, 2026)
    assert isinstance(fields, pd.DataFrame)
    return (fields, parts, counts, findings, tables, crop, lambda step: None), judged


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    sys.path = [p for p in sys.path if Path(p).resolve() != Path(__file__).parent]
    sys.path.append(str(Path(__file__).parent))
    sys.stdout.write(json.dumps(two_years()))
