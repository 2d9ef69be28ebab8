"""Heights and soil grids from farm.toml to the table of layers and the answer."""

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from affine import Affine
from click.testing import CliRunner
from shapely.geometry import box

from maps.cli import suitability
from maps.farm_file import read_farm_file
from maps.run import assess
from suitability.errors import InputError

# affine 3 will deprecate the product that rasterio 1.4 uses when it writes.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

LEFT, TOP = 500_000.0, 3_450_000.0
FARM = """
[fields]
file = "fields.gpkg"
id = "id"
[gap]
opens = "05-15"
closes = "09-15"
[elevation]
file = "dem.tif"
{unit}
[[soil_grid]]
file = "sand.tif"
property = "sand"
unit = "pct"
from_cm = 0
to_cm = 100
[[soil_grid]]
file = "clay.tif"
property = "clay"
unit = "g/kg"
from_cm = 0
to_cm = 100
[[soil_grid]]
file = "ph.tif"
property = "ph"
unit = "ph"
scale = 0.1
from_cm = 0
to_cm = 30
[[soil_grid]]
file = "drainage.tif"
property = "drainage_class"
classes = {{ 1 = "well", 2 = "very poorly" }}
"""


def raster(path, values):
    values = np.asarray(values)
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0], count=1,
        dtype=values.dtype, crs=32617, transform=Affine(50, 0, LEFT, 0, -50, TOP),
    ) as file:  # fmt: skip
        file.write(values, 1)


@pytest.fixture
def farm(tmp_path):
    def made(unit='vertical_unit = "m"'):
        (tmp_path / "farm.toml").write_text(FARM.format(unit=unit))
        return tmp_path / "farm.toml"

    shapes = [box(LEFT + x, TOP - 800, LEFT + x + 400, TOP - 400) for x in (200, 700)]
    frame = gpd.GeoDataFrame({"id": ["west", "east"]}, geometry=shapes, crs=32617)
    frame.to_file(tmp_path / "fields.gpkg")
    shape = (24, 24)
    raster(tmp_path / "dem.tif", np.repeat(np.arange(24, dtype=np.float32)[None], 24, axis=0) + 100)
    raster(tmp_path / "sand.tif", np.full(shape, 70, np.uint8))
    raster(tmp_path / "clay.tif", np.full(shape, 120, np.int16))
    raster(tmp_path / "ph.tif", np.full(shape, 62, np.uint8))
    drainage = np.ones(shape, np.uint8)
    drainage[:, 14:] = 2
    raster(tmp_path / "drainage.tif", drainage)
    return made


def test_check_tells_cell_unit_cover_and_relief(farm):
    result = CliRunner().invoke(suitability, ["check", str(farm()), "--units", "metric"])
    assert result.exit_code == 0, result.output
    text = result.stdout
    assert (
        "ELEVATION dem.tif\n  cells of 50 m; unit of the heights: m, as the farm file states"
        in text
    )
    # 1 m up for each 50 m east: 2 percent; eight cells across a field.
    assert "mean slope of a field 2.0 to 2.0 percent" in text
    assert "with 7.0 m to 7.0 m between their lowest and their highest spot" in text
    assert "a hollow or ditch narrower than about 150 m does not show" in text
    assert "SOIL GRID sand.tif clay.tif ph.tif drainage.tif\n  used in 2 fields" in text
    assert "clay 0-100 cm from clay.tif: 12 to 12 pct in 2 fields." in text
    assert "named, but not read" not in text


def test_soil_grids_alone_give_an_answer_and_the_wet_field_is_not_taken_for_dry(farm):
    told = assess(read_farm_file(farm()), lambda _step: None)
    verdicts = told.verdicts.set_index("field_id")
    found = told.findings.set_index(["field_id", "factor"])
    assert verdicts.loc["west", "waterlogging_class"] == "S1"
    assert verdicts.loc["east", "waterlogging_class"] == "N"
    assert found.loc[("west", "soil_ph"), "value"] == pytest.approx(6.2)
    assert set(told.soil_parts["mukey"]) == {"grid-west", "grid-east"}
    assert verdicts["soil_cover_pct"].eq(0).all()
    assert [f.layer for f in told.provenance.files].count("soil_grid") == 4


def test_a_dem_without_a_unit_ends_in_one_message(farm):
    with pytest.raises(InputError, match="does not say whether its heights are metres or feet"):
        assess(read_farm_file(farm("")), lambda _step: None)
