"""Every catalogue says all that the English one says, and nothing English is left in Spanish."""

import html
import json
import re
import string
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from farm_with_years import farm_with_years
from owned_farm import owned_farm
from pypdf import PdfReader
from test_cli import cli, geojson

from maps.commands.years import print_years
from maps.farm_file import farm_file_for
from maps.for_owner import of_owner
from maps.legend import Legend
from maps.words import languages, load_words
from maps.writing import write_all
from suitability.columns import SCORE_BASES, VERDICT_WORDS

ENGLISH = load_words("en").sentences
OTHERS = [language for language in languages() if language != "en"]


def holes(sentence: str) -> list[str]:
    return sorted(name for _, name, _, _ in string.Formatter().parse(sentence) if name)


def test_spanish_ships() -> None:
    assert languages() == ("en", "es")


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_has_the_same_keys_and_holes(language: str) -> None:
    told = load_words(language).sentences
    assert sorted(set(ENGLISH) - set(told)) == [], "not translated"
    assert sorted(set(told) - set(ENGLISH)) == [], "no such English sentence"
    wrong = [key for key in ENGLISH if holes(told[key]) != holes(ENGLISH[key])]
    assert wrong == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_was_translated(language: str) -> None:
    told = load_words(language).sentences
    letters = [key for key in ENGLISH if len(re.findall(r"[A-Za-z]{2,}", ENGLISH[key])) >= 3]
    assert [key for key in letters if told[key] == ENGLISH[key] and "{" not in told[key]] == []


def test_words_of_the_tables_are_told_term_by_term() -> None:
    words = load_words("es")
    assert words.term("frequent very brief") == "seguido por uno o dos días"
    assert words.term("sandy clay loam") == "franco arcillo arenoso"
    assert words.term("muck of the bayou") == "muck of the bayou", "what it does not know stays"
    assert load_words("en").term("occasional extremely brief") == "occasional extremely brief"


def test_dates_and_units_are_spanish() -> None:
    for units in ("us", "metric"):
        legend = Legend("us" if units == "us" else "metric", "es")
        assert legend.day("06-05") == "5 de junio"
        assert legend.full_day(date(2026, 6, 5)) == "5 de junio de 2026"
        assert legend.month(8) == "ago"
    assert Legend("us", "es").area(4.046856422) == "10.0 acres"
    assert Legend("us", "es").depth(30.48) == "12 pulgadas"
    assert Legend("us", "es").dry_matter(4483.4) == "4,000", "as a label in the United States"


