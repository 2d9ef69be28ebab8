"""One owner's version: what is other people's is not in the files, whatever they are read with."""

import re
import struct
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from owned_farm import owned_farm
from pypdf import PdfReader
from small_farm import HOSTILE
from test_cli import geojson

from maps.assessment import Assessment
from maps.cli import suitability
from maps.for_owner import of_owner
from maps.owner_letter import owner_letter
from maps.report_pages import report_pages
from maps.writing import write_all
from suitability.errors import InputError

OWNER = "Marsh Hollow Land"
# Of Zebraline and Okapilot: names, owners, ids, files and what only their grower knows.
STRANGE = ["Zebra", "Okapi", "okapi", "ZEB-01", "OKA-04", "ZEB", "zebra_secrets", "okapicide"]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Folders of the whole farm and of one owner's version, tables included."""
    folders = {}
    for who, result in (("whole", owned_farm()), ("owner", of_owner(owned_farm(), OWNER))):
        folders[who] = tmp_path_factory.mktemp(who)
        write_all(result, folders[who], tables=True, progress=lambda step: None)
    return folders


def everything(folder: Path) -> dict[str, bytes]:
    """Bytes of every file; of a PDF its text and unpacked streams as well."""
    found = {}
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        data = path.read_bytes()
        if path.suffix == ".pdf":
            text = text_of(path)
            data += "".join(text.split()).encode() + text.encode()
            for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", path.read_bytes(), re.S):
                try:
                    data += zlib.decompress(stream)
                except zlib.error:
                    continue
        found[path.name] = data
    return found


def text_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return " ".join(page.extract_text() for page in PdfReader(path).pages)
    return path.read_text("utf-8")


@pytest.mark.parametrize("text", STRANGE)
def test_no_name_or_id_of_others_is_in_any_byte(written: dict[str, Path], text: str) -> None:
    wanted = text.encode()
    assert any(wanted in data for data in everything(written["whole"]).values()), "can be found"
    there = [name for name, data in everything(written["owner"]).items() if wanted in data]
    assert there == []


def coordinates(assessment: Assessment, field_id: str) -> list[tuple[float, float]]:
    shape = assessment.fields.set_index("field_id").geometry.loc[field_id]
    return list(shape.exterior.coords)


@pytest.mark.parametrize("field_id", ["ZEB-01", "OKA-04"])
def test_no_corner_of_others_is_in_any_file(written: dict[str, Path], field_id: str) -> None:
    farm = owned_farm()
    lonlat = replace(farm, fields=farm.fields.to_crs("EPSG:4326"))
    metres = [struct.pack("<d", x) for x, _ in coordinates(farm, field_id)]
    degrees = [x for x, _ in coordinates(lonlat, field_id)]
    ways: dict[str, Callable[[float], bytes]] = {
        "zones.kml": lambda lon: f"{lon:.5f}".encode(),
        "map.html": lambda lon: f"[{round(lon * 1e6)},".encode(),
    }
    whole, owner = everything(written["whole"]), everything(written["owner"])
    assert any(corner in whole["zones.gpkg"] for corner in metres), "can be found"
    assert not any(corner in owner["zones.gpkg"] for corner in metres)
    for name, way in ways.items():
        assert any(way(lon) in whole[name] for lon in degrees), f"can be found in {name}"
        for other, data in owner.items():
            assert not any(way(lon) in data for lon in degrees), other


def test_money_plan_and_log_are_absent(written: dict[str, Path]) -> None:
    whole, owner = everything(written["whole"]), everything(written["owner"])
    assert "calendar.ics" in whole and "calendar.ics" not in owner
    for name in ("report.html", "report.pdf"):
        said, kept = (text_of(written[who] / name) for who in ("whole", "owner"))
        assert re.search(r"\$\d", said), "money can be found"
        assert not re.search(r"\$\d", kept)
        assert "The plan" in said and "The plan" not in kept
    assert b"field log" in whole["report.html"]
    assert not [name for name, data in owner.items() if b"field log" in data]


def test_what_is_the_owners_is_there(written: dict[str, Path]) -> None:
    page = (written["owner"] / "map.html").read_text("utf-8")
    for theirs in ("Quaggabottom", OWNER, "Its edge is rough"):
        assert theirs in page
    assert "Remarks that tell of more than these fields are left out here." in page
    table = (written["owner"] / "fields.csv").read_text("utf-8").splitlines()
    assert [line.split(",")[0] for line in table[1:]] == ["QUA-02", "QUA-03"]
    assert "The survey is of 2020." in page, "a remark on the layer as a whole stays"


def test_every_table_is_cut_and_the_whole_is_left_as_it_was() -> None:
    farm = owned_farm()
    mine = of_owner(farm, " marsh hollow LAND ")
    for name in ("fields", "soil_parts", "wet_ground", "parts", "findings", "verdicts", "frost"):
        assert set(getattr(mine, name).field_id) <= {"QUA-02", "QUA-03"}, name
    assert mine.years is not None and mine.plan is None
    assert set(mine.years.weeks.field_id) == {"QUA-02", "QUA-03"}
    assert mine.years.by_field().field_ids == ("QUA-02", "QUA-03")
    assert mine.years.wet is not None and set(mine.years.wet.fields.field_id) == {"QUA-02"}
    # Wet ground is numbered anew, by week as on the map.
    assert set(mine.years.wet.spots.wet_id) == set(mine.wet_ground.wet_id) == {"wet-1"}
    assert len(farm.fields) == 4 and farm.plan is not None


