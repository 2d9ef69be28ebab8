"""Published freeze dates of the nearest stations that have them, a file a station."""

import json
import math
import re
from pathlib import Path
from typing import Any

from layers.frost.normals import recognises
from layers.gather.asking import Question
from layers.gather.boxes import LonLatBox, whole_extent
from layers.gather.failures import BadAnswerError, OutsideError, RefusedError
from layers.gather.work import Fetched, Work

FOLDER = "freeze_normals"
_ID = re.compile(r"[A-Z]{2}[A-Z0-9]{9}")


def fetch(work: Work, out: Path) -> Fetched:
    """Write a file for each of the nearest stations into ``out/freeze_normals``.

    Raises
    ------
    OutsideError : no station near has freeze dates.
    GatherError, OSError : see ``asking.ask``.
    """
    limits = work.service.limits
    work.tell("freeze dates, which stations are near")
    stations = nearest(_search(work), work.boxes)
    (out / FOLDER).mkdir(parents=True, exist_ok=True)
    names: list[str] = []
    for station in stations[: int(limits["most_tries"])]:
        if len(names) == int(limits["most_stations"]):
            break
        work.tell(f"freeze dates of station {station}")
        try:
            body = _station(work, station)
        except RefusedError:
            continue  # listed, and without a file
        if recognises(body.decode("utf-8", "replace")):
            name = f"{FOLDER}/{station}.csv"
            (out / name).write_bytes(body)
            names.append(name)
    if not names:
        raise OutsideError("freeze dates: no station near the fields has them.")
    said = ", ".join(Path(name).stem for name in names)
    return Fetched(tuple(names), (FOLDER,), f"Stations {said}.")


def search_box(boxes: tuple[LonLatBox, ...], around_deg: float) -> LonLatBox:
    """The box in which stations are looked for [deg]."""
    west, south, east, north = whole_extent(boxes)
    return (
        round(west - around_deg, 2),
        round(south - around_deg, 2),
        round(east + around_deg, 2),
        round(north + around_deg, 2),
    )


def nearest(document: Any, boxes: tuple[LonLatBox, ...]) -> list[str]:
    """Ids of the stations found, nearest to the middle of the fields first.

    Anything in the answer that is no station id is left out; a station without a place comes last.
    """
    west, south, east, north = whole_extent(boxes)
    lon, lat = (west + east) / 2, (south + north) / 2
    found: dict[str, float] = {}
    results = document.get("results") if isinstance(document, dict) else None
    for result in results if isinstance(results, list) else []:
        if not isinstance(result, dict):
            continue
        place = _place(result)
        away = math.inf
        if place is not None:
            away = math.hypot((place[0] - lon) * math.cos(math.radians(lat)), place[1] - lat)
        for station in _ids(result):
            found[station] = min(away, found.get(station, math.inf))
    return sorted(found, key=lambda station: (found[station], station))


def _search(work: Work) -> Any:
    limits = work.service.limits
    west, south, east, north = search_box(work.boxes, float(limits["around_deg"]))
    params = {
        "dataset": str(limits["dataset"]),
        "dataTypes": str(limits["element"]),
        "bbox": f"{north:.2f},{west:.2f},{south:.2f},{east:.2f}",
        "limit": "100",
        "format": "json",
    }
    url = f"{work.service.address}{limits['search']}"
    question = Question(work.service.shown, url, work.most_bytes, _is_search, params)
    words = url + "?" + "&".join(f"{k}={v}" for k, v in params.items())
    return json.loads(work.ask(question, words))


def _is_search(body: bytes) -> None:
    try:
        document = json.loads(body)
    except ValueError:
        raise BadAnswerError("it answered with a list that breaks off") from None
    if not isinstance(document, dict) or not isinstance(document.get("results"), list):
        raise BadAnswerError("it answered with something that is no list of stations")


def _station(work: Work, station: str) -> bytes:
    url = work.service.address + str(work.service.limits["station_file"]).format(station=station)

    def check(body: bytes) -> None:
        first, _, rest = body.partition(b"\n")
        if b"STATION" not in first[:200] or station.encode() not in rest[:60]:
            raise BadAnswerError(f"it answered with something that is no table of {station}")
        if rest.rstrip().split(b"\n")[-1].count(b",") < first.count(b","):
            raise BadAnswerError(f"its table of {station} breaks off")

    question = Question(work.service.shown, url, work.most_bytes, check)
    return work.ask(question, url)


def _ids(result: dict[str, Any]) -> list[str]:
    stations = result.get("stations")
    listed = (
        [s.get("id") for s in stations if isinstance(s, dict)] if isinstance(stations, list) else []
    )
    named = str(result.get("name", "")).removesuffix(".csv")
    return [str(s) for s in [*listed, named] if _ID.fullmatch(str(s))]


def _place(result: dict[str, Any]) -> tuple[float, float] | None:
    """Longitude and latitude, from wherever the list has them."""
    centroid, bounding = result.get("centroid"), result.get("boundingPoints")
    for holder in (centroid, bounding[0] if isinstance(bounding, list) and bounding else None):
        point = holder.get("point") if isinstance(holder, dict) else None
        if isinstance(point, list) and len(point) == 2:
            try:
                return float(point[0]), float(point[1])
            except (TypeError, ValueError):
                continue
    return None
