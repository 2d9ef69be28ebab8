"""Zip files: nothing leaves the folder, nothing swamps the disk."""

import io
import zipfile
from pathlib import Path

import pytest

from layers.files import open_vector, unzip_safely
from suitability.errors import InputError


def refusal(call, *arguments, **options) -> str:
    with pytest.raises(InputError) as caught:
        call(*arguments, **options)
    return str(caught.value)


def zipped(path: Path, members: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def test_unzip_gives_the_files_and_leaves_out_what_a_mac_adds(tmp_path):
    path = zipped(tmp_path / "a.zip", {"x/a.txt": b"1", "__MACOSX/x/._a.txt": b"2"})
    into = tmp_path / "into"
    into.mkdir()
    assert unzip_safely(path, into) == [into / "x" / "a.txt"]
    assert (into / "x" / "a.txt").read_bytes() == b"1"


@pytest.mark.parametrize(
    "name", ["../evil.txt", "/evil.txt", "x/../../evil.txt", "C:/evil.txt", "..\\evil"]
)
def test_a_member_that_points_out_of_the_folder_is_refused(tmp_path, name):
    path = zipped(tmp_path / "a.zip", {"good.txt": b"1", name: b"2"})
    into = tmp_path / "into"
    into.mkdir()
    assert "points out of the folder" in refusal(unzip_safely, path, into)
    assert list(into.iterdir()) == [] and not (tmp_path / "evil.txt").exists()


def test_links_and_twins_in_a_zip_are_refused(tmp_path):
    link = zipfile.ZipInfo("passwd")
    link.external_attr = 0o120777 << 16
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        archive.writestr(link, "/etc/passwd")
        archive.writestr("B.txt", "1")
        archive.writestr("b.txt", "2")
    message = refusal(unzip_safely, tmp_path / "a.zip", tmp_path)
    assert "'passwd' is a link" in message and "'b.txt' stands twice" in message


def test_a_zip_of_too_many_files_or_bytes_is_refused(tmp_path):
    path = zipped(tmp_path / "a.zip", {f"{i}.txt": bytes(1_000_000) for i in range(5)})
    assert "holds 5 files; at most 4" in refusal(unzip_safely, path, tmp_path, max_members=4)
    message = refusal(unzip_safely, path, tmp_path, max_bytes=2_000_000)
    assert "unpacks to at least 5 MB; at most 2 MB" in message


def test_a_zip_that_lies_about_its_size_is_stopped_while_it_is_written(tmp_path):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.bin", bytes(5_000_000))
    data = buffer.getvalue().replace(
        (5_000_000).to_bytes(4, "little"), (1000).to_bytes(4, "little")
    )
    path = tmp_path / "a.zip"
    path.write_bytes(data)
    into = tmp_path / "into"
    into.mkdir()
    assert "a.zip" in refusal(unzip_safely, path, into, max_bytes=10_000)
    assert sum(f.stat().st_size for f in into.iterdir()) <= 10_000


def test_damaged_empty_and_ambiguous_zips_are_refused(tmp_path):
    path = zipped(tmp_path / "a.zip", {"a.txt": b"x" * 1000})
    path.write_bytes(path.read_bytes()[:40])
    assert "cannot be unpacked" in refusal(unzip_safely, path, tmp_path)
    assert "without any file" in refusal(unzip_safely, zipped(tmp_path / "b.zip", {}), tmp_path)
    text = b'{"type": "FeatureCollection", "features": []}'
    path = zipped(tmp_path / "c.zip", {"a.geojson": text, "b.geojson": text})
    message = refusal(open_vector, path)
    assert "holds 2 vector files; expected one" in message and "a.geojson" in message
    path = zipped(tmp_path / "d.zip", {"readme.txt": b"hi"})
    assert "no vector file in this zip" in refusal(open_vector, path)
