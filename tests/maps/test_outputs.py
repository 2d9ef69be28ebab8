"""Results arrive whole or not at all, and no file of someone else is touched."""

import os
from pathlib import Path

import pytest

from maps.outputs import RECORD, check_out_dir, whole_or_nothing
from suitability.errors import InputError


def write(out: Path, **files: str) -> None:
    with whole_or_nothing(out) as folder:
        for name, text in files.items():
            path = folder / name.replace("__", "/").replace("_", ".")
            path.parent.mkdir(exist_ok=True)
            path.write_text(text)


def tree(folder: Path) -> dict[str, str]:
    files = (p for p in folder.rglob("*") if p.is_file() and p.name != RECORD)
    return {p.relative_to(folder).as_posix(): p.read_text() for p in files}


def test_a_new_folder_gets_all_files_and_nothing_stays_beside_it(tmp_path: Path) -> None:
    write(tmp_path / "a" / "out", map_html="m", tables__parts_csv="p")
    assert tree(tmp_path) == {"a/out/map.html": "m", "a/out/tables/parts.csv": "p"}
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
    assert [p.name for p in (tmp_path / "a").iterdir()] == ["out"]


def test_a_fault_leaves_no_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="bad survey"), whole_or_nothing(tmp_path / "x" / "o") as d:
        (d / "map.html").write_text("half")
        raise InputError("bad survey")
    assert list(tmp_path.iterdir()) == []


def test_an_interruption_leaves_no_folder(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), whole_or_nothing(tmp_path / "out"):
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


def test_a_fault_leaves_earlier_results_as_they_were(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, map_html="first", fields_csv="first")
    before = sorted(p.name for p in out.iterdir())
    with pytest.raises(ValueError, match="bug"), whole_or_nothing(out) as folder:
        (folder / "map.html").write_text("second")
        raise ValueError("bug")
    assert tree(out) == {"map.html": "first", "fields.csv": "first"}
    assert sorted(p.name for p in out.iterdir()) == before


def test_earlier_files_of_ours_are_replaced_or_taken_away(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, map_html="first", tables__parts_csv="old")
    write(out, map_html="second", fields_csv="f")
    assert tree(out) == {"map.html": "second", "fields.csv": "f"}
    assert not (out / "tables").exists()


def test_files_of_others_are_kept(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "letter.txt").write_text("dear landlord")
    write(out, tables__parts_csv="p")
    (out / "tables" / "mine.xlsx").write_text("mine")
    write(out, map_html="m")
    assert tree(out) == {"letter.txt": "dear landlord", "map.html": "m", "tables/mine.xlsx": "mine"}


def test_a_file_of_the_users_with_our_name_is_not_overwritten(tmp_path: Path) -> None:
    (tmp_path / "fields.csv").write_text("id,owner")
    with pytest.raises(InputError) as caught:
        write(tmp_path, fields_csv="ours", map_html="m")
    assert str(caught.value) == (
        f"{tmp_path} holds files that this program did not write and would replace:\n"
        "  - fields.csv\nGive --out another folder, or move these files away."
    )
    assert tree(tmp_path) == {"fields.csv": "id,owner"}
    assert [p.name for p in tmp_path.iterdir()] == ["fields.csv"]


def test_a_move_that_fails_puts_everything_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    write(out, a_csv="a1", b_csv="b1")
    real = Path.replace

    def held_open(self: Path, target: Path) -> Path:
        if Path(target) == out / "b.csv" and self.read_text() == "b2":
            raise PermissionError(13, "Permission denied")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", held_open)
    with pytest.raises(InputError) as caught:
        write(out, a_csv="a2", b_csv="b2", c_csv="c2")
    assert str(caught.value) == (
        f"{out / 'b.csv'} cannot be replaced (Permission denied). "
        "Close it in other programs, or give --out another folder."
    )
    assert tree(out) == {"a.csv": "a1", "b.csv": "b1"}
    write(out, a_csv="a3")  # the record came back too: its files still count as ours
    assert tree(out) == {"a.csv": "a3"}


def test_an_output_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "out"
    file.write_text("x")
    with pytest.raises(InputError, match=r"out is a file, a folder was expected\. Give --out"):
        check_out_dir(file)
    with pytest.raises(InputError, match=r"out is a file, so .*deeper cannot be made in it"):
        check_out_dir(file / "deeper")
    assert file.read_text() == "x"


def test_a_folder_that_may_not_be_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda *_args: False)
    with pytest.raises(InputError, match=r"cannot be written\. Give --out a folder you may write"):
        write(tmp_path / "out", map_html="m")
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_args: object, **_more: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "mkdir", full)
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\)"):
        write(tmp_path / "out", map_html="m")


def test_a_record_that_was_meddled_with_reaches_nothing_outside(tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(out, map_html="m")
    (tmp_path / "precious.txt").write_text("keep")
    (out / RECORD).write_text(f'["map.html", "../precious.txt", "{tmp_path}/precious.txt", 7]')
    write(out, map_html="n")
    assert (tmp_path / "precious.txt").read_text() == "keep"
    assert tree(out) == {"map.html": "n"}
