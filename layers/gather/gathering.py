"""From plans to files: each layer brought whole or not at all, and what came of it."""

import shutil
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import geopandas as gpd

from layers.gather.asking import Patience
from layers.gather.bringing import LayerResult, bring
from layers.gather.parts import FOLDER
from layers.gather.plans import LayerPlan
from layers.gathered import read_provenance


def carry_out(
    plans: Sequence[LayerPlan],
    data_dir: Path,
    fields: gpd.GeoDataFrame,
    tell: Callable[[str], None],
    today: date,
    patience: Patience | None = None,
) -> list[LayerResult]:
    """Ask for each layer that is to be asked for; one that fails leaves the others.

    A layer that is there and fresh has a result too. The data folder is made when it is needed;
    where nothing came, nothing is left behind.
    """
    results = []
    had_folder = data_dir.exists()
    for step in plans:
        service = step.service
        if step.state == "fresh":
            named = tuple(read_provenance(data_dir)[service.layer].get("named", ()))
            results.append(LayerResult(service.layer, service.shown, named))
        elif step.state == "ask":
            results.append(bring(step, data_dir, fields, tell, today, patience or Patience()))
    _tidy(data_dir, had_folder)
    return results


def _tidy(data_dir: Path, had_folder: bool) -> None:
    """Remove the folder of kept answers where it is empty, and the data folder if we made it."""
    kept = data_dir / FOLDER
    if kept.is_dir() and not any(kept.iterdir()):
        shutil.rmtree(kept, ignore_errors=True)
    if not had_folder and data_dir.is_dir() and not any(data_dir.iterdir()):
        data_dir.rmdir()
