"""A server on 127.0.0.1 that answers in the shapes of the public services, and can go wrong.

The answers are made here and not recorded: their shapes are as remembered, with the names of
columns and the layouts that the readers of this program hold against real files.
"""

import json
import re
import threading
import time
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from types import TracebackType
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pandas as pd
import pyproj
from affine import Affine
from rasterio.io import MemoryFile
from shapely.geometry import box
from soil_survey_files import tables

from layers.gather.services import Service, services

ROOT = Path(__file__).parents[3]
RAIN_ONLY, STATION, FAR_STATION = "US1GADG0001", "USW00000001", "USC00000002"
# Two map units: one covers the west of the fields, one the east; a third lies far away.
OUTLINES = {
    "501": ("1", "Sa", box(-84.25, 31.55, -84.2005, 31.65)),
    "502": ("2", "Ho", box(-84.2005, 31.55, -84.15, 31.65)),
    "503": ("1", "Sa", box(-80.0, 31.0, -79.9, 31.1)),
}
Answer = tuple[int, str, bytes]
Fault = Callable[["Handler"], bool]


def table_json(columns: list[str], rows: list[list[object]]) -> bytes:
    """Rows as the soil service gives them: names, then what each column is, then text."""
    if not rows:
        return b"{}"
    about = [f"ColumnOrdinal={i},DataTypeName=varchar" for i in range(len(columns))]
    texts = [[None if pd.isna(v) else str(v) for v in row] for row in rows]
    return json.dumps({"Table": [columns, about, *texts]}).encode()


def soil_answer(sql: str) -> bytes:
    """The rows that this query selects."""
    if "mupolygongeo" in sql:
        numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", sql.split("POLYGON")[1])[:10]]
        asked = box(min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2]))
        rows = [
            [key, mukey, musym, "GA999", shape.wkt]
            for key, (mukey, musym, shape) in OUTLINES.items()
            if shape.intersects(asked)
        ]
        return table_json(["mupolygonkey", "mukey", "musym", "areasymbol", "geometry"], rows)
    if "sacatalog" in sql:
        return table_json(["areasymbol", "saverest"], [["GA999", "9/10/2024 3:00:00 PM"]])
    name = re.search(r"FROM (\w+)", sql)[1]
    mukeys = re.findall(r"'(\d+)'", sql)
    survey = {n: t.astype(object) for n, t in tables().items()}
    # No peat and no pure sand, so that the farm can be judged through to the end.
    loam = {"sandtotal_r": 40, "silttotal_r": 40, "claytotal_r": 20, "om_r": 3}
    loam |= {"dbthirdbar_r": 1.4, "wthirdbar_r": 27, "wfifteenbar_r": 14, "ph1to1h2o_r": 5.0}
    survey["chorizon"].loc[2, list(loam)] = list(loam.values())
    survey["chorizon"].loc[[0, 1], ["sandtotal_r", "silttotal_r", "claytotal_r"]] = [85, 8, 7]
    component = survey["component"][survey["component"]["mukey"].isin(mukeys)]
    table = survey[name]
    if "mukey" in table:
        table = table[table["mukey"].isin(mukeys)]
    elif "cokey" in table:
        table = table[table["cokey"].isin(component["cokey"])]
    else:
        months = survey["comonth"][survey["comonth"]["cokey"].isin(component["cokey"])]
        table = table[table["comonthkey"].isin(months["comonthkey"])]
    columns = [c.strip().removeprefix("t.") for c in sql[7 : sql.index(" FROM")].split(",")]
    return table_json(columns, table.reindex(columns=columns).to_numpy().tolist())


