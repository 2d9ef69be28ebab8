"""A farm for tests of the plan: a few fields, three weeks, ten years, made by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd

from suitability import stand_run as s
from suitability.stand_run import N_RESULT, N_STANDING

WEEKS = ("06-04", "06-11", "06-18")
YEARS = tuple(range(2001, 2011))
N_AGES = 30
AGES = 5.0 * np.arange(1, N_AGES + 1)
IDS = ("a", "b", "c", "d")


def simulated(dry_matter_kg_d=(80.0, 60.0, 40.0, 80.0), failed=((), (0, 1), (0, 1, 2, 3), ())):
    """A case a field: dry matter rises from day 5 by a fixed amount; some years have no stand."""
    n = len(IDS)
    result = np.full((n, len(YEARS), len(WEEKS), N_RESULT), np.nan, dtype=np.float32)
    standing = np.zeros((n, len(YEARS), len(WEEKS), N_AGES, N_STANDING), dtype=np.float32)
    result[..., s.STAND] = 1
    result[..., s.EMERGED_D] = 5
    result[..., s.DROWNED_D] = 0
    result[..., s.SOWN_D] = 0
    result[..., s.KNOWN_D] = 400
    grown = np.maximum(AGES - 5, 0)
    protein = 20 - 0.2 * AGES
    for case, rate in enumerate(dry_matter_kg_d):
        standing[case, ..., s.DRY_MATTER_KG_HA] = grown * rate
        standing[case, ..., s.HEIGHT_M] = grown * 0.03
        standing[case, ..., s.PROTEIN_PCT] = protein
        standing[case, ..., s.NITROGEN_KG_HA] = grown * rate * protein / 625
        for year in failed[case]:
            result[case, year, :, s.STAND] = 0
            standing[case, year] = np.nan
    return SimpleNamespace(weeks=WEEKS, years=YEARS, result=result, standing=standing)


def years(sim=None, works=9.0):
    sim = simulated() if sim is None else sim
    rows = [(i, w, works) for i in IDS for w in WEEKS]
    weeks = pd.DataFrame(rows, columns=["field_id", "sow_date", "works_years_in_ten"])
    best = pd.DataFrame({"sow_date": WEEKS[0]}, index=pd.Index(IDS, name="field_id"))
    parts = pd.DataFrame({"field_id": IDS, "case": range(4), "area_ha": 10.0})
    return SimpleNamespace(weeks=weeks, best=best, simulated=sim, parts=parts)


def fields(**columns):
    table = pd.DataFrame(
        {
            "field_id": IDS,
            "gap_opens": "06-01",
            "gap_closes": "09-30",
            "lat_deg": 31.0,
            "use": "graze",
            "next_crop": "rye",
        }
    )
    return table.assign(**columns)


def verdicts(**columns):
    table = pd.DataFrame(
        {
            "field_id": IDS,
            "verdict": "sow",
            "inoculation_need": "normal rate",
            "soil_65f_held_p80": "05-01",
        }
    )
    return table.assign(**columns)


SOWABLE_HA = pd.Series(10.0, index=list(IDS))
NO_FLOOD = pd.Series(0.0, index=list(IDS))
