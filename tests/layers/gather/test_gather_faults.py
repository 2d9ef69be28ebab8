"""What goes wrong with public services, and what is left behind: nothing half-written."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from loopback_services import (
    Handler,
    Loopback,
    closed_port,
    drips,
    hangs_up,
    heights_answer,
    loopback_table,
    says,
    search_answer,
    soil_answer,
    table_json,
    weather_answer,
)
from shapely import box

from layers.gather.asking import Patience
from layers.gather.weather import points_for
from layers.soil_map.reader import read_soil_survey
from maps.cli import suitability

HASTY = Patience(tries=3, first_pause_s=0.01, connect_s=2, silence_s=5, answer_s=10)
PAGE = b"<!DOCTYPE html><html><body>Site is under daily maintenance</body></html>"
KINDS = {"soil": "soil", "elevation": "heights", "weather": "weather", "frost": "frost"}


@pytest.fixture
def cli(loopback: Loopback, monkeypatch: pytest.MonkeyPatch):
    """The command, its services turned to the loopback, with little patience."""
    monkeypatch.setattr("layers.gather.services.services", lambda: loopback.services())
    monkeypatch.setattr("layers.gather.gathering.Patience", lambda: HASTY)

    def run(*arguments: object) -> Result:
        result = CliRunner().invoke(suitability, ["gather", *map(str, arguments)])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return run


def left(farm: Path) -> set[str]:
    """Names in the data folder, kept answers aside."""
    data = farm.parent / "data"
    return {p.name for p in data.iterdir()} - {".gathering"} if data.exists() else set()


def one_line(result: Result) -> str:
    """The line that tells the fault; progress before it, what to bring after it."""
    assert "Traceback" not in result.stderr
    told = [line for line in result.stderr.splitlines() if ": " in line]
    return next(line for line in told if not line.startswith("  "))


def test_a_fault_500_is_asked_again_and_mends(cli, loopback, farm) -> None:
    for kind in KINDS.values():
        loopback.faults[kind] = [says(500, "text/plain", b"oops"), says(503, "text/html", PAGE)]
    assert cli(farm, "--yes").exit_code == 0
    assert left(farm) == {
        "soil_survey.gpkg",
        "elevation.tif",
        "weather.csv",
        "freeze_normals",
        "provenance.json",
    }


FAULTS = {
    "500": (says(500, "text/plain", b"oops"), "it answered with fault 500"),
    "page": (says(200, "text/html", PAGE), "it answered with a web page, as in maintenance"),
    "cut off": (hangs_up, "peer closed connection"),
    "half a JSON": (says(200, "application/json", b'{"Table": [["mukey"'), "it answered with "),
}


@pytest.mark.parametrize(
    ("layer", "what"),
    [
        ("soil", "500"),
        ("soil", "page"),
        ("soil", "half a JSON"),
        ("elevation", "page"),
        ("elevation", "cut off"),
        ("weather", "500"),
        ("weather", "half a JSON"),
        ("frost", "cut off"),
        ("frost", "half a JSON"),
    ],
)
def test_a_layer_that_fails_leaves_the_others(cli, loopback, farm, layer, what) -> None:
    fault, words = FAULTS[what]
    other = "elevation" if layer != "elevation" else "frost"
    loopback.faults[KINDS[layer]] = [fault] * 99
    result = cli(farm, "--yes", "--layer", layer, "--layer", other)
    assert result.exit_code == 1
    line = one_line(result)
    assert f"no sound answer from 127.0.0.1 in 3 tries ({words}" in line
    assert "or bring yourself: " in result.stderr
    expected = {"elevation": "elevation.tif", "frost": "freeze_normals"}[other]
    assert left(farm) == {expected, "provenance.json"}
    assert f"[{other}]" in farm.read_text() and f"[{layer}]" not in farm.read_text()


@pytest.mark.parametrize("layer", ["soil", "elevation"])
def test_a_slow_drip_is_given_up(cli, loopback, farm, monkeypatch, layer) -> None:
    short = Patience(tries=2, first_pause_s=0.01, answer_s=0.3)
    monkeypatch.setattr("layers.gather.gathering.Patience", lambda: short)
    loopback.faults[KINDS[layer]] = [drips] * 9
    result = cli(farm, "--yes", "--layer", layer)
    assert result.exit_code == 2
    assert "no sound answer from 127.0.0.1 in 2 tries (the answer came too slowly" in result.stderr
    assert left(farm) == set()


def test_a_redirect_elsewhere_is_not_followed(cli, loopback, farm) -> None:
    away = says(302, "text/plain", b"", Location="https://elsewhere.example/take")
    loopback.faults["weather"] = [away]
    result = cli(farm, "--yes", "--layer", "weather")
    assert result.exit_code == 2
    assert "sends on to elsewhere.example, another address; it was not followed" in result.stderr
    assert left(farm) == set()


def test_a_redirect_within_the_service_is_followed_but_not_for_ever(cli, loopback, farm) -> None:
    def on(handler: Handler) -> bool:
        handler.send(301, "text/plain", b"", Location=handler.path)
        return True

    loopback.faults["weather"] = [on]
    assert cli(farm, "--yes", "--layer", "weather").exit_code == 0
    loopback.faults["weather"] = [on] * 99
    result = cli(farm, "--yes", "--layer", "weather", "--refresh")
    assert result.exit_code == 2 and "sends in circles" in result.stderr


def test_no_survey_there_tells_what_to_bring(cli, loopback, farm) -> None:
    loopback.faults["soil"] = [says(200, "application/json", b"{}")]
    result = cli(farm, "--yes", "--layer", "soil")
    assert result.exit_code == 2
    assert "soil survey: none is published for this ground." in result.stderr
    assert "soil map and tables of your own survey" in result.stderr
    assert not (farm.parent / "data").exists()


def test_no_station_with_freeze_dates_is_no_fault(cli, loopback, farm) -> None:
    loopback.faults["frost"] = [says(200, "application/json", b'{"results": []}')]
    result = cli(farm, "--yes", "--layer", "weather", "--layer", "frost")
    assert result.exit_code == 0
    assert "freeze dates: no station near the fields has them." in result.stderr
    assert "they are then worked out from the daily weather" in result.stderr


@pytest.mark.parametrize("said", ["rows", "words", "bytes"])
def test_too_many_rows_are_asked_for_in_parts(cli, loopback, farm, monkeypatch, said) -> None:
    strips = {
        f"6{i}": (str(1 + i % 2), "Sa", box(-84.21 + i / 300, 31.55, -84.21 + (i + 1) / 300, 31.65))
        for i in range(6)
    }
    monkeypatch.setattr("loopback_services.OUTLINES", strips)
    if said == "rows":
        # The map has six rows; no table has more than four.
        table = loopback.services(most_rows=6)
        monkeypatch.setattr("layers.gather.services.services", lambda: table)
    elif said == "words":
        many = b"Query aborted: results exceed 100,000 records."
        loopback.faults["soil"] = [says(400, "text/plain", many)]
    else:
        loopback.faults["soil"] = [says(200, "application/json", b" " * 32_000_001)]
    result = cli(farm, "--yes", "--layer", "soil")
    assert result.exit_code == 0, result.stderr
    boxes = {body for kind, _, body in loopback.log if "mupolygongeo" in body}
    assert len(boxes) == 5  # the whole, then its quarters
    survey = read_soil_survey(farm.parent / "data" / "soil_survey.gpkg")
    assert len(survey.map_units) == 6  # each outline once, though two quarters have it


def test_a_table_too_long_is_asked_for_by_half_the_map_units(cli, loopback, farm) -> None:
    many = says(500, "text/plain", b"string exceeds the value set on the maxJsonLength property")

    def goes_on(handler: Handler) -> bool:
        return False

    loopback.faults["soil"] = [goes_on, goes_on, many]  # map, mapunit, component
    assert cli(farm, "--yes", "--layer", "soil").exit_code == 0
    asked = [body for _, _, body in loopback.log if "FROM component t" in body]
    assert [body.count("'1'") + body.count("'2'") for body in asked] == [2, 1, 1]
    assert len(read_soil_survey(farm.parent / "data" / "soil_survey.gpkg").components) == 3


def test_soil_outlines_in_metres_are_refused(cli, loopback, farm) -> None:
    def metres(handler: Handler) -> bool:
        wkt = "POLYGON ((764000 3500000, 765000 3500000, 765000 3501000, 764000 3500000))"
        columns = ["mupolygonkey", "mukey", "musym", "areasymbol", "geometry"]
        body = table_json(columns, [["501", "1", "Sa", "GA999", wkt]])
        handler.send(200, "application/json", body)
        return True

    loopback.faults["soil"] = [metres]
    result = cli(farm, "--yes", "--layer", "soil")
    assert result.exit_code == 2
    assert "expected longitude and latitude in degrees" in result.stderr
    # What was refused is not kept: the next run asks again, and mends.
    assert cli(farm, "--yes", "--layer", "soil").exit_code == 0


def test_heights_in_another_crs_are_refused(cli, loopback, farm) -> None:
    def mercator(handler: Handler) -> bool:
        from urllib.parse import parse_qs, urlsplit

        asked = {k: v[0] for k, v in parse_qs(urlsplit(handler.path).query).items()}
        handler.send(200, "image/tiff", heights_answer(asked, epsg=3857))
        return True

    loopback.faults["heights"] = [mercator] * 9
    result = cli(farm, "--yes", "--layer", "elevation")
    assert result.exit_code == 2
    assert "its raster is not in the CRS asked for, EPSG:32616" in result.stderr
    assert left(farm) == set()


def test_another_kind_of_raster_under_a_tiff_name_is_not_opened(cli, loopback, farm) -> None:
    vrt = b'<VRTDataset rasterXSize="1" rasterYSize="1"></VRTDataset>'
    loopback.faults["heights"] = [says(200, "image/tiff", vrt)] * 9
    result = cli(farm, "--yes", "--layer", "elevation")
    assert result.exit_code == 2 and "something that is no GeoTIFF" in result.stderr


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda b: b[: len(b) // 2], "it gave 22 years|its table of days breaks off"),
        (lambda b: weather_answer("40.0", "-84.2", "1980-01-01", "2020-12-31"), "another place"),
        (lambda b: weather_answer("31.6", "-84.2", "2010-01-01", "2020-12-31"), "it gave 11 years"),
        (lambda b: b"year;nothing\n", "no table of days"),
    ],
    ids=["half", "elsewhere", "short", "another table"],
)
def test_weather_that_was_not_asked_for_is_refused(cli, loopback, farm, make, words) -> None:
    body = make(weather_answer("31.600", "-84.200", "1980-01-01", "2023-12-31"))
    loopback.faults["weather"] = [says(200, "text/csv", body)] * 9
    result = cli(farm, "--yes", "--layer", "weather")
    assert result.exit_code == 2 and left(farm) == set()
    assert any(word in result.stderr for word in words.split("|"))


def test_last_year_not_yet_published_falls_back_a_year(cli, loopback, farm) -> None:
    loopback.faults["weather"] = [says(400, "text/plain", b"end is out of range")]
    assert cli(farm, "--yes", "--layer", "weather").exit_code == 0
    ends = [path.split("end=")[1] for kind, path, _ in loopback.log if kind == "weather"]
    assert [int(e[:4]) for e in ends] == [
        time.localtime().tm_year - 1,
        time.localtime().tm_year - 2,
    ]


def test_keys_that_are_no_keys_never_reach_a_question(cli, loopback, farm) -> None:
    def hostile(handler: Handler) -> bool:
        wkt = "POLYGON ((-84.21 31.59, -84.2 31.59, -84.2 31.6, -84.21 31.59))"
        columns = ["mupolygonkey", "mukey", "musym", "areasymbol", "geometry"]
        body = table_json(columns, [["5", "1') OR ('1'='1", "Sa\x1b[2J", "GA999", wkt]])
        handler.send(200, "application/json", body)
        return True

    loopback.faults["soil"] = [hostile]
    result = cli(farm, "--yes", "--layer", "soil")
    assert result.exit_code == 2 and "came back as the key of a map unit" in result.stderr
    assert loopback.asked("soil") == 1 and "\x1b" not in result.stderr


def test_a_station_list_cannot_lead_to_another_file(cli, loopback, farm) -> None:
    document = json.loads(search_answer())
    document["results"] = [{"name": "../../etc/passwd", "stations": [{"id": "../x"}, "y"]}]
    body = json.dumps(document).encode()
    loopback.faults["frost"] = [says(200, "application/json", body)]
    result = cli(farm, "--yes", "--layer", "frost")
    assert "no station near" in result.stderr and loopback.asked("frost") == 1


def test_no_connection_is_one_line_and_changes_nothing(cli, farm, monkeypatch) -> None:
    before = farm.read_text()
    with closed_port() as url:
        monkeypatch.setattr("layers.gather.services.services", lambda: loopback_table(url))
        result = cli(farm, "--yes")
    assert result.exit_code == 2
    last = result.stderr.splitlines()[-1]
    assert last.startswith("No connection, nothing was changed. soil survey: no connection to")
    assert farm.read_text() == before
    assert {p.name for p in farm.parent.iterdir()} == {"farm.toml", "fields.geojson"}


def test_plain_http_to_another_machine_is_never_spoken(cli, farm, monkeypatch) -> None:
    table = loopback_table("http://service.example")
    monkeypatch.setattr("layers.gather.services.services", lambda: table)
    result = cli(farm, "--yes")
    assert result.exit_code == 2
    assert "is no https address; nothing was sent" in result.stderr


def test_a_certificate_that_cannot_be_trusted_ends_it(cli, farm, monkeypatch, tmp_path) -> None:
    key, cert = tmp_path / "key.pem", tmp_path / "cert.pem"
    made = subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj",
         "/CN=localhost", "-keyout", str(key), "-out", str(cert)],
        capture_output=True, check=False,
    )  # fmt: skip
    if made.returncode:
        pytest.skip("no openssl to make a certificate with")
    import ssl

    with Loopback() as server:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(cert, key)
        server._server.socket = context.wrap_socket(server._server.socket, server_side=True)
        url = server.url.replace("http://127.0.0.1", "https://localhost")
        monkeypatch.setattr("layers.gather.services.services", lambda: loopback_table(url))
        result = cli(farm, "--yes", "--layer", "weather")
        assert server.log == []
    assert result.exit_code == 2
    assert "the certificate of localhost cannot be trusted" in result.stderr


def test_the_proxy_of_the_environment_is_used(cli, loopback, farm, monkeypatch) -> None:
    # The proxy is asked with the whole address, and answers in the service's place.
    monkeypatch.setenv("HTTP_PROXY", loopback.url)
    with closed_port() as url:
        monkeypatch.setattr("layers.gather.services.services", lambda: loopback_table(url))
        result = cli(farm, "--yes", "--layer", "weather")
    assert result.exit_code == 0, result.stderr
    assert loopback.log[0][1].startswith(f"{url}/weather?")


SCRIPT = """
import resource, signal, sys
from datetime import date
from pathlib import Path
sys.path[:0] = {paths!r}
from loopback_services import loopback_table
from layers.boundaries import read_fields
from layers.gather.asking import Patience
from layers.gather.gathering import carry_out
from layers.gather.plans import plan
limit = {limit}
if limit:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
folder = Path({folder!r})
fields, _ = read_fields(folder / "fields.geojson")
table = {{k: v for k, v in loopback_table({url!r}, {limits!r}).items() if k in {layers!r}}}
plans = plan(fields, table, folder / "data", (), today=date.today())
patience = Patience(tries=2, first_pause_s=0.01)
for r in carry_out(plans, folder / "data", fields, lambda _: None, date.today(), patience):
    print(r.layer, r.fault or "ok")