def test_the_letter_tells_what_is_sown_until_when_how_ended_stock_and_no_drainage() -> None:
    letter = owner_letter(of_owner(owned_farm(), OWNER))
    assert letter is not None
    what, when, ended, stock, drainage = letter.lines
    assert what == (
        "Sunn hemp (Crotalaria juncea), a summer legume, is to be sown on 1 of your 2 fields: "
        "9.2 acres of 19.8 acres. The rest stays as it is."
    )
    assert (
        "It is sown in the week of " in when
        and "It stands until the ground must be free again, September 29 at the latest." in when
    )
    assert "before it sets seed" in ended and "first pods come about August 22" in ended
    assert stock == f"Stock come to graze: {HOSTILE}."
    assert "nothing is ditched, tiled, filled or levelled" in drainage
    assert letter.table.rows[1][1] == "no"


def test_without_a_plan_the_letter_says_what_is_fit_and_what_was_not_said() -> None:
    farm = replace(owned_farm(), plan=None, calendar=None)
    letter = owner_letter(of_owner(farm, OWNER))
    assert letter is not None
    assert letter.lines[0].startswith("Fit to be sown with sunn hemp")
    assert "The grower has yet to decide." in letter.lines[0]
    # The gap of B closes 09-29 and its first pods come 08-22: whichever comes first.
    assert letter.table.rows[0][4:6] == ("August 22", "September 29")
    unsaid = farm.fields.assign(use=None, gap_closes=None)
    letter = owner_letter(of_owner(replace(farm, fields=unsaid), OWNER))
    assert letter is not None
    assert "Whether stock come was not said" in letter.short
    assert "By when the ground must be free again was not said." in letter.short


def test_the_plan_and_the_rating_of_the_ground_are_told_apart() -> None:
    farm = of_owner(owned_farm(), OWNER)
    assert farm.calendar is not None
    unsown = replace(farm, calendar=farm.calendar.assign(sown=False))
    letter = owner_letter(unsown)
    assert letter is not None
    assert letter.lines[0].startswith("This year's plan sows none of your ground")
    lead = report_pages(unsown).lead
    assert lead.startswith("Rated by the ground alone, whatever this year's plan: 1 of 2 fields")
    assert not report_pages(replace(farm, calendar=None)).lead.startswith("Rated by")


def test_the_whole_farm_has_no_letter(written: dict[str, Path]) -> None:
    assert owner_letter(owned_farm()) is None
    assert 'to-owner"' not in (written["whole"] / "map.html").read_text("utf-8")


def test_the_letter_is_the_first_page(written: dict[str, Path]) -> None:
    first = PdfReader(written["owner"] / "report.pdf").pages[0].extract_text()
    assert "For Marsh Hollow Land" in first and "No drainage work" in first
    page = (written["owner"] / "report.html").read_text("utf-8")
    assert page.index('id="owner"') < page.index('id="farm"')
    assert 'class="to-owner"' in (written["owner"] / "map.html").read_text("utf-8")


def test_a_wrong_owner_is_told_with_the_nearest() -> None:
    with pytest.raises(InputError, match=r"no field has this owner; did you mean 'Okapi Trust'\?"):
        of_owner(owned_farm(), "Okapi Trsut")
    with pytest.raises(InputError, match=r"Zebra Estates\. Give the owner as"):
        of_owner(owned_farm(), "qqqqqq")
    with pytest.raises(InputError, match="no field has this owner"):
        of_owner(owned_farm(), " ")
    farm = owned_farm()
    with pytest.raises(InputError, match='under \\[fields\\]: owner = "OWNER"'):
        of_owner(replace(farm, fields=farm.fields.assign(owner=None)), "x")


def test_bare_numbers_as_ids_do_not_silence_every_remark() -> None:
    farm = owned_farm()
    fields = farm.fields.assign(name=["1", "2", "3", "4"])
    said = "The station lies 4 km away. Scale 1:12,000."
    named = "A road crosses fields 3 and 4."
    notes = tuple(replace(farm.notes[3], text=text) for text in (said, named))
    mine = of_owner(replace(farm, fields=fields, notes=notes), OWNER)
    assert mine.notes[0].text == said
    assert named not in [note.text for note in mine.notes]


def test_the_command_refuses_an_unknown_owner_before_it_writes(tmp_path: Path) -> None:
    fields = geojson(tmp_path / "fields.geojson", "Home")
    arguments = ["run", str(fields), "--out", str(tmp_path / "out"), "--for", "Nobody"]
    result = CliRunner().invoke(suitability, arguments)
    assert result.exit_code == 2
    assert "--for 'Nobody': no field has an owner." in result.stderr
    assert not (tmp_path / "out").exists()
