"""Pictures of the ground from farm.toml to the page: heights, an aerial image, the internet's."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from click.testing import CliRunner
from shapely.geometry import box

from maps.cli import suitability
from maps.farm_file import read_farm_file
from maps.online_imagery import HOST
from maps.run import assess
from maps.web_map import write_map
from suitability.errors import InputError

# affine 3 will deprecate the product that rasterio 1.4 uses when it writes.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

LEFT, TOP = 500_000.0, 3_450_000.0
FARM = """
[fields]
file = "fields.gpkg"
id = "id"
[elevation]
file = "dem.tif"
vertical_unit = "m"
[aerial_image]
file = "photo.tif"
"""


def _raster(path: Path, bands: np.ndarray, cell_m: float) -> None:
    with rasterio.open(
        path, "w", driver="GTiff", width=bands.shape[2], height=bands.shape[1], count=len(bands),
        dtype=bands.dtype, crs=32617, transform=Affine(cell_m, 0, LEFT, 0, -cell_m, TOP),
    ) as made:  # fmt: skip
        made.write(bands)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two fields of 400 m; heights and image lie on the western one only."""
    squares = [box(LEFT + x, TOP - 700, LEFT + x + 400, TOP - 300) for x in (300, 3300)]
    fields = gpd.GeoDataFrame({"id": ["west", "east"]}, geometry=squares, crs=32617)
    fields.to_file(tmp_path / "fields.gpkg")
    rows, columns = np.mgrid[0:200, 0:200]
    heights = (100 + 0.02 * 5 * rows + 0.5 * np.sin(columns / 9)).astype(np.float32)
    _raster(tmp_path / "dem.tif", heights[None], 5.0)
    _raster(tmp_path / "photo.tif", np.full((4, 500, 500), 120, np.uint8), 2.0)
    (tmp_path / "farm.toml").write_text(FARM)
    return tmp_path


def test_heights_and_image_reach_the_page(folder: Path) -> None:
    result = assess(read_farm_file(folder / "farm.toml"), lambda _: None)
    assert result.ground is not None and result.ground.groups[0].field_ids == ("west",)
    assert result.aerial is not None and result.aerial.source == "photo.tif"
    notes = [note.text for note in result.notes if note.layer == "aerial image"]
    # A west field and as much to the east, of which the image shows none.
    assert notes[0].startswith("photo.tif: pixels of 6.6 ft (2.0 m).")
    assert notes[1] == "photo.tif shows 50 % of the ground around the fields."
    assert [(f.layer, f.name) for f in result.provenance.files][-1] == ("aerial_image", "photo.tif")
    write_map(result, folder / "map.html")
    page = (folder / "map.html").read_text("utf-8")
    assert page.count("data:image/webp") == 2 and HOST not in page


def test_the_internet_is_offered_only_where_it_is_switched_on(folder: Path) -> None:
    text = '[fields]\nfile = "fields.gpkg"\nid = "id"\n[map]\nonline_imagery = true\n'
    (folder / "farm.toml").write_text(text)
    result = assess(read_farm_file(folder / "farm.toml"), lambda _: None)
    assert result.farm.online_imagery and result.ground is None and result.aerial is None
    write_map(result, folder / "map.html")
    assert f"img-src data: {HOST};" in (folder / "map.html").read_text("utf-8")
    (folder / "farm.toml").write_text(text.replace("true", '"yes"'))
    with pytest.raises(InputError) as told:
        read_farm_file(folder / "farm.toml")
    assert "line 5, [map] online_imagery: must be true or false" in str(told.value)


def test_check_tells_of_the_image(folder: Path) -> None:
    told = " ".join(CliRunner().invoke(suitability, ["check", str(folder)]).output.split())
    assert "pixels of 6.6 ft, kept as 6.6 ft; shown under the fields, it changes no answer" in told


def test_an_image_that_lies_elsewhere_ends_in_one_message(folder: Path) -> None:
    with rasterio.open(folder / "photo.tif", "r+") as made:
        made.transform = Affine(2, 0, LEFT + 90_000, 0, -2, TOP)
    result = CliRunner().invoke(suitability, ["run", str(folder), "--out", str(folder / "out")])
    assert result.exit_code == 2
    told = " ".join(result.output.split())
    assert "photo.tif shows nothing of the fields: it lies beside all of them" in told
    assert not (folder / "out").exists()