"""


def apart(
    farm: Path, url: str, layers: tuple[str, ...], limit: int = 0, **limits: int
) -> subprocess.Popen[str]:
    """The same gathering in a process of its own, which may be killed or kept short of disk."""
    here = Path(__file__).parent
    code = SCRIPT.format(
        paths=[str(here), str(here.parents[1])],
        folder=str(farm.parent),
        url=url,
        layers=layers,
        limit=limit,
        limits=limits,
    )
    return subprocess.Popen(
        [sys.executable, "-c", code],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=here.parents[2],
    )


@pytest.mark.parametrize(
    ("layer", "limit", "side"),
    [
        ("soil", 20_000, 2000),  # the GeoPackage
        ("elevation", 90_000, 2000),  # an answer
        ("elevation", 35_000, 80),  # the GeoTIFF
        ("weather", 50_000, 2000),
    ],
)
def test_a_full_disk_leaves_nothing_half_written(loopback, farm, layer, limit, side) -> None:
    # No file may grow beyond this size: writing fails as on a full disk, in whichever library.
    process = apart(farm, loopback.url, (layer,), limit, most_side_cells=side)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert f"{layer} " in out and "cannot be written into" in out, out
    assert left(farm) == set()
    process = apart(farm, loopback.url, (layer,))
    assert process.communicate(timeout=60)[0].strip() == f"{layer} ok"


def test_killed_half_way_it_goes_on_where_it_stood(loopback, farm) -> None:
    def sleeps(handler: Handler) -> bool:
        time.sleep(20)
        return True

    def goes_on(handler: Handler) -> bool:
        return False

    loopback.faults["heights"] = [goes_on, goes_on, sleeps]
    process = apart(farm, loopback.url, ("weather", "elevation"), most_side_cells=300)
    ends = time.monotonic() + 30
    while loopback.asked("heights") < 3 and time.monotonic() < ends:
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    process.communicate(timeout=10)
    assert left(farm) <= {"weather.csv", "provenance.json"}
    asked = [path for kind, path, _ in loopback.log if kind == "heights"]
    loopback.log.clear()
    process = apart(farm, loopback.url, ("weather", "elevation"), most_side_cells=300)
    out, err = process.communicate(timeout=60)
    assert sorted(out.split("\n")) == ["", "elevation ok", "weather ok"], err
    again = [path for kind, path, _ in loopback.log if kind == "heights"]
    assert asked[2] in again and not set(asked[:2]) & set(again)
    assert not (farm.parent / "data" / ".gathering").exists()


def test_points_of_a_wide_farm_are_few() -> None:
    assert points_for(((-84.5, 31.0, -83.5, 32.0),), 16)
    assert len(points_for(((-84.5, 31.0, -83.5, 32.0),), 16)) <= 16
    near = ((-84.21, 31.59, -84.19, 31.61), (-84.17, 31.59, -84.15, 31.61))
    assert points_for(near, 16) == ((-84.2, 31.6),)


def test_no_other_command_touches_the_network(tmp_path) -> None:
    root = Path(__file__).parents[3]
    program = Path(sys.executable).parent / "suitability"
    off = ["unshare", "--map-root-user", "--net"]
    probe = (
        subprocess.run([*off, "true"], capture_output=True, check=False)
        if os.name == "posix"
        else None
    )
    if probe is None or probe.returncode:
        pytest.skip("this machine does not permit a process without a network")
    reach = (
        "import socket; s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM);"
        "s.connect(('192.0.2.1', 9))"
    )
    # Read whole, and judged without its weather: counting days is long, and opens no file.
    farm = tmp_path / "farm" / "farm.toml"
    shutil.copytree(root / "sample_fields", farm.parent)
    said = farm.read_text()
    weather = said[said.index("[weather]") : said.index("[frost]")]
    farm.write_text(said.replace(weather, ""))
    cut = subprocess.run([*off, sys.executable, "-c", reach], capture_output=True, check=False)
    assert b"unreachable" in cut.stderr  # there is no way out of it
    for command in (
        ["run", str(farm), "--out", str(tmp_path / "out"), "--quiet"],
        ["check", "sample_fields/farm.toml"],
        ["crop", "sunn_hemp"],
        ["new", str(tmp_path / "new")],
    ):
        done = subprocess.run(
            [*off, str(program), *command], cwd=root, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
    assert (tmp_path / "out" / "map.html").stat().st_size > 100_000


def test_soil_questions_name_every_column_the_reader_reads(loopback, cli, farm) -> None:
    assert cli(farm, "--yes", "--layer", "soil").exit_code == 0
    from layers.soil_map.expected import TABLES

    asked = [json.loads(body)["query"] for kind, _, body in loopback.log if kind == "soil"]
    for name, wanted in TABLES.items():
        query = next(q for q in asked if f"FROM {name} t" in q)
        assert all(f"t.{column}" in query for column in (*wanted.must, *wanted.may))
    assert soil_answer(asked[0]) != b"{}"
