"""Loopback services, and a farm of outlines alone, for the tests of gathering."""

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parent))

from loopback_services import Loopback

FARM = """# My farm, as I keep it.
[farm]
name = "Tall Pines"   # on the old road

[fields]
file = "fields.geojson"
id = "field_id"

[gap]
opens = "05-15"     # after oats
closes = "09-30"
"""


@pytest.fixture
def loopback(monkeypatch: pytest.MonkeyPatch) -> Iterator[Loopback]:
    """Services that answer in the shapes of the public ones; made by us, reached on 127.0.0.1."""
    for name in ("HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.lower(), raising=False)
    with Loopback() as running:
        yield running


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """The farm file of two fields in south Georgia, outlines beside it and nothing else."""
    folder = tmp_path / "farm"
    folder.mkdir()
    features = []
    for i in range(2):
        west, south = -84.2031 + 0.003 * i, 31.6012
        ring = [[west, south], [west + 0.002, south], [west + 0.002, south + 0.002]]
        ring += [[west, south + 0.002], ring[0]]
        features.append(
            {
                "type": "Feature",
                "properties": {"field_id": f"F{i + 1}", "owner": "A Secret Owner"},
                "geometry": {"type": "Polygon", "coordinates": [ring]},
            }
        )
    text = json.dumps({"type": "FeatureCollection", "features": features})
    (folder / "fields.geojson").write_text(text)
    (folder / "farm.toml").write_text(FARM)
    return folder / "farm.toml"
