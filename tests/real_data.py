"""Where the real soil surveys, weather and elevation lie, if this machine has them."""

import os
from pathlib import Path

import pytest

_FOLDER = Path(os.environ.get("REAL_DATA", Path(__file__).parents[2] / "shared" / "real"))


def real(*parts: str) -> Path:
    """Path of a real input; skips the test where it is absent."""
    path = _FOLDER.joinpath(*parts)
    if not path.exists():
        pytest.skip(f"real data not on this machine: {'/'.join(parts)}")
    return path
