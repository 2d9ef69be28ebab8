"""Daily weather since 1980 at a few points of a grid, one file a point, as the service gives it."""

from pathlib import Path

from layers.gather.asking import Question
from layers.gather.boxes import LonLatBox, points_in, whole_extent
from layers.gather.failures import BadAnswerError, RefusedError
from layers.gather.work import Fetched, Work
from layers.weather.gridded_csv import GRIDDED_CSV

_APART_DEG = 0.2  # weather differs little within some 10 km
_FEWEST_YEARS = 30
_NEAR_DEG = 0.05
_VARIABLES = "dayl,prcp,srad,tmax,tmin"


def fetch(work: Work, out: Path) -> Fetched:
    """Write ``weather.csv``, or ``weather_1.csv`` and so on, into ``out``.

    Raises
    ------
    GatherError, OSError : see ``asking.ask``.
    """
    points = points_for(work.boxes, int(work.service.limits["most_points"]))
    names = []
    last = work.today.year - 1
    for number, point in enumerate(points, 1):
        work.tell(f"weather, point {number} of {len(points)}")
        try:
            body = _point(work, point, last)
        except RefusedError:
            # Last year's days may not be published yet.
            last -= 1
            body = _point(work, point, last)
        name = "weather.csv" if len(points) == 1 else f"weather_{number}.csv"
        (out / name).write_bytes(body)
        names.append(name)
    first = int(work.service.limits["first_year"])
    note = f"A grid of 1 km cells worked out from stations, {first} to {last} as asked for."
    return Fetched(tuple(names), tuple(names), f"{note} Please cite: {work.service.cite}.")


def points_for(boxes: tuple[LonLatBox, ...], most: int) -> tuple[tuple[float, float], ...]:
    """Points (lon, lat) to ask for: the middles of the boxes and of parts of wide ones, thinned."""
    apart = _APART_DEG
    while True:
        inside = {point for box in boxes for point in points_in(box, apart)}
        kept: list[tuple[float, float]] = []
        for lon, lat in sorted(inside):
            if all(abs(lon - x) >= apart / 2 or abs(lat - y) >= apart / 2 for x, y in kept):
                kept.append((lon, lat))
        if len(kept) <= most:
            return tuple(kept)
        apart *= 1.5


def sends(boxes: tuple[LonLatBox, ...], most: int) -> str:
    """What is sent, in words."""
    points = points_for(boxes, most)
    if len(points) == 1:
        lon, lat = points[0]
        return f"one point: latitude {lat:.3f}, longitude {lon:.3f}"
    west, south, east, north = whole_extent([(x, y, x, y) for x, y in points])
    return (
        f"{len(points)} points between latitude {south:.3f} and {north:.3f}, longitude {west:.3f} "
        f"and {east:.3f}"
    )


def _point(work: Work, point: tuple[float, float], last_year: int) -> bytes:
    lon, lat = point
    params = {
        "lat": f"{lat:.3f}",
        "lon": f"{lon:.3f}",
        "vars": _VARIABLES,
        "start": f"{work.service.limits['first_year']}-01-01",
        "end": f"{last_year}-12-31",
    }

    def check(body: bytes) -> None:
        check_point(body, lon, lat)

    service = work.service
    question = Question(service.shown, service.address, work.most_bytes, check, params)
    words = service.address + "?" + "&".join(f"{k}={v}" for k, v in params.items())
    return work.ask(question, words)


def check_point(body: bytes, lon: float, lat: float) -> None:
    """Refuse an answer that is not a long daily record of this point.

    Raises
    ------
    BadAnswerError : see above.
    """
    try:
        text = body.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise BadAnswerError("it answered with something that is no text") from None
    if not GRIDDED_CSV.matches(text):
        raise BadAnswerError("it answered with something that is no table of days")
    lines = text.rstrip("\n").split("\n")
    head = next(i for i, line in enumerate(lines) if line.lower().startswith(("year,", '"year')))
    days = lines[head + 1 :]
    years = {line.split(",", 1)[0] for line in days}
    n_columns = lines[head].count(",")
    if len(days) < 365 * len(years) or any(line.count(",") != n_columns for line in days[-1:]):
        raise BadAnswerError("its table of days breaks off")
    if len(years) < _FEWEST_YEARS:
        raise BadAnswerError(f"it gave {len(years)} years; at least {_FEWEST_YEARS} were asked for")
    place = _stated_place("\n".join(lines[:head]))
    if place is None or max(abs(place[0] - lat), abs(place[1] - lon)) > _NEAR_DEG:
        raise BadAnswerError("its table is of another place than was asked for")


def _stated_place(preamble: str) -> tuple[float, float] | None:
    words = preamble.replace(":", " ").replace("=", " ").split()
    lower = [word.lower() for word in words]
    try:
        return (
            float(words[lower.index("latitude") + 1]),
            float(words[lower.index("longitude") + 1]),
        )
    except (ValueError, IndexError):
        return None
