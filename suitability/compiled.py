"""One decorator for the day steps: plain scalar Python, compiled once and kept on disk.

Numba does not notice when a function called from another file changes, so the cache lies in a
folder named for a hash of all the sources of this package: any change makes a new one. Where no
folder can be written the code is compiled afresh in each run. With NUMBA_DISABLE_JIT=1 the same
functions run uncompiled.
"""

import hashlib
import os
import shutil
import sys
import tempfile
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])
_NAME = "summer-gap-fields"


def compiled(function: Function) -> Function:
    """Compile a function of scalars and arrays; it releases the lock, so threads may share it."""
    return _compiled(function)


def inlined(function: Function) -> Function:
    """As ``compiled``, for a small part of a step: it is put in place of each call of it.

    Division by zero gives infinity or NaN, so that cases side by side can share instructions.
    """
    return _compiled(function, kept=False, forceinline=True, error_model="numpy")


def spelled_out(function: Function) -> Function:
    """As ``inlined``, for a part called with fixed numbers: each would be compiled anew."""
    return _compiled(function, kept=False, inline="always")


def _compiled(function: Function, *, kept: bool = True, **options: Any) -> Function:
    folder = cache_folder() if kept else None
    settings: Any = numba.config
    before = settings.CACHE_DIR
    settings.CACHE_DIR = "" if folder is None else str(folder)
    options |= {"cache": folder is not None, "nogil": True, "no_cfunc_wrapper": True}
    try:
        return cast("Function", numba.njit(**options)(function))
    finally:
        settings.CACHE_DIR = before


@lru_cache
def cache_folder() -> Path | None:
    """Folder for compiled code of exactly these sources; None where it cannot be written."""
    try:
        folder = _user_cache() / source_hash()
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except (OSError, RuntimeError):  # the latter where there is no home
        return None
    _drop_others(folder)
    return folder


@lru_cache
def source_hash() -> str:
    """Hash of every source file of this package and of the versions that compile it."""
    digest = hashlib.sha256(f"{sys.version_info} {numba.__version__}".encode())
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _user_cache() -> Path:
    named = os.environ.get("LOCALAPPDATA" if sys.platform == "win32" else "XDG_CACHE_HOME")
    return (Path(named) if named else Path.home() / ".cache") / _NAME


def _drop_others(kept: Path) -> None:
    """Remove compiled code of other sources, except the newest: two checkouts may take turns."""
    others = sorted(
        (p for p in kept.parent.iterdir() if p.is_dir() and p != kept),
        key=lambda p: p.stat().st_mtime,
        reverse=True,
    )
    for old in others[1:]:
        shutil.rmtree(old, ignore_errors=True)