@pytest.fixture(scope="module")
def spanish(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What is to be read in each file of a Spanish run, for the farm and for one owner."""
    farm = owned_farm()
    farm = replace(farm, farm=replace(farm.farm, language="es"))
    told = {}
    for who, result in (("farm", farm), ("owner", of_owner(farm, "Marsh Hollow Land"))):
        folder = tmp_path_factory.mktemp(who)
        for path in write_all(result, folder, tables=False, progress=lambda step: None):
            if path.suffix != ".gpkg":
                told[f"{who}/{path.name}"] = _read(path)
            if who == "farm" and path.suffix == ".html":
                told[f"raw/{path.name}"] = path.read_text("utf-8")
    return told


def test_no_text_of_the_pages_is_the_same_in_english(
    spanish: dict[str, str], tmp_path: Path
) -> None:
    """Whatever made it: of three words and more only names and made-up notes may be the same."""
    farm = owned_farm()
    write_all(farm, tmp_path, tables=False, progress=lambda step: None)
    tables = (farm.fields, farm.soil_parts, farm.components)
    own = {str(cell) for table in tables for cell in table.to_numpy().ravel()}
    own |= {note.text for note in farm.notes} | {f.name for f in farm.provenance.files}
    for name in ("map.html", "report.html"):
        english = set(_pieces((tmp_path / name).read_text("utf-8")))
        assert len(english) > 100
        told = [p for p in _pieces(spanish[f"raw/{name}"]) if p in english]
        same = {p for p in told if len(re.findall(r"[^\W\d_]{2,}", p)) >= 3}
        assert {p for p in same if not any(p in t or t in p for t in own if len(t) > 3)} == set()


def _pieces(page: str) -> list[str]:
    """Texts between tags, of attributes that are read out, and in the data of the script."""
    page = re.sub(r"<style.*?</style>|<script>.*?</script>|<!--.*?-->", "", page, flags=re.S)
    told = re.findall(r'(?:aria-label|title|alt|placeholder|data-label)="([^"]*)"', page)
    data = re.findall(r"<script [^>]*>(.*?)</script>", page, flags=re.S)
    texts = [t for script in data for t in re.findall(r'("(?:[^"\\]|\\.)*")(:?)', script)]
    told += [json.loads(text) for text, key in texts if not key]
    told += re.split(r"<[^>]+>", re.sub(r"<script.*?</script>", "", page, flags=re.S))
    return [html.unescape(" ".join(text.split())) for text in told]


def _read(path: Path) -> str:
    if path.suffix == ".pdf":
        text = " ".join(page.extract_text() for page in PdfReader(path).pages)
    else:
        text = path.read_text("utf-8").replace("\r\n ", "")
    if path.suffix == ".html":
        # Code and licence are not read; the words that the script shows stand in its data.
        text = re.sub(r"<style.*?</style>|<script>.*?</script>|<!--.*?-->", "", text, flags=re.S)
        text = html.unescape(text)
    return " ".join(text.split())


def test_no_english_sentence_is_left(spanish: dict[str, str]) -> None:
    assert {"farm/map.html", "farm/report.pdf", "farm/zones.kml", "owner/report.html"} <= set(
        spanish
    )
    told = load_words("es").sentences
    sources = " ".join(owned_farm().crop.sources.values())  # quoted as they were published
    found = []
    for key, sentence in ENGLISH.items():
        for piece in (p.strip() for p in re.split(r"\{\w+\}", sentence)):
            long = len(re.findall(r"[A-Za-z]+", piece)) >= 3
            if long and piece not in told[key] and piece not in sources:
                found += [(file, key, piece) for file, text in spanish.items() if piece in text]
    # Codes in tables, which other programs read, are the same in every language.
    codes = (*VERDICT_WORDS, *SCORE_BASES)
    assert [f for f in found if not (f[0].endswith(".csv") and f[2] in codes)] == []


def test_it_says_that_it_is_spanish(spanish: dict[str, str]) -> None:
    for page in ("farm/map.html", "farm/report.html", "owner/map.html"):
        assert '<html lang="es">' in spanish[page]
    for page in ("farm/map.html", "farm/report.html", "farm/report.pdf"):
        # A note made up for this farm, of which no catalogue knows; see test_spoken_notes.py.
        assert "(En inglés:) Its edge is rough." in spanish[page]
    assert "Para Marsh Hollow Land" in spanish["owner/report.pdf"]
    assert "mayo" in spanish["farm/calendar.ics"] or "junio" in spanish["farm/calendar.ics"]


def test_numbers_in_the_page_are_written_as_in_the_rest_of_it(spanish: dict[str, str]) -> None:
    assert '"numbers":"es-US"' in spanish["farm/map.html"]


def test_the_farm_file_and_the_command_choose_the_language(tmp_path: Path) -> None:
    geojson(tmp_path / "fields.geojson", "Home")
    config = tmp_path / "farm.toml"
    config.write_text('[farm]\nlanguage = "es"\n[fields]\nfile = "fields.geojson"\n')
    assert farm_file_for(config).farm.language == "es"
    said = cli("run", config, "--out", tmp_path / "a").stdout
    assert "Se sabe muy poco para juzgar este campo" in said and "Escrito en" in said
    english = cli("run", config, "--out", tmp_path / "a", "--lang", "en").stdout
    assert "Too little is known to judge this field" in english
    bare = cli("run", tmp_path / "fields.geojson", "--out", tmp_path / "b", "--lang", "es")
    assert "Abra " in bare.stdout
    config.write_text('[farm]\nlanguage = "fr"\n[fields]\nfile = "fields.geojson"\n')
    refused = cli("run", config, "--out", tmp_path / "c")
    assert refused.exit_code == 2 and "line 2, [farm] language" in refused.stderr


def test_check_speaks_spanish() -> None:
    farm_file = Path(__file__).parents[2] / "sample_fields" / "farm.toml"
    told = cli("check", farm_file, "--lang", "es")
    assert told.exit_code == 0, told.output
    # 414.5 acres and the survey's 91 percent of F08: as the English check tells them.
    assert "12 campos, 414.5 acres en total, de 17.7 acres a 52.7 acres cada uno" in told.stdout
    assert "cubre 11 de 12 campos; los demás: F08 91 %" in told.stdout
    assert "cuidado: El mapa de suelos cubre solo una parte de 1 campo (91 %" in told.stdout
    assert "Leyendo el mapa de suelos" in told.stderr
    english = cli("check", farm_file)
    assert "12 fields, 414.5 acres together" in english.stdout
    assert set(told.stdout.splitlines()) & set(english.stdout.splitlines()) == {
        "",
        "Tallowmere Farm",
    }
    assert "(En inglés:)" not in told.stdout


def test_crop_speaks_spanish() -> None:
    told = cli("crop", "sunn_hemp", "--lang", "es").stdout
    assert "  Días libres:\n" in told and "S2 gap_d por lo menos 60 d   [publicado;" in told
    assert "S2 inoculant_texture es arena   [juicio; project]" in told
    sources = told.split("[fuentes]")[1]
    assert " at least " not in told.removesuffix(sources)


def test_years_speak_spanish(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    farm = farm_with_years()
    print_years(replace(farm, farm=replace(farm.farm, language="es")), "A/1", "05-21")
    told = capsys.readouterr().out
    assert "sembrado la semana del 21 de mayo: da resultado en" in told
    assert "mojado," in told and "lb/acre" in told and "…" not in told
