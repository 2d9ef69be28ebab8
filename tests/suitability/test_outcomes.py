"""Works, or what failed it first: stands written by hand, a gap that closes 100 days on."""

import numpy as np
import pytest

from suitability import establishment as est
from suitability import outcomes as o
from suitability import season_end as s
from suitability import stand_run as at

NEEDED_D, LEAST_KG_HA = 60.0, 2000.0
AGES = 30  # to 150 days


def stand(**numbers):
    """A stand up on day 5 that grows 50 kg/ha a day from day 5 on, 100 days followed."""
    result = np.full(at.N_RESULT, np.nan, dtype=np.float32)
    last = numbers.pop("last", 100)
    given = {
        "STAND": 1,
        "CAUSE": est.NO_CAUSE,
        "EMERGED_D": 5,
        "DROWNED_D": 0,
        "RUN_EARLY_D": 0,
        "RUN_LATER_D": 0,
        "END_CAUSE": s.NOT_ENDED,
        "SOWN_D": 0,
        "KNOWN_D": 400,
        "LAST_D": last,
        "LAST_DRY_MATTER_KG_HA": 50 * last,
        **numbers,
    }
    for name, value in given.items():
        result[getattr(at, name)] = value
    standing = np.full((AGES, at.N_STANDING), np.nan, dtype=np.float32)
    if given["STAND"]:
        ages = at.AGE_STEP_D * np.arange(1, AGES + 1)
        here = (ages >= given["EMERGED_D"]) & (ages <= last)
        standing[here, at.DRY_MATTER_KG_HA] = 50.0 * ages[here]
    return result, standing


def no_stand(cause, failed_d=21):
    return (
        stand(STAND=0, CAUSE=cause, EMERGED_D=np.nan, FAILED_D=failed_d, last=failed_d)
        if (cause)
        else stand(STAND=0, EMERGED_D=np.nan)
    )


def told(given, close_d=100.0):
    result, standing = given
    found = o.outcome(
        result[None, None, None],
        standing[None, None, None],
        np.array([0]),
        np.array([[close_d]]),
        NEEDED_D,
        LEAST_KG_HA,
    )
    return {name: float(value[0, 0, 0]) for name, value in found.items()}


def test_a_year_that_works():
    found = told(stand())
    assert found["outcome"] == o.WORKS and found["end_cause"] == s.NEXT_CROP
    assert found["growing_days"] == 100
    assert found["dry_matter_60d_kg_ha"] == 3000 and found["dry_matter_end_kg_ha"] == 5000
    # Sown on day 0 of the week, which is day 1 of the stand: up 4 days after, over 99 after.
    assert found["emerged_d"] == 4 and found["end_d"] == 99


@pytest.mark.parametrize(
    ("cause", "outcome"),
    [
        (est.COLD, o.COLD_SOIL),
        (est.DROUGHT, o.DRY_SEEDBED),
        (est.CRUST, o.CRUST),
        (est.WET, o.WET_SEEDBED),
    ],
)
def test_no_stand_by_its_cause(cause, outcome):
    found = told(no_stand(cause))
    assert found["outcome"] == outcome
    assert found["growing_days"] == found["dry_matter_end_kg_ha"] == 0
    assert found["end_cause"] == s.NOT_ENDED
    assert np.isnan(found["emerged_d"]) and np.isnan(found["end_d"])


