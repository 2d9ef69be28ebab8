"""Results reach the output folder whole or not at all, and never over a stranger's file."""

import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from suitability.errors import InputError, listed

# Lists the files of ours in an output folder, so that a later run knows what it may replace.
RECORD = ".suitability-files.json"


@contextmanager
def whole_or_nothing(out_dir: Path) -> Iterator[Path]:
    """Give an empty folder to write into; its files move to ``out_dir`` when all went well.

    Earlier files of ours in ``out_dir`` are replaced, those not written again are taken away,
    and files that we did not write are kept. On any fault ``out_dir`` is left as it was; it is not
    made if it was not there.

    Raises
    ------
    InputError : ``out_dir`` is a file or cannot be written; a file of the same name there is not
        ours; a file of ours there is held open by another program.
    """
    check_out_dir(out_dir)
    # Inside an existing folder, else in the nearest one above: on one disk, where a rename works.
    home = out_dir if out_dir.is_dir() else _nearest_folder(out_dir)
    work = home / f".suitability-{os.getpid()}.part"
    written = work / "new"
    try:
        try:
            shutil.rmtree(work, ignore_errors=True)
            written.mkdir(parents=True)
        except OSError as error:
            raise _not_writable(out_dir, error) from None
        yield written
        _hand_over(written, work / "old", out_dir)
    finally:
        shutil.rmtree(work, ignore_errors=True)


def check_out_dir(out_dir: Path) -> None:
    """Raise InputError where ``out_dir`` cannot become the output folder; write nothing."""
    cure = "Give --out the name of a folder; it is made if it is not there."
    try:
        if out_dir.is_dir():
            home = out_dir
        elif os.path.lexists(out_dir):
            raise InputError(f"{out_dir} is a file, a folder was expected. {cure}")
        else:
            home = _nearest_folder(out_dir)
            if not home.is_dir():
                raise InputError(f"{home} is a file, so {out_dir} cannot be made in it. {cure}")
    except OSError as error:
        raise InputError(f"{out_dir} cannot be a folder: {error.strerror}. {cure}") from None
    if not os.access(home, os.W_OK | os.X_OK):
        raise _not_writable(out_dir, None)


def _nearest_folder(path: Path) -> Path:
    """Nearest existing thing above a path; a file where the path runs through one."""
    above = path.absolute().parent
    while not os.path.lexists(above):
        above = above.parent
    return above


def _not_writable(out_dir: Path, error: OSError | None) -> InputError:
    why = f" ({error.strerror})" if error else ""
    return InputError(
        f"{out_dir} cannot be written{why}. Give --out a folder you may write to, "
        "on a disk that is not full."
    )


def _hand_over(written: Path, old: Path, out_dir: Path) -> None:
    """Move all new files in place; put every earlier one back if one move fails."""
    names = sorted(p.relative_to(written).as_posix() for p in written.rglob("*") if p.is_file())
    (written / RECORD).write_text(json.dumps(names, indent=1), encoding="utf-8")
    if not out_dir.is_dir():
        try:
            out_dir.parent.mkdir(parents=True, exist_ok=True)
            written.replace(out_dir)
        except OSError as error:
            raise _not_writable(out_dir, error) from None
        return
    ours = _earlier(out_dir)
    _refuse_strangers(names, ours, out_dir)
    set_aside: list[str] = []
    placed: list[str] = []
    name = ""
    try:
        for name in sorted({*ours, RECORD}):
            if (out_dir / name).is_file():
                _move(out_dir / name, old / name)
                set_aside.append(name)
        for name in [*names, RECORD]:
            _move(written / name, out_dir / name)
            placed.append(name)
    except BaseException as error:
        for moved in placed:
            (out_dir / moved).unlink(missing_ok=True)
        for moved in set_aside:
            _move(old / moved, out_dir / moved)
        if isinstance(error, OSError):
            raise InputError(
                f"{out_dir / name} cannot be replaced ({error.strerror}). "
                "Close it in other programs, or give --out another folder."
            ) from None
        raise
    for name in ours - set(names):
        _drop_empty_folders((out_dir / name).parent, out_dir)


def _move(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    source.replace(target)


def _earlier(out_dir: Path) -> set[str]:
    """Names of the files that an earlier run left here; none where the record is not readable."""
    try:
        names = json.loads((out_dir / RECORD).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return set()
    if not isinstance(names, list):
        return set()
    plain = (n for n in names if isinstance(n, str) and n)
    # A record that was meddled with must not reach outside the folder.
    return {n for n in plain if not PurePosixPath(n).is_absolute() and ".." not in Path(n).parts}


def _refuse_strangers(names: list[str], ours: set[str], out_dir: Path) -> None:
    strangers = [n for n in names if os.path.lexists(out_dir / n) and n not in ours]
    if strangers:
        raise InputError(
            listed(
                f"{out_dir} holds files that this program did not write and would replace",
                strangers,
                "Give --out another folder, or move these files away.",
            )
        )


def _drop_empty_folders(folder: Path, out_dir: Path) -> None:
    while folder != out_dir and folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()
        folder = folder.parent
