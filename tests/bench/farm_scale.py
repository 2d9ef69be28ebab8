"""What a farm costs in time and memory, and that it grows with cases, not with fields. Prints JSON.

``python tests/bench/farm_scale.py [--copies 1,100,10000] [--farm sample_fields/farm.toml]``

The whole command runs twice as a user would run it, in a process of its own: with nothing compiled
yet, and again. Then the fields of the farm are laid down many times over, under new ids, and their
years are counted, each number of copies in a process of its own. Seconds are those of the clock;
``cpu_s`` those of the processor, which a busy machine stretches less.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import pandas as pd

HERE = Path(__file__).resolve()
FARM = HERE.parents[2] / "sample_fields" / "farm.toml"


def measured(arguments: list[str], cache: str) -> dict[str, float]:
    """Seconds and peak memory of a command with this folder for compiled code."""
    began, used = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        arguments,
        check=True,
        stdout=subprocess.DEVNULL,
        env={**os.environ, "XDG_CACHE_HOME": cache},
    )
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu_s = now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime
    return {"clock_s": round(time.perf_counter() - began, 2), "cpu_s": round(cpu_s, 2)}


def whole_command(farm: Path, cache: str) -> dict[str, object]:
    """``suitability run --tables`` on the farm: the very first run, and one after it."""
    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-c", "from maps.cli import main; main()", "run", str(farm)]
        run += ["--out", folder + "/out", "--tables", "--quiet"]
        first, warm = measured(run, cache), measured(run, cache)
    peak_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return {"first_run": first, "warm": warm, "peak_mb": round(peak_mb)}


def many_fields(farm: Path, copies: int) -> dict[str, object]:
    """Count the years of so many copies of the farm's fields, in this process."""
    from maps.farm_file import farm_file_for
    from maps.layers_read import read_layers
    from suitability.counted import counted
    from suitability.crop import load_crop
    from suitability.findings import find
    from suitability.ground import ground
    from suitability.warm_columns import warm_columns
    from suitability.years import shifted_runs, simulate_farm, years_of

    asked = farm_file_for(farm)
    read = read_layers(asked, lambda step: None)
    crop = load_crop(asked.farm.crop)
    tables = {name: read.table(name) for name in ("components", "horizons", "months")}
    fields = pd.DataFrame(read.fields.drop(columns="geometry"))
    warm = warm_columns(read.parts, read.weather, read.stations, crop)
    fields = fields.join(warm, on="field_id")
    on_ground = ground(fields, read.parts, **tables)
    findings = find(on_ground, crop)
    counts = counted(on_ground, findings, crop)
    floods = findings[findings["factor"] == "flooding"]
    fields, parts, floods, mine = (
        _copied(table, copies) for table in (fields, read.parts, floods, counts.parts)
    )
    daily = {**tables, "stations": read.stations, "weather": read.weather}
    before_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    began, cpu = time.perf_counter(), time.process_time()
    simulation = simulate_farm(fields, parts, daily, crop, lambda step: None)
    if simulation is None:
        raise SystemExit("The farm has nothing to simulate.")
    half, half_cpu = time.perf_counter(), time.process_time()
    counted_parts = replace(counts, parts=mine).parts
    chosen = years_of(simulation, counted_parts, floods, fields, crop).best["sow_date"]
    with shifted_runs(simulation, chosen, crop) as shifted:
        years = years_of(simulation, counted_parts, floods, fields, crop, chosen, shifted())
    return {
        "copies": copies,
        "n_fields": len(fields),
        "n_cases": len(simulation.main.cases),
        "n_field_weeks": len(years.weeks),
        "simulate_s": round(half - began, 2),
        "simulate_cpu_s": round(half_cpu - cpu, 2),
        "count_s": round(time.perf_counter() - half, 2),
        "count_cpu_s": round(time.process_time() - half_cpu, 2),
        "peak_mb_before": round(before_mb),
        "peak_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }


def _copied(table: pd.DataFrame, copies: int) -> pd.DataFrame:
    many = pd.concat([table] * copies, ignore_index=True)
    number = pd.Series([str(i) for i in range(copies) for _ in range(len(table))])
    return many.assign(field_id=many["field_id"].astype(str) + "-" + number)


def main() -> None:
    """Run the bench and print what it found as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--farm", type=Path, default=FARM)
    parser.add_argument("--copies", default="1,100,10000")
    parser.add_argument("--only", type=int, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.only is not None:
        print(json.dumps(many_fields(given.farm, given.only)))
        return
    with tempfile.TemporaryDirectory() as cache:
        command = whole_command(given.farm, cache)
        copies = []
        for number in given.copies.split(","):
            one = [sys.executable, str(HERE), "--farm", str(given.farm), "--only", number]
            done = subprocess.run(
                one,
                check=True,
                capture_output=True,
                text=True,
                env={**os.environ, "XDG_CACHE_HOME": cache},
            )
            copies.append(json.loads(done.stdout))
    print(json.dumps({"command": command, "copies": copies}, indent=1))


if __name__ == "__main__":
    main()