def test_the_first_cause_in_time_counts_and_only_that():
    # Drowned on day 30, and a freeze on day 50 that came too early anyway: drowned.
    both = stand(DROWNED_D=30, END_D=50, END_CAUSE=s.FREEZE, last=30)
    assert told(both)["outcome"] == o.DROWNED
    # Frozen on day 50 with 2,500 kg/ha: too early, though the dry matter would do.
    assert told(stand(END_D=50, END_CAUSE=s.FREEZE, last=50))["outcome"] == o.EARLY_COLD
    # Closed on day 50, before a freeze on day 55.
    late = stand(END_D=55, END_CAUSE=s.FREEZE, last=55)
    assert told(late, close_d=50)["outcome"] == o.NEXT_CROP
    # The gap closes on day 10, before the seed has failed on day 21.
    assert told(no_stand(est.DROUGHT), close_d=10)["outcome"] == o.NEXT_CROP
    # Long enough, but little.
    thin = stand()
    thin[1][:, at.DRY_MATTER_KG_HA] /= 5
    thin[0][at.LAST_DRY_MATTER_KG_HA] /= 5
    assert told(thin)["outcome"] == o.TOO_LITTLE


def test_limits_belong_to_what_works():
    assert told(stand(), close_d=60)["outcome"] == o.WORKS
    assert told(stand(), close_d=59)["outcome"] == o.NEXT_CROP
    given = stand()
    given[1][:, at.DRY_MATTER_KG_HA] *= 2000 / 5000
    given[0][at.LAST_DRY_MATTER_KG_HA] = 2000
    assert told(given)["outcome"] == o.WORKS


def test_the_close_of_the_gap_cuts_growth():
    # Sown 3 days into the week: 95 - 3 = 92 days; 50 kg/ha a day, between the kept 90 and 95.
    found = told(stand(SOWN_D=3), close_d=95)
    assert found["growing_days"] == 92 and found["dry_matter_end_kg_ha"] == 4600
    assert found["emerged_d"] == 7 and found["end_d"] == 94


def test_dry_matter_between_the_ages_kept_and_after_the_last():
    # Frozen on day 63: the last age kept is 60 (3,000), what stood on day 63 is 3,150.
    frozen = stand(END_D=63, END_CAUSE=s.FREEZE, last=63)
    assert told(frozen)["dry_matter_end_kg_ha"] == 3150
    # Closed on day 62, a day before that freeze.
    assert told(frozen, close_d=62)["dry_matter_end_kg_ha"] == pytest.approx(3100)


def test_drowned_leaves_nothing_and_says_when():
    found = told(stand(DROWNED_D=70, last=70))
    assert found["outcome"] == o.DROWNED and found["end_cause"] == o.END_DROWNED
    assert found["growing_days"] == 70 and found["dry_matter_end_kg_ha"] == 0
    assert found["dry_matter_60d_kg_ha"] == 3000, "it stood on day 60"
    assert told(stand(DROWNED_D=60, last=60))["dry_matter_60d_kg_ha"] == 0
    # Drowned as seed: it never came up, and water is the cause.
    seed = told(stand(STAND=0, EMERGED_D=np.nan, DROWNED_D=6, last=6))
    assert seed["outcome"] == o.DROWNED and seed["growing_days"] == 0
    # It would have drowned, but the gap had closed.
    assert told(stand(DROWNED_D=70, last=70), close_d=65)["outcome"] == o.WORKS


def test_a_year_with_a_hole_in_its_weather_is_unknown_whatever_happened_before():
    for given in (stand(KNOWN_D=99), stand(KNOWN_D=99, END_D=50, END_CAUSE=s.FREEZE, last=50)):
        found = told(given)
        assert found.pop("outcome") == o.UNKNOWN and np.isnan(list(found.values())).all()
    assert told(stand(KNOWN_D=99), close_d=99)["outcome"] == o.WORKS, "closed before the hole"


def test_a_week_outside_the_gap_is_unknown():
    assert told(stand(), close_d=np.nan)["outcome"] == o.UNKNOWN


def test_a_stand_is_followed_no_longer_than_its_ages():
    found = told(stand(last=150), close_d=220)
    assert found["outcome"] == o.WORKS and found["growing_days"] == 150
    assert found["end_cause"] == s.NOT_ENDED and found["dry_matter_end_kg_ha"] == 7500


def test_every_code_has_its_words():
    assert len(o.WHY_NOT) == o.N_OUTCOMES and len(o.END_CAUSES) == o.N_END_CAUSES
