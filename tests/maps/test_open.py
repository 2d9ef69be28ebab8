"""Opening the map, and the bar that tells what long work is doing."""

import io
import sys
import webbrowser
from pathlib import Path

import pytest
from test_cli import cli

from maps.progress import told_progress


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Addresses that the browser was asked to open."""
    urls: list[str] = []
    monkeypatch.setattr(webbrowser, "open", lambda url: urls.append(url) or True)
    return urls


def test_it_opens_the_map_of_a_folder_or_the_page_itself(tmp_path: Path, asked: list[str]) -> None:
    folder = tmp_path / "out of \u00f1"
    folder.mkdir()
    page = folder / "map.html"
    page.write_text("<p>")
    assert cli("open", folder).stdout == f"Opened {page}\n"
    assert cli("open", page).exit_code == 0
    assert asked == [page.as_uri()] * 2


def test_without_a_browser_it_says_what_to_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "map.html").write_text("<p>")
    monkeypatch.setattr(webbrowser, "open", lambda url: False)
    said = cli("open", tmp_path)
    assert said.exit_code == 0
    assert said.stdout == (
        f"No browser was found here. Open this file in one: {tmp_path / 'map.html'}\n"
    )


def test_without_a_map_it_says_how_to_make_one(tmp_path: Path, asked: list[str]) -> None:
    (tmp_path / "notes.txt").write_text("")
    for wrong in (tmp_path, tmp_path / "none", tmp_path / "notes.txt"):
        refused = cli("open", wrong)
        assert refused.exit_code == 2
        assert "no map to open" in refused.stderr and "suitability run" in refused.stderr
    assert asked == []


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_gets_one_line_that_names_the_step(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = _Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("TERM", "xterm")
    with told_progress() as progress:
        for step in ("Reading the fields", "Simulating 3 soils [day by day]"):
            progress(step)
    shown = screen.getvalue()
    assert "Simulating 3 soils [day by day]" in shown
    assert "\x1b[" in shown, "the line is drawn over again, not added to"


def test_a_file_gets_plain_lines_and_quiet_none(capsys: pytest.CaptureFixture[str]) -> None:
    with told_progress() as progress:
        progress("Reading the fields")
    with told_progress(quiet=True) as progress:
        progress("Reading the soil survey")
    out, err = capsys.readouterr()
    assert (out, err) == ("", "Reading the fields\n")
