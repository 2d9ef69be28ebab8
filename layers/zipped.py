"""What lies in a zip file, unpacked without harm: no way out of the folder, no bomb."""

import stat
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory

from layers.local_path import local_file
from suitability.errors import InputError, listed

# Generous for a state-wide soil survey, far below what harms a laptop's disk by surprise.
MAX_MEMBERS = 20_000
MAX_BYTES = 8 * 2**30
_CHUNK = 1 << 20
_DEEPEST = 200


def unzip_safely(
    path: str | Path, into: Path, *, max_members: int = MAX_MEMBERS, max_bytes: int = MAX_BYTES
) -> list[Path]:
    """Unpack a zip file into the folder ``into`` and return the files written.

    Parameters
    ----------
    path : the zip file.
    into : an existing folder; nothing is ever written outside it.
    max_members, max_bytes : most files, and most bytes when unpacked [bytes]; bytes are counted
        as they are written, because the sizes a zip states of itself may lie.

    Raises
    ------
    InputError : not a zip, damaged, locked by a password, a member that points out of the folder,
        a link, two members of one name, too many files or bytes.
    """
    source = local_file(path)
    try:
        with zipfile.ZipFile(source) as archive:
            members = [m for m in archive.infolist() if not _ignored(m)]
            _check_members(source, members, max_members, max_bytes)
            return _write(archive, source, members, into, max_bytes)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError) as error:
        raise InputError(
            f"{source} cannot be unpacked ({error}). Expected a sound zip file. Download or zip it "
            "again, or unpack it yourself and give the folder."
        ) from error
    except OSError as error:
        raise InputError(
            f"{source} cannot be unpacked into {into} ({error}). Check the room left on the disk."
        ) from error


@contextmanager
def unzipped(path: str | Path) -> Iterator[Path]:
    """Give a temporary folder with the contents of a zip file; gone when the block ends."""
    with TemporaryDirectory(prefix="fields-") as folder:
        into = Path(folder)
        unzip_safely(path, into)
        yield into


def _ignored(member: zipfile.ZipInfo) -> bool:
    parts = PurePosixPath(member.filename).parts
    return member.is_dir() or "__MACOSX" in parts or (bool(parts) and parts[-1] == ".DS_Store")


def _check_members(
    source: Path, members: list[zipfile.ZipInfo], max_members: int, max_bytes: int
) -> None:
    if not members:
        raise InputError(f"{source} is a zip file without any file in it. Zip the data again.")
    if len(members) > max_members:
        raise InputError(
            f"{source} holds {len(members)} files; at most {max_members} are unpacked. Zip only "
            "the files of one layer."
        )
    size = sum(m.file_size for m in members)
    if size > max_bytes:
        raise InputError(_too_big(source, size, max_bytes))
    faults = [fault for m in members if (fault := _fault(m))]
    seen: set[str] = set()
    for member in members:
        if member.filename.lower() in seen:
            faults.append(f"{member.filename!r} stands twice")
        seen.add(member.filename.lower())
    if faults:
        raise InputError(
            listed(
                f"{source} is not unpacked",
                faults,
                "Expected plain files that stay in their folder. Zip the data again.",
            )
        )


def _fault(member: zipfile.ZipInfo) -> str:
    # orig_filename: zipfile itself cuts names at a NUL byte and may turn separators.
    name = member.orig_filename
    parts = PurePosixPath(name.replace("\\", "/")).parts
    if name.startswith(("/", "\\")) or ".." in parts or ":" in name or "\0" in name:
        return f"{name!r} points out of the folder"
    if len(parts) > _DEEPEST:
        return f"{name[:60]!r}... lies more than {_DEEPEST} folders deep"
    if stat.S_ISLNK(member.external_attr >> 16):
        return f"{name!r} is a link to another file"
    if member.flag_bits & 0x1:
        return f"{name!r} is locked with a password"
    return ""


def _write(
    archive: zipfile.ZipFile,
    source: Path,
    members: list[zipfile.ZipInfo],
    into: Path,
    max_bytes: int,
) -> list[Path]:
    written: list[Path] = []
    total = 0
    for member in members:
        target = into.joinpath(*PurePosixPath(member.filename.replace("\\", "/")).parts)
        target.parent.mkdir(parents=True, exist_ok=True)
        with archive.open(member) as stream, target.open("xb") as out:
            while chunk := stream.read(_CHUNK):
                total += len(chunk)
                if total > max_bytes:
                    raise InputError(_too_big(source, total, max_bytes))
                out.write(chunk)
        written.append(target)
    return written


def _too_big(source: Path, size: int, max_bytes: int) -> str:
    return (
        f"{source} unpacks to at least {size / 1e6:.0f} MB; at most {max_bytes / 1e6:.0f} MB are "
        "unpacked. Zip only the files of one layer, or unpack it yourself and give the folder."
    )
