"""Compiled and plain Python give the same days, to 1e-9."""

import json
import os
import subprocess
import sys
from pathlib import Path

import crop_days
import numpy as np
import pytest


@pytest.fixture(scope="module")
def plain():
    done = subprocess.run(
        [sys.executable, str(Path(crop_days.__file__))],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def compiled():
    return crop_days.seasons()


@pytest.mark.parametrize("step", ["establishment", "growth", "waterlogging", "season_end"])
def test_a_step_gives_the_same_compiled_and_plain(step, plain, compiled):
    ours, other = np.array(compiled[step]), np.array(plain[step])
    assert ours.shape == other.shape and np.isfinite(ours).all()
    assert ours[-1].any(), "the days must move the state"
    np.testing.assert_allclose(ours, other, rtol=1e-9, atol=1e-9)


def test_the_made_up_days_reach_every_branch(compiled):
    from suitability import establishment as e
    from suitability import season_end as s

    statuses = {row[e.STATUS] for row in compiled["establishment"]}
    assert statuses == {e.WAITING, e.UP, e.FAILED}
    ends = {row[s.CAUSE] for row in compiled["season_end"]}
    assert len(ends) > 1
