"""What stands on a whole field, put together from soils that were sown some days apart."""

import numpy as np
import pandas as pd
import pytest

from suitability import stand_run as at
from suitability.case_run import START_SIZE
from suitability.engine import Simulated
from suitability.field_stand import field_stand

# A gap of 20 days from the sowing week on: soils sown on its first and on its fourth day are 20 and
# 17 days old when it closes.
FIELDS = pd.DataFrame({"field_id": ["F"], "gap_opens": ["06-01"], "gap_closes": ["06-24"]})
WEEK = "06-04"


def simulated(*soils):
    """One year and week; each soil (sown_d, dry matter at ages 5, 10, ..., drowned_d)."""
    n_ages = 6
    result = np.full((len(soils), 1, 1, at.N_RESULT), np.nan, dtype=np.float32)
    standing = np.full((len(soils), 1, 1, n_ages, at.N_STANDING), np.nan, dtype=np.float32)
    for i, (sown_d, dry_matter, drowned_d) in enumerate(soils):
        for place, value in (
            (at.STAND, 1), (at.EMERGED_D, 4), (at.SOWN_D, sown_d), (at.DROWNED_D, drowned_d),
            (at.KNOWN_D, 100),
        ):  # fmt: skip
            result[i, 0, 0, place] = value
        standing[i, 0, 0, : len(dry_matter), at.DRY_MATTER_KG_HA] = dry_matter
        standing[i, 0, 0, : len(dry_matter), at.NITROGEN_KG_HA] = np.array(dry_matter) / 50
    cases = pd.DataFrame({"cokey": [str(i) for i in range(len(soils))]})
    starts = np.full((len(soils), 1, 1, START_SIZE), np.nan)
    return Simulated(cases, (WEEK,), (2001,), result, standing, starts, {}, ())


def stand(*soils):
    parts = pd.DataFrame({"field_id": "F", "case": range(len(soils)), "area_ha": 1.0})
    return field_stand(simulated(*soils), parts, FIELDS, ["F"])


def test_a_soil_sown_later_counts_on_the_day_the_field_is_ended():
    grown = [0, 200, 700, 1500]
    found = stand((0, grown, 0), (3, grown, 0))
    assert found.end_d[0, 0, 0] == 20
    # At 20 days the second soil, 17 days old when its field is ended, has what it had at 15.
    assert found.dry_matter_kg_ha[0, 0, 0, :5] == pytest.approx([0, 0, 200, 700, 1100])
    assert found.nitrogen_kg_ha[0, 0, 0, 4] == pytest.approx(1100 / 50)


def test_a_drowned_soil_counts_with_nothing_from_then_on():
    grown = [0, 200, 700, 1500]
    found = stand((0, grown, 0), (0, grown, 12))
    assert found.dry_matter_kg_ha[0, 0, 0, :5] == pytest.approx([0, 0, 200, 350, 750])
