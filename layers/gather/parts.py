"""Answers kept until a layer is whole, so that a run that was cut short goes on where it stood."""

import hashlib
import os
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

FOLDER = ".gathering"
_KEPT_S = 2 * 86_400.0  # older answers may not belong together


@dataclass(frozen=True)
class Parts:
    """The answers kept for one layer, in a folder of their own; made when the first comes."""

    folder: Path

    def answer(self, question: str, ask: Callable[[], bytes]) -> bytes:
        """The kept answer to a question, else the one that ``ask`` gives, which is then kept.

        OSError where it cannot be written.
        """
        path = self.folder / hashlib.sha256(question.encode()).hexdigest()
        try:
            if time.time() - path.stat().st_mtime < _KEPT_S:
                return path.read_bytes()
        except OSError:
            pass
        body = ask()
        self.folder.mkdir(parents=True, exist_ok=True)
        temporary = path.with_name(f"{path.name}.{os.getpid()}.new")
        try:
            temporary.write_bytes(body)
            temporary.replace(path)
        finally:
            temporary.unlink(missing_ok=True)
        return body

    def forget(self) -> None:
        """Remove what was kept."""
        shutil.rmtree(self.folder, ignore_errors=True)
