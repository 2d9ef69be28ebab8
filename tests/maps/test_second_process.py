"""The second process of a run: same answers, same faults, and what is done when it is gone."""

import gc
import os
import signal
import subprocess
import sys
import time
import weakref
from contextlib import nullcontext
from operator import add, truediv
from pathlib import Path

import numpy as np
import pytest

from maps import second_process as module
from maps.farm_file import read_farm_file
from maps.run import assess
from maps.second_process import Here, second_process
from maps.writing import write_all
from suitability.crop import load_crop
from suitability.errors import SuitabilityError

SAMPLE = Path(__file__).parents[2] / "sample_fields"


def silent(_step: str) -> None:
    pass


def farm_of_one_field(folder: Path) -> Path:
    """A farm file for one field of the sample farm, with all that it has but the plan."""
    path = folder / "farm.toml"
    path.write_text(
        f"""[fields]
file = "{SAMPLE / "fields.geojson"}"
id = "field_id"
[soil]
file = "{SAMPLE / "soil_survey.gpkg"}"
[elevation]
file = "{SAMPLE / "elevation.tif"}"
[weather]
file = "{SAMPLE / "weather.csv"}"
[gap]
opens = "06-15"
closes = "10-01"
"""
    )
    return path


def test_a_call_is_answered_by_another_process_once() -> None:
    with second_process() as beside:
        waits = [beside.start(os.getpid), beside.start(add, 2, 3)]
        there, five = (wait() for wait in waits)
        assert there not in (os.getpid(), os.getppid()) and five == 5


def test_here_a_call_is_done_when_it_is_asked_for() -> None:
    done: list[int] = []
    wait = Here().start(done.append, 1)
    assert done == []
    wait()
    assert done == [1]


@pytest.mark.parametrize("second", [False, True])
def test_nothing_of_a_call_stays_when_it_was_asked(second: bool) -> None:
    with second_process() if second else nullcontext(Here()) as beside:
        given = np.zeros(1000)
        seen = weakref.ref(given)
        wait = beside.start(np.sum, given)
        del given
        assert wait() == 0.0
        gc.collect()
        assert seen() is None


def test_a_fault_is_raised_where_the_answer_is_asked_for() -> None:
    with second_process() as beside:
        wait = beside.start(load_crop, "maize")
        after = beside.start(add, 1, 1)
        with pytest.raises(SuitabilityError) as raised:
            wait()
        with pytest.raises(SuitabilityError) as here:
            load_crop("maize")
        assert type(raised.value) is type(here.value) and str(raised.value) == str(here.value)
        with pytest.raises(ZeroDivisionError) as divided:
            beside.start(truediv, 1, 0)()
        assert "_answered" in divided.value.__notes__[0]  # where it happened is not lost
        assert after() == 2


def test_a_process_that_is_killed_leaves_its_calls_to_be_done_here() -> None:
    with second_process() as beside:
        there = beside.start(os.getpid)()
        begun = beside.start(time.sleep, 60)
        queued = beside.start(os.getpid)
        os.kill(there, signal.SIGKILL)
        assert queued() == os.getpid()
        assert beside.start(os.getpid)() == os.getpid()
        del begun


def test_a_call_too_large_to_send_is_done_here_and_frees_the_memory(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "_MOST_BYTES", 1000)
    with second_process() as beside:
        there = beside.start(os.getpid)()
        assert beside.start(len, b"x" * 2000)() == 2000
        assert beside.start(os.getpid)() == os.getpid()
        ended = time.monotonic() + 20
        while alive(there) and time.monotonic() < ended:
            time.sleep(0.05)
        assert not alive(there)


def test_one_core_has_no_second_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    with second_process() as beside:
        assert beside.start(os.getpid)() == os.getpid()


@pytest.mark.skipif(sys.platform == "win32", reason="no signal of this kind there")
def test_it_ends_when_the_run_is_killed() -> None:
    code = """
import os, time
from maps.second_process import second_process
if __name__ == "__main__":
    with second_process() as beside:
        print(beside.start(os.getpid)(), flush=True)
        time.sleep(60)
"""
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) as run:
        assert run.stdout is not None
        there = int(run.stdout.readline())
        assert alive(there)
        run.kill()
    ended = time.monotonic() + 20
    while alive(there) and time.monotonic() < ended:
        time.sleep(0.05)
    assert not alive(there)


def alive(process: int) -> bool:
    """Whether a process is there and no mere entry of a table that its parent has not read."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    return not state.exists() or state.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def test_a_run_gives_the_same_files_with_and_without(tmp_path: Path) -> None:
    farm = read_farm_file(farm_of_one_field(tmp_path))
    alone, both = tmp_path / "alone", tmp_path / "both"
    alone.mkdir()
    both.mkdir()
    write_all(assess(farm, silent), alone, tables=True, progress=silent)
    with second_process() as beside:
        told = assess(farm, silent, beside=beside)
        names = write_all(told, both, tables=True, progress=silent, beside=beside)
    timed = {"report.pdf", "zones.gpkg"}  # these hold the time of writing
    assert {path.name for path in names} >= {*timed, "map.html", "report.html", "wet_weeks.csv"}
    for path in names:
        assert path.stat().st_size > 0
        if path.name not in timed:
            assert path.read_bytes() == (alone / path.name).read_bytes(), path.name
