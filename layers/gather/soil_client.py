"""The soil survey's questions, written and read by soildb, sent through our own door."""

import asyncio
import json
import re
import threading
from collections.abc import Iterable, Sequence
from typing import Any

import httpx
from soildb import ClientConfig, Query, SDAClient
from soildb.exceptions import SoilDBError
from soildb.response import SDAResponse
from soildb.spatial import SpatialQueryBuilder

from layers.gather.asking import Question
from layers.gather.boxes import LonLatBox
from layers.gather.failures import BadAnswerError, GatherError, TooMuchError, UnsoundError
from layers.gather.work import Work
from layers.soil_map.expected import TABLES

Rows = list[dict[str, Any]]
_POLYGON_COLUMNS = "p.mupolygonkey, p.mukey, m.musym, l.areasymbol"
# How each table hangs on the map unit: its alias c is the table component.
_FROM: dict[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "mapunit": ("mapunit t", ()),
    "component": ("component t", ()),
    "chorizon": ("chorizon t", (("component c", "t.cokey = c.cokey"),)),
    "comonth": ("comonth t", (("component c", "t.cokey = c.cokey"),)),
    "cosoilmoist": (
        "cosoilmoist t",
        (("comonth k", "t.comonthkey = k.comonthkey"), ("component c", "k.cokey = c.cokey")),
    ),
    "corestrictions": ("corestrictions t", (("component c", "t.cokey = c.cokey"),)),
}


class SoilClient:
    """Asks for polygons in a box and for tables of map units."""

    def __init__(self, work: Work) -> None:
        self._work = work
        self._client = _OurDoor(work)
        self._most_rows = int(work.service.limits["most_rows"])

    def polygons(self, box: LonLatBox) -> Rows:
        """Polygons that meet a box: mupolygonkey, mukey, musym, areasymbol, geometry (WKT).

        TooMuchError where an answer cannot hold them all.
        """
        west, south, east, north = box
        extent = {"xmin": west, "ymin": south, "xmax": east, "ymax": north}
        query = SpatialQueryBuilder().query(
            extent, table="mupolygon", return_type="spatial", what=_POLYGON_COLUMNS
        )
        return self._rows(query)

    def table(self, name: str, mukeys: Sequence[str]) -> Rows:
        """Rows of one survey table for these map units, asked for in halves where they are many."""
        wanted = TABLES[name]
        source, joins = _FROM[name]
        query = Query().select(*(f"t.{column}" for column in (*wanted.must, *wanted.may)))
        query = query.from_(source)
        for joined, on in joins:
            query = query.inner_join(joined, on)
        home = "c" if joins else "t"
        query = query.where(f"{home}.mukey IN ({quoted_keys(mukeys)})")
        try:
            return self._rows(query)
        except TooMuchError:
            if len(mukeys) == 1:
                raise
            half = len(mukeys) // 2
            return self.table(name, mukeys[:half]) + self.table(name, mukeys[half:])

    def areas(self, symbols: Iterable[str]) -> Rows:
        """When each survey area was last published: areasymbol, saverest."""
        known = sorted(s for s in symbols if re.fullmatch(r"[A-Z]{2}\d{3}", s))
        if not known:
            return []
        listed = ", ".join(f"'{symbol}'" for symbol in known)
        query = Query().select("areasymbol", "saverest").from_("sacatalog")
        return self._rows(query.where(f"areasymbol IN ({listed})"))

    def _rows(self, query: Query) -> Rows:
        answer = _run(self._client, query)
        names = [str(name).lower() for name in answer.columns]
        if len(answer.data) >= self._most_rows:
            raise TooMuchError(f"{self._work.service.shown}: {len(answer.data)} rows.")
        if any(len(row) != len(names) for row in answer.data):
            raise UnsoundError(f"{self._work.service.shown}: rows of unequal length came back.")
        return [dict(zip(names, row, strict=True)) for row in answer.data]


def quoted_keys(keys: Sequence[str]) -> str:
    """Keys for a question; they come from an answer, so anything but digits is refused."""
    odd = [key for key in keys if not re.fullmatch(r"\d{1,12}", key)]
    if odd:
        raise UnsoundError(f"soil survey: {odd[0][:20]!r} came back as the key of a map unit.")
    return ", ".join(f"'{key}'" for key in keys)


class _OurDoor(SDAClient):
    """The library's client, sending through our own door: its limits, patience, kept answers."""

    def __init__(self, work: Work) -> None:
        super().__init__(config=ClientConfig(base_url=work.service.address, max_retries=0))
        self._work = work

    async def _make_request(self, method: str, url: str, **kwargs: Any) -> httpx.Response:
        service = self._work.service
        question = Question(
            service.shown, url, self._work.most_bytes, _is_table, json=kwargs["json"]
        )
        words = f"{url} {json.dumps(kwargs['json'], sort_keys=True)}"
        return httpx.Response(200, content=self._work.ask(question, words))


def _is_table(body: bytes) -> None:
    try:
        document = json.loads(body)
    except ValueError:
        raise BadAnswerError("it answered with a table that breaks off") from None
    if document == {}:
        return
    table = document.get("Table") if isinstance(document, dict) else None
    if not isinstance(table, list) or len(table) < 2:
        raise BadAnswerError("it answered with something that is no table")


async def _answer(client: SDAClient, query: Query) -> SDAResponse:
    return await client.execute(query)


def _run(client: SDAClient, query: Query) -> SDAResponse:
    """Run the library's coroutine in a thread, so that it works beside any other event loop."""
    answers: list[SDAResponse] = []
    faults: list[BaseException] = []

    def work() -> None:
        try:
            answers.append(asyncio.run(_answer(client, query)))
        except (SoilDBError, GatherError, OSError) as error:
            faults.append(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.1)
    if answers:
        return answers[0]
    error: BaseException | None = faults[0] if faults else None
    while error is not None:
        if isinstance(error, GatherError | OSError):
            raise error
        error = error.__cause__
    raise UnsoundError("soil survey: the answer could not be read as a table.")