def plane_m(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """The invented ground [m]: a plane in the CRS asked for."""
    return (40 + (x % 10_000) * 0.002 + (y % 10_000) * 0.001).astype("float32")


def heights_answer(asked: dict[str, str], epsg: int | None = None) -> bytes:
    """A GeoTIFF of the plane, of the size and the place asked for."""
    left, bottom, right, top = map(float, asked["bbox"].split(","))
    columns, rows = map(int, asked["size"].split(","))
    x = left + (np.arange(columns) + 0.5) * (right - left) / columns
    y = top - (np.arange(rows) + 0.5) * (top - bottom) / rows
    with warnings.catch_warnings(), MemoryFile() as memory:
        # affine 3 will deprecate the product that rasterio 1.4 opens a file with.
        warnings.filterwarnings("ignore", "Use `@` matmul", PendingDeprecationWarning)
        with memory.open(
            driver="GTiff",
            width=columns,
            height=rows,
            count=1,
            dtype="float32",
            crs=pyproj.CRS.from_epsg(epsg or int(asked["imageSR"])),
            transform=Affine((right - left) / columns, 0, left, 0, (bottom - top) / rows, top),
        ) as raster:
            raster.write(plane_m(x[None, :], y[:, None]), 1)
        return bytes(memory.read())


@cache
def weather_answer(lat: str, lon: str, start: str, end: str) -> bytes:
    """Days of 365-day years, below the seven lines that the grid puts above them."""
    years = np.arange(int(start[:4]), int(end[:4]) + 1)
    yday = np.tile(np.arange(1, 366), len(years))
    curve = np.cos(2 * np.pi * (yday - 200) / 365)
    rng = np.random.default_rng(2)
    table = pd.DataFrame(
        {
            "year": np.repeat(years, 365),
            "yday": yday,
            "dayl (s)": np.round(43_000 + 7_000 * curve),
            "prcp (mm/day)": np.round(np.where(yday % 3 == 0, rng.exponential(11, len(yday)), 0)),
            "srad (W/m^2)": np.round(330 + 100 * curve, 2),
            "tmax (deg c)": np.round(25 + 9 * curve + rng.normal(0, 2, len(yday)), 2),
            "tmin (deg c)": np.round(12 + 9 * curve + rng.normal(0, 2, len(yday)), 2),
        }
    )
    head = (
        f"Latitude: {float(lat) + 0.002:.4f}  Longitude: {float(lon) - 0.002:.4f}\n"
        "X & Y on Lambert Conformal Conic: 1460000.0 -1100000.0\nTile: 11029\n"
        "Elevation: 61 meters\nYears, all variables; invented for a test.\n"
        "How to cite: nobody\n\n"
    )
    return (head + table.to_csv(index=False)).encode()


@cache
def station_answer(station: str) -> bytes:
    """The invented normals of the sample farm under another id; rain alone for ``RAIN_ONLY``."""
    if station == RAIN_ONLY:
        head = '"STATION","LATITUDE","LONGITUDE","ELEVATION","NAME","ANN-PRCP-NORMAL"\n'
        return (head + f'"{station}","31.60","-84.20","60.0","RAIN, GA US","   50.10"\n').encode()
    text = (ROOT / "sample_fields" / "freeze_normals.csv").read_text()
    head, row, *_ = text.split("\n")
    cells = row.split('","')
    cells[:3] = ['"' + station, "31.54" if station == STATION else "31.90", "-84.18"]
    values = '","'.join(cells)
    return f"{head}\n{values}\n".encode()


def search_answer() -> bytes:
    """Stations in a box: the nearest measures rain only."""
    places = {RAIN_ONLY: [-84.20, 31.60], FAR_STATION: [-84.18, 31.90], STATION: [-84.18, 31.54]}
    results = [
        {"name": f"{i}.csv", "stations": [{"id": i}], "centroid": {"point": place}}
        for i, place in places.items()
    ]
    return json.dumps({"count": 3, "results": results}).encode()


class Handler(BaseHTTPRequestHandler):
    """Logs each request, lets a planned fault answer, else answers as the service would."""

    loopback: "Loopback"
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        self._answer("")

    def do_POST(self) -> None:
        self._answer(self.rfile.read(int(self.headers["content-length"])).decode())

    def _answer(self, body: str) -> None:
        parts = urlsplit(self.path)
        kind = parts.path.split("/")[1]
        self.loopback.log.append((kind, self.path, body))
        planned = self.loopback.faults[kind]
        if planned and planned.pop(0)(self):
            return
        asked = {key: values[0] for key, values in parse_qs(parts.query).items()}
        if kind == "soil":
            return self.send(200, "application/json", soil_answer(json.loads(body)["query"]))
        if kind == "heights":
            return self.send(200, "image/tiff", heights_answer(asked))
        if kind == "weather":
            content = weather_answer(asked["lat"], asked["lon"], asked["start"], asked["end"])
            return self.send(200, "text/csv", content)
        if "search" in parts.path:
            return self.send(200, "application/json", search_answer())
        return self.send(200, "text/csv", station_answer(Path(parts.path).stem))

    def send(self, code: int, kind: str, body: bytes, **headers: str) -> None:
        self.send_response(code)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        for name, value in headers.items():
            self.send_header(name.replace("_", "-"), value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        pass


class Loopback:
    """The running server: ``log`` of (kind, path, body), and ``faults`` planned by kind."""

    def __init__(self) -> None:
        self.log: list[tuple[str, str, str]] = []
        self.faults: dict[str, list[Fault]] = defaultdict(list)
        handler = type("Bound", (Handler,), {"loopback": self})
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
        self._server.daemon_threads = True
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"

    def __enter__(self) -> "Loopback":
        threading.Thread(target=self._server.serve_forever, args=(0.02,), daemon=True).start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._server.shutdown()
        self._server.server_close()

    def services(self, **limits: object) -> dict[str, Service]:
        """The shipped table with its addresses turned to this server."""
        return loopback_table(self.url, limits)

    def asked(self, kind: str) -> int:
        """How many requests of a kind came."""
        return sum(1 for entry in self.log if entry[0] == kind)


def loopback_table(url: str, limits: dict[str, object] | None = None) -> dict[str, Service]:
    """The shipped table with its addresses turned to ``url`` and some limits replaced."""
    paths = {"soil": "/soil", "elevation": "/heights", "weather": "/weather", "frost": "/frost"}
    return {
        layer: replace(
            service,
            address=url + paths[layer],
            limits={
                **service.limits,
                **{k: v for k, v in (limits or {}).items() if k in service.limits},
            },
        )
        for layer, service in services().items()
    }


def says(code: int, kind: str, body: bytes, **headers: str) -> Fault:
    """A fault that answers this instead."""

    def fault(handler: Handler) -> bool:
        handler.send(code, kind, body, **headers)
        return True

    return fault


def drips(handler: Handler) -> bool:
    """A letter now and then, for ever."""
    handler.send_response(200)
    handler.send_header("Content-Type", "text/csv")
    handler.send_header("Content-Length", "1000000")
    handler.end_headers()
    try:
        for _ in range(200):
            handler.wfile.write(b"x")
            handler.wfile.flush()
            time.sleep(0.05)
    except OSError:
        pass
    handler.close_connection = True
    return True


def hangs_up(handler: Handler) -> bool:
    """Half of what was promised, and the line is closed."""
    handler.send_response(200)
    handler.send_header("Content-Type", "application/json")
    handler.send_header("Content-Length", "5000")
    handler.end_headers()
    handler.wfile.write(b'{"Table": [["mukey"], ["x')
    handler.close_connection = True
    return True


@contextmanager
def closed_port() -> Iterator[str]:
    """An address on this machine where nobody listens."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    url = f"http://127.0.0.1:{server.server_address[1]}"
    server.server_close()
    yield url
