"""Makes this folder importable, so that its tests share the hand-built farm."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parent))
