"""Whether a name is that of one existing file or folder on this machine, and nothing else."""

import difflib
import os
import re
from pathlib import Path

from suitability.errors import InputError

# Two letters or more before the colon, so that the drive of a Windows path is no scheme.
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.\-]+:[/\\]")
_NAMES_SHOWN = 12


def local_path(path: str | Path) -> Path:
    """Absolute path of an existing local file or folder.

    Raises
    ------
    InputError : a web address or virtual file name, an empty name, or nothing of that name; then
        the message lists what the folder does hold.
    """
    text = os.fspath(path)
    if not text.strip():
        raise InputError("A file name is empty. Give the path of an existing file.")
    if text.replace("\\", "/").lower().startswith("/vsi"):
        raise InputError(
            f"{text}: names that begin with /vsi are not read. Expected the path of a file on this "
            "machine. Copy the file here and give its path."
        )
    if _SCHEME.search(text) or "://" in text:
        raise InputError(
            f"{text}: this is a web or database address. Expected the path of a file on this "
            "machine; inputs are never fetched. Download the file and give its path."
        )
    try:
        found = Path(text).absolute()
        if found.exists():
            return found
    except (OSError, ValueError) as error:
        raise InputError(
            f"{text!r} cannot be looked up ({error}). Give the path of an existing file."
        ) from error
    raise InputError(_missing(found))


def local_file(path: str | Path) -> Path:
    """Absolute path of an existing, non-empty, readable regular file; else InputError."""
    found = local_path(path)
    if found.is_dir():
        raise InputError(
            f"{found} is a folder; expected a file. {_holdings(found)} Give the path of one file."
        )
    if not found.is_file():
        raise InputError(f"{found} is not a regular file. Give the path of an ordinary file.")
    try:
        with found.open("rb") as stream:
            first = stream.read(1)
    except OSError as error:
        raise InputError(
            f"{found} cannot be opened ({error.strerror}). Check that you may read it and that no "
            "other program holds it."
        ) from error
    if not first:
        raise InputError(
            f"{found} is empty (0 bytes). Expected a file with data. Copy or export it again."
        )
    return found


def _missing(path: Path) -> str:
    folder = path.parent
    while not folder.is_dir() and folder != folder.parent:
        folder = folder.parent
    words = f"{path} does not exist. "
    if folder != path.parent:
        words += f"The folder {path.parent} does not exist either. "
    try:
        names = sorted(entry.name for entry in folder.iterdir() if not entry.name.startswith("."))
    except OSError:
        names = []
    near = difflib.get_close_matches(path.name, names, n=1, cutoff=0.6)
    if near:
        words += f"The nearest name there is {near[0]!r}. "
    return f"{words}{_holdings(folder)} Give the path of an existing file."


def _holdings(folder: Path) -> str:
    """Tell what a folder holds, in one sentence of at most some names."""
    try:
        names = sorted(entry.name for entry in folder.iterdir() if not entry.name.startswith("."))
    except OSError:
        return f"The folder {folder} cannot be listed."
    if not names:
        return f"The folder {folder} is empty."
    more = f" and {len(names) - _NAMES_SHOWN} more" if len(names) > _NAMES_SHOWN else ""
    return f"The folder {folder} holds: {', '.join(names[:_NAMES_SHOWN])}{more}."
