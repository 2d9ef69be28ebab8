"""Makes the folder of tests importable, so that tests share a few helpers."""

import sys
from pathlib import Path

# Loaded before the path grows: the folders of tests bear the packages' names and would hide them.
import layers  # noqa: F401
import maps  # noqa: F401
import suitability  # noqa: F401

sys.path.append(str(Path(__file__).parent))
