"""One layer brought: asked for, read back by the program's own reader, then put in place."""

import errno
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd

from layers.elevation import read_elevation
from layers.frost.reader import read_frost
from layers.gather import elevation, frost, soil, weather
from layers.gather.asking import Patience
from layers.gather.failures import GatherError, NoConnectionError, OutsideError, UnsoundError
from layers.gather.parts import FOLDER, Parts
from layers.gather.plans import LayerPlan
from layers.gather.work import Fetched, Work
from layers.gathered import file_row, read_provenance, write_provenance
from layers.soil_map.reader import read_soil_survey
from layers.weather.reader import WeatherSource, read_weather
from suitability.errors import SuitabilityError

_FETCH: dict[str, Callable[[Work, Path], Fetched]] = {
    "soil": soil.fetch,
    "elevation": elevation.fetch,
    "weather": weather.fetch,
    "frost": frost.fetch,
}


@dataclass(frozen=True)
class LayerResult:
    """What came of one layer: ``fault`` is empty where it is there; ``named`` for farm.toml."""

    layer: str
    shown: str
    named: tuple[str, ...]
    fault: str = ""
    no_connection: bool = False
    outside: bool = False


def bring(
    step: LayerPlan,
    data_dir: Path,
    fields: gpd.GeoDataFrame,
    tell: Callable[[str], None],
    today: date,
    patience: Patience,
) -> LayerResult:
    """Bring one layer into the data folder and write down where it comes from."""
    service = step.service
    kept = Parts(data_dir / FOLDER / service.layer)
    staging = data_dir / FOLDER / f"{service.layer}.new"
    work = Work(service, step.boxes, patience, kept, tell, today)
    fault = ""
    no_connection = outside = False
    try:
        shutil.rmtree(staging, ignore_errors=True)
        staging.mkdir(parents=True)
        fetched = _FETCH[service.layer](work, staging)
        _read_back(service.layer, [staging / name for name in fetched.named], fields, today)
        known = read_provenance(data_dir)
        _refuse_strangers(fetched, data_dir, known)
        # Written first: a run cut short here finds files that do not answer to their hash, and
        # knows them for its own.
        row = _provenance(step, staging, fetched, today)
        write_provenance(data_dir, {**known, service.layer: row})
        _put_in_place(fetched, staging, data_dir)
        kept.forget()
        return LayerResult(service.layer, service.shown, fetched.named)
    except NoConnectionError as error:
        fault, no_connection = str(error), True
    except OutsideError as error:
        fault, outside = str(error), True
        kept.forget()
    except UnsoundError as error:
        fault = str(error)
        kept.forget()
    except GatherError as error:
        fault = str(error)
    except SuitabilityError as error:
        # The program's own reader does not take what came.
        fault = f"{service.shown}: what came cannot be used. {' '.join(str(error).split())}"
        kept.forget()
    except OSError as error:
        fault = f"{service.shown}: cannot be written into {data_dir} ({_reason(error)})."
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return LayerResult(
        service.layer, service.shown, (), fault, no_connection=no_connection, outside=outside
    )


def _provenance(step: LayerPlan, staging: Path, fetched: Fetched, day: date) -> dict[str, Any]:
    service = step.service
    return {
        "service": service.name,
        "publisher": service.publisher,
        "address": service.address,
        "licence": f"{service.licence}, as remembered",
        "cite": service.cite,
        "question": step.sends,
        "question_id": step.question_id,
        "asked_on": day.isoformat(),
        "files": [file_row(staging, name) for name in fetched.files],
        "named": list(fetched.named),
        "note": fetched.note,
    }


def _refuse_strangers(
    fetched: Fetched, data_dir: Path, known: Mapping[str, Mapping[str, Any]]
) -> None:
    """A file of the user's that bears a name of ours is never overwritten."""
    ours = {file["name"] for row in known.values() for file in row["files"]}
    strange = [n for n in fetched.files if n not in ours and (data_dir / n).exists()]
    if strange:
        raise GatherError(
            f"{data_dir / strange[0]} is there and was not gathered; it is not overwritten. Move "
            "it away, or name it in farm.toml as yours."
        )


def _put_in_place(fetched: Fetched, staging: Path, data_dir: Path) -> None:
    for name in fetched.files:
        target = data_dir / name
        target.parent.mkdir(parents=True, exist_ok=True)
        (staging / name).replace(target)
    for named in fetched.named:
        folder = data_dir / named
        if folder.is_dir():
            # Files of an earlier answer would be read along with the new ones.
            mine = {data_dir / name for name in fetched.files}
            for old in folder.glob("*.csv"):
                if old not in mine:
                    old.unlink()


def _read_back(layer: str, paths: list[Path], fields: gpd.GeoDataFrame, today: date) -> None:
    """Read the files as a run will; any SuitabilityError comes from there."""
    if layer == "soil":
        read_soil_survey(paths[0])
    elif layer == "elevation":
        read_elevation(paths, fields)
    elif layer == "weather":
        middle = (float(fields["lat_deg"].mean()), float(fields["lon_deg"].mean()))
        read_weather([WeatherSource(path) for path in paths], middle, today)
    else:
        read_frost(paths[0], fields)


def _reason(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "the disk is full"
    return error.strerror or " ".join(str(error).split())[:160] or "no reason given"
