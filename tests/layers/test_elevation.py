"""Heights from any raster: unit, holes, tiles, degrees, and the words for what cannot be used."""

import shutil
import zipfile

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from rasterio.enums import ColorInterp
from real_data import real
from shapely.geometry import box

from layers import elevation, raster_cells
from layers.elevation import read_elevation
from layers.files import open_raster
from layers.grid import Grid, zonal
from layers.raster_cells import read_cells, window_around
from layers.raster_lattice import lattice_of
from layers.relief import field_relief
from suitability.errors import CrsError, InputError

# affine 3 will deprecate the product that rasterio 1.4 uses when it writes.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

UTM = 32617
LEFT, TOP = 500_000.0, 3_450_000.0


def plane(n=40, base=60.0, east=0.05, north=0.0, cell=10.0):
    """Heights of a tilted plane: ``east`` metres up for each metre east."""
    along = (np.arange(n) + 0.5) * cell
    return (base + east * along[None, :] - north * along[:, None]).astype(np.float32)


def write(path, values, *, left=LEFT, top=TOP, cell=10.0, crs=UTM, unit="m", **profile):
    values = np.asarray(values)
    bands = values if values.ndim == 3 else values[None]
    transform = profile.pop("transform", Affine(cell, 0, left, 0, -cell, top))
    with rasterio.open(
        path,
        "w",
        driver=profile.pop("driver", "GTiff"),
        width=bands.shape[2],
        height=bands.shape[1],
        count=len(bands),
        dtype=bands.dtype,
        crs=crs,
        transform=transform,
        **profile,
    ) as raster:
        raster.write(bands)
        if unit:
            raster.units = [unit] * len(bands)
    return path


def fields(*boxes, ids=None):
    """Fields as boxes of (left, bottom, right, top), metres from the raster's north-west corner."""
    shapes = [box(LEFT + a, TOP + b, LEFT + c, TOP + d) for a, b, c, d in boxes]
    frame = gpd.GeoDataFrame(
        {"field_id": ids or [f"F{i}" for i in range(len(boxes))]}, geometry=shapes, crs=UTM
    )
    points = frame.to_crs(4326).representative_point()
    frame["lon_deg"], frame["lat_deg"] = points.x, points.y
    frame["area_ha"] = frame.area / 10_000
    return frame


ONE = fields((100, -300, 300, -100))


def read(path, shapes=ONE, *, buffer_m=30.0, **options):
    return read_elevation(path, shapes, buffer_m=buffer_m, **options)


def refusal(call, *arguments, **options):
    with pytest.raises(InputError) as caught:
        call(*arguments, **options)
    return str(caught.value)


def texts(result):
    return " | ".join(note.text for note in result.notes)


def test_a_cell_counts_by_its_share_inside():
    # 1..9 under a square from the middle of the first cell to the middle of the last: corners
    # count a quarter, sides a half, the middle whole: (1+3+7+9)/4 + (2+4+6+8)/2 + 5 = 20, of 4.
    grid = Grid(
        np.arange(1, 10, dtype=np.float32).reshape(3, 3),
        (10.0, 0.0, LEFT, 0.0, -10.0, TOP),
        pyproj.CRS.from_epsg(UTM),
    )
    table = zonal(grid, fields((5, -25, 25, -5)), ["count", "mean", "sum", "min", "max"])
    assert table.loc["F0"].tolist() == pytest.approx([4, 5, 20, 1, 9, 100])
    # A quarter of cell 3 (top right), a fourth of its side wide.
    assert zonal(grid, fields((22, -4, 24, -2)), ["mean"]).loc["F0", "mean"] == pytest.approx(3)
    assert zonal(grid, fields((25, -5, 35, 0)), []).loc["F0", "cover_pct"] == pytest.approx(50)
    away = zonal(grid, fields((100, -120, 120, -100)), ["mean"]).loc["F0"]
    assert np.isnan(away["mean"]) and away["cover_pct"] == 0


def test_a_metre_raster_keeps_its_own_cells(tmp_path):
    values = plane()
    result = read(write(tmp_path / "dem.tif", values))
    (group,) = result.groups
    width, _, left, _, height, top = group.grid.transform
    column, row = round((LEFT - left) / width), round((TOP - top) / height)
    assert (width, height, (left - LEFT) % 10, (top - TOP) % 10) == (10, -10, 0, 0)
    known = group.grid.values
    n_rows, n_columns = known.shape
    # The window holds the raster's own numbers, 100-300 m out with 30 m and two cells around.
    assert np.array_equal(known, values[-row : n_rows - row, -column : n_columns - column])
    assert (n_rows, n_columns) == (30, 30)
    assert result.cover_pct.tolist() == [100] and result.notes == ()
    assert group.field_ids == ("F0",) and result.cell_m == 10


def test_only_the_ground_around_the_fields_is_read(tmp_path, monkeypatch):
    path = write(tmp_path / "dem.tif", plane(600), tiled=True, blockxsize=64, blockysize=64)
    asked = []
    stored = raster_cells._stored
    monkeypatch.setattr(
        raster_cells,
        "_stored",
        lambda *a: asked.append((a[3] - a[2]) * (a[5] - a[4])) or stored(*a),
    )
    read(path)
    assert sum(asked) == 30 * 30


@pytest.mark.parametrize(
    ("driver", "name"),
    [("GTiff", "d.tif"), ("AAIGrid", "d.asc"), ("EHdr", "d.bil"), ("HFA", "d.img")],
)
def test_every_kind_of_raster_gives_the_same_heights(tmp_path, driver, name):
    path = tmp_path / name
    if driver == "AAIGrid":
        rows = "\n".join(" ".join(f"{v:.3f}" for v in row) for row in plane())
        path.write_text(
            f"ncols 40\nnrows 40\nxllcorner {LEFT}\nyllcorner {TOP - 400}\ncellsize 10\n"
            f"NODATA_value -9999\n{rows}\n"
        )
        path.with_suffix(".prj").write_text(pyproj.CRS.from_epsg(UTM).to_wkt("WKT1_ESRI"))
    else:
        write(path, plane(), driver=driver, unit="")
    result = read(path, vertical_unit="m")
    table = field_relief(result.groups[0].grid, ONE).loc[0]
    assert table["elevation_m"] == pytest.approx(60 + 0.05 * 200, abs=1e-3)
    assert table["slope_pct"] == pytest.approx(5, abs=1e-3)


@pytest.mark.parametrize(
    ("unit", "name"), [("ft", "ft"), ("foot", "foot"), ("US survey foot", "US survey foot")]
)
def test_feet_become_metres(tmp_path, unit, name):
    path = write(tmp_path / "dem.tif", plane() / 0.3048, unit=unit)
    result = read(path)
    assert (result.unit.name, result.unit.why) == (name, "as the file's band states")
    table = field_relief(result.groups[0].grid, ONE).loc[0]
    assert table["elevation_m"] == pytest.approx(70, abs=1e-3)
    assert table["slope_pct"] == pytest.approx(5, abs=1e-3)


def test_the_vertical_crs_tells_the_unit(tmp_path):
    # EPSG 6360: NAVD88 height in US survey feet; 32617+6360 as a compound CRS.
    crs = pyproj.CRS("EPSG:26917+6360").to_wkt()
    result = read(write(tmp_path / "dem.tif", plane() / 0.3048, crs=crs, unit=""))
    assert "vertical CRS" in result.unit.why or "band" in result.unit.why
    assert result.unit.metres == pytest.approx(0.3048006, abs=1e-7)


def test_no_stated_unit_is_refused_unless_only_one_is_possible(tmp_path):
    path = write(tmp_path / "dem.tif", plane(base=380), unit="")
    words = refusal(read, path)
    assert "does not say whether its heights are metres or feet" in words
    assert 'vertical_unit = "m" or vertical_unit = "ft" under [elevation] in farm.toml' in words
    assert "as feet 116" in words
    assert read(path, vertical_unit="m").unit.why == "as the farm file states"
    high = read(write(tmp_path / "high.tif", plane(base=8000), unit=""))
    assert high.unit.name == "ft" and "not possible in m" in high.unit.why
    assert "no ground does" in refusal(read, write(tmp_path / "x.tif", plane(base=90_000), unit=""))


def test_the_users_unit_overrides_the_file_and_says_so(tmp_path):
    path = write(tmp_path / "dem.tif", plane(), unit="m")
    result = read(path, vertical_unit="ft")
    assert "calls its heights 'm'" in texts(result) and "were read as ft" in texts(result)
    assert np.nanmax(result.groups[0].grid.values) < 25
    assert "is not known here" in refusal(read, write(tmp_path / "b.tif", plane(), unit="furlong"))
    assert "Expected -450 to 6000 m" in refusal(
        read, write(tmp_path / "c.tif", plane(base=7000), unit="m")
    )


@pytest.mark.parametrize("fill", [-9999, -32768, -3.4028234663852886e38])
@pytest.mark.parametrize("declared", [True, False])
def test_what_stands_for_nothing_is_nothing(tmp_path, fill, declared):
    values = plane()
    values[10:20, 10:20] = fill
    path = write(tmp_path / "dem.tif", values, **({"nodata": fill} if declared else {}))
    result = read(path)
    # The hole is the north-west quarter of the field (100..200 m of 100..300).
    assert result.cover_pct["F0"] == pytest.approx(75)
    assert np.nanmin(result.groups[0].grid.values) > 60
    assert "Heights on only part of 1 field" in texts(result)
    assert ("does not declare what stands for no height" in texts(result)) is not declared


def test_whole_numbers_with_and_without_nodata(tmp_path):
    values = plane(east=0.0).astype(np.int16)
    values[12, 12] = -32768
    result = read(write(tmp_path / "dem.tif", values, nodata=-32768))
    assert result.whole and "hollows shallower than 1 m do not show" in texts(result)
    assert np.isnan(result.groups[0].grid.values).sum() == 1
    assert not read(write(tmp_path / "b.tif", plane())).whole


def test_zeros_far_below_all_other_heights_are_no_ground(tmp_path):
    values = plane()
    values[:, 25:] = 0
    result = read(write(tmp_path / "dem.tif", values))
    assert result.cover_pct["F0"] == pytest.approx(75)
    assert "cells are exactly 0, far from all other heights" in texts(result)
    coast = np.maximum(plane(base=-5), 0)
    kept = read(write(tmp_path / "coast.tif", coast))
    assert kept.cover_pct["F0"] == 100 and "exactly 0, and others lie near" in texts(kept)
    said = read(write(tmp_path / "said.tif", values, nodata=-9999))
    assert said.cover_pct["F0"] == 100


def test_the_files_own_scale_is_used(tmp_path):
    path = write(tmp_path / "dem.tif", (plane() * 10).astype(np.int16))
    with rasterio.open(path, "r+") as raster:
        raster.scales = (0.1,)
    result = read(path)
    assert field_relief(result.groups[0].grid, ONE).loc[0, "elevation_m"] == pytest.approx(
        70, abs=0.1
    )
    assert "stored times 0.1" in texts(result)


def test_tiles_are_laid_together_and_far_ones_left_alone(tmp_path):
    values = plane()
    write(tmp_path / "a.tif", values[:, :22])
    write(tmp_path / "b.tif", values[:, 20:], left=LEFT + 200)
    write(tmp_path / "far.tif", plane(), left=LEFT + 90_000, crs=32618)
    (tmp_path / "readme.txt").write_text("not a raster")
    whole = read(write(tmp_path.parent / "whole.tif", values)).groups[0].grid.values
    result = read(tmp_path)
    assert np.allclose(result.groups[0].grid.values, whole, atol=1e-4)
    assert [p.name for p in result.files] == ["a.tif", "b.tif"]
    listed = read([tmp_path / "b.tif", tmp_path / "a.tif"])
    assert np.allclose(listed.groups[0].grid.values, whole, atol=1e-4)
    with zipfile.ZipFile(tmp_path / "tiles.zip", "w") as archive:
        archive.write(tmp_path / "a.tif", "a.tif")
        archive.write(tmp_path / "b.tif", "b.tif")
    assert np.allclose(read(tmp_path / "tiles.zip").groups[0].grid.values, whole, atol=1e-4)


def test_tiles_that_do_not_fit_are_refused_or_noted(tmp_path):
    values = plane()
    write(tmp_path / "a.tif", values[:, :20])
    write(tmp_path / "b.tif", plane(80, cell=5.0), left=LEFT + 200, cell=5.0)
    words = refusal(read, tmp_path)
    assert "not of one kind" in words and "b.tif: cells of 5 x 5" in words
    write(tmp_path / "b.tif", values[:, 20:], left=LEFT + 203)
    assert "lie up to 0.30 of a cell off each other" in texts(read(tmp_path))
    write(tmp_path / "b.tif", values[:, 20:], left=LEFT + 200, unit="ft")
    assert "different units of height" in refusal(read, tmp_path)
    (tmp_path / "sub").mkdir()
    assert "holds no raster" in refusal(read, tmp_path / "sub")


def test_a_plane_in_degrees_keeps_its_slope(tmp_path):
    # About 1/3 arc second: 10.3 x 8.8 m here. The plane rises 2 m per 100 m east (UTM).
    size = 1 / 10_800
    lon0, lat0 = -81.01, 31.19
    lon = lon0 + (np.arange(200) + 0.5) * size
    lat = lat0 - (np.arange(200) + 0.5) * size
    to_utm = pyproj.Transformer.from_crs(4326, UTM, always_xy=True)
    east, north = to_utm.transform(*np.meshgrid(lon, lat))
    heights = (50 + 0.02 * (east - LEFT) + 0.01 * (north - TOP)).astype(np.float32)
    path = write(
        tmp_path / "dem.tif", heights, crs=4269, transform=Affine(size, 0, lon0, 0, -size, lat0)
    )
    x, y = to_utm.transform(lon0 + 100 * size, lat0 - 100 * size)
    here = fields((x - LEFT - 150, y - TOP - 150, x - LEFT + 150, y - TOP + 150))
    result = read(path, here)
    grid = result.groups[0].grid
    assert 9.4 < result.cell_m < 9.6 and grid.transform[0] == result.cell_m
    assert grid.crs == here.crs
    table = field_relief(grid, here).loc[0]
    assert table["slope_pct"] == pytest.approx(100 * np.hypot(0.02, 0.01), rel=1e-3)
    assert table["elevation_m"] == pytest.approx(
        50 + 0.02 * (x - LEFT) + 0.01 * (y - TOP), abs=0.01
    )
    assert table["cover_pct"] == 100


def test_a_hole_in_degrees_stays_a_hole(tmp_path):
    size = 1 / 10_800
    lon0, lat0 = -81.01, 31.19
    heights = np.full((200, 200), 50, np.float32)
    heights[95:105, 95:105] = np.nan
    path = write(
        tmp_path / "dem.tif", heights, crs=4326, transform=Affine(size, 0, lon0, 0, -size, lat0)
    )
    x, y = pyproj.Transformer.from_crs(4326, UTM, always_xy=True).transform(
        lon0 + 100 * size, lat0 - 100 * size
    )
    here = fields((x - LEFT - 150, y - TOP - 150, x - LEFT + 150, y - TOP + 150))
    result = read(path, here)
    values = result.groups[0].grid.values
    assert np.nanmin(values) == np.nanmax(values) == 50
    # 10 x 10 cells of 9.5 m are a tenth of the field; what lies between them and known heights is
    # unknown too, up to one cell more all around.
    assert 100 - 100 * (12 * 9.5) ** 2 / 300**2 < result.cover_pct["F0"]
    assert result.cover_pct["F0"] <= 100 - 100 * (10 * 9.5) ** 2 / 300**2


def test_a_grid_in_feet_is_counted_in_metres_without_resampling(tmp_path):
    # EPSG 2239, Georgia's neighbour Florida East... in US survey feet: 100 ft cells, 5 % slope.
    crs = pyproj.CRS.from_epsg(2236)
    x, y = pyproj.Transformer.from_crs(4326, crs, always_xy=True).transform(-81.0, 28.0)
    along = (np.arange(60) + 0.5) * 30 * 1200 / 3937
    values = np.repeat((20 + 0.05 * along)[None, :], 60, axis=0).astype(np.float32)
    path = write(
        tmp_path / "dem.tif", values, crs=2236, transform=Affine(30, 0, x - 900, 0, -30, y + 900)
    )
    here = gpd.GeoDataFrame(
        {"field_id": ["F0"], "lon_deg": [-81.0], "lat_deg": [28.0], "area_ha": [4.0]},
        geometry=[box(x - 300, y - 300, x + 300, y + 300)],
        crs=2236,
    ).to_crs(UTM)
    result = read(path, here)
    grid = result.groups[0].grid
    assert grid.transform[0] == pytest.approx(9.144018, abs=1e-6)
    assert grid.crs.axis_info[0].unit_name == "metre"
    table = field_relief(grid, here).loc[0]
    assert table["slope_pct"] == pytest.approx(5, abs=1e-3)
    assert table["elevation_m"] == pytest.approx(20 + 0.05 * 900 * 1200 / 3937, abs=0.02)


def test_fields_beside_the_heights_are_not_known(tmp_path):
    path = write(tmp_path / "dem.tif", plane())
    two = fields((100, -300, 300, -100), (5000, -300, 5200, -100), (350, -200, 450, -100))
    result = read(path, two)
    assert result.cover_pct.tolist() == pytest.approx([100, 0, 50])
    outside = next(note for note in result.notes if note.level == "warning")
    assert outside.field_ids == ("F1",) and "not known there" in outside.text
    none = read(path, fields((5000, -300, 5200, -100)))
    assert none.groups == () and none.unit is None and none.cover_pct.tolist() == [0]


def test_far_fields_get_grids_of_their_own(tmp_path):
    path = write(tmp_path / "dem.tif", plane(400))
    result = read(
        path, fields((100, -300, 300, -100), (330, -300, 400, -100), (3000, -900, 3200, -700))
    )
    assert [group.field_ids for group in result.groups] == [("F0", "F1"), ("F2",)]
    assert sum(group.grid.values.size for group in result.groups) < 2500


def test_too_many_cells_are_joined_and_said_so(tmp_path, monkeypatch):
    values = plane()
    values[10:12, 10:12] = np.nan
    monkeypatch.setattr(elevation, "MOST_CELLS", 300)
    result = read(write(tmp_path / "dem.tif", values))
    grid = result.groups[0].grid
    assert grid.transform[0] == 20 and grid.values.size <= 300
    assert "cells of 33 ft (10 m) were joined to 66 ft (20 m)" in texts(result)
    table = field_relief(grid, ONE).loc[0]
    assert table["slope_pct"] == pytest.approx(5, abs=1e-3)
    # The four unknown cells are one of the hundred of the field.
    assert table["cover_pct"] == pytest.approx(99)


def test_strips_and_turned_rows_change_nothing(tmp_path, monkeypatch):
    values = plane(north=0.01)
    expected = read(write(tmp_path / "dem.tif", values)).groups[0].grid
    turned = write(
        tmp_path / "turned.tif", values[::-1], transform=Affine(10, 0, LEFT, 0, 10, TOP - 400)
    )
    for cells in (1, 70, 10**6):
        monkeypatch.setattr(raster_cells, "_STRIP_CELLS", cells)
        for path in (tmp_path / "dem.tif", turned):
            grid = read(path).groups[0].grid
            assert np.array_equal(grid.values, expected.values)
            assert grid.transform == expected.transform


def test_joined_cells_are_means_wherever_the_window_begins(tmp_path, monkeypatch):
    rng = np.random.default_rng(3)
    values = rng.uniform(50, 60, (37, 41)).astype(np.float32)
    path = write(tmp_path / "dem.tif", values)
    with open_raster(path) as raster:
        lattice = lattice_of(raster, path, "heights")
    part = window_around(lattice, (LEFT + 55, TOP - 333, LEFT + 388, TOP - 42), 150)
    monkeypatch.setattr(raster_cells, "_STRIP_CELLS", 100)
    cells = read_cells([lattice], part, None)
    k = part.factor
    assert k == 3
    for row in range(part.n_rows):
        for column in range(part.n_columns):
            r, c = (part.row + row) * k, (part.column + column) * k
            block = values[max(r, 0) : r + k, max(c, 0) : c + k]
            got = cells.values[row, column]
            if block.size * 2 >= k * k:
                assert got == pytest.approx(block.mean(), rel=1e-6)
            else:
                assert np.isnan(got)


def test_a_raster_too_coarse_for_a_field_says_so(tmp_path):
    path = write(tmp_path / "dem.tif", plane())
    small = fields((102, -108, 108, -102), (100, -300, 300, -100))
    result = read(path, small)
    table = field_relief(result.groups[0].grid, small).set_index("field_id")
    assert table.loc["F0", "elevation_m"] == pytest.approx(60 + 0.05 * 105)
    assert table.loc["F0", "relief_m"] == 0 and table.loc["F0", "slope_pct"] == pytest.approx(5)
    note = next(note for note in result.notes if "too coarse" in note.text)
    assert note.field_ids == ("F0",)


def bad_no_crs(path):
    return write(path, plane(), crs=None)


def bad_rgb(path):
    return write(path, np.zeros((3, 9, 9), np.uint8))


def bad_bytes(path):
    return write(path, np.zeros((9, 9), np.uint8))


def bad_complex(path):
    return write(path, np.zeros((9, 9), np.complex64))


def bad_rotated(path):
    return write(path, plane(), transform=Affine(10, 3, LEFT, 3, -10, TOP))


def bad_palette(path):
    write(path, np.zeros((9, 9), np.uint8), unit="")
    with rasterio.open(path, "r+") as raster:
        raster.colorinterp = [ColorInterp.palette]
        raster.write_colormap(1, {0: (0, 0, 0, 255)})
    return path


def bad_swapped(path):
    return write(path, plane(), crs=4326, transform=Affine(1e-4, 0, 31.0, 0, -1e-4, -80.9))


def bad_label(path):
    return write(path, plane(), crs=4326)


def bad_cut(path):
    write(path, plane())
    path.write_bytes(path.read_bytes()[:3000])
    return path


def bad_name(path):
    path.write_text("elevation\n1\n2\n")
    return path


def bad_vrt(path):
    write(path.with_name("in.tif"), plane())
    path.write_text(
        '<VRTDataset rasterXSize="40" rasterYSize="40"><VRTRasterBand band="1"><SimpleSource>'
        '<SourceFilename relativeToVRT="1">in.tif</SourceFilename></SimpleSource></VRTRasterBand>'
        "</VRTDataset>"
    )
    return path


def bad_web(_path):
    return "/vsicurl/http://example.invalid/dem.tif"


def bad_garbled(path):
    path = write(path.with_suffix(".bil"), plane(), driver="EHdr", unit="")
    path.with_suffix(".prj").write_bytes(b"PROJCS[\xff\xff\x00" + b"x" * 50)
    return path


def bad_short_grid(path):
    path = path.with_suffix(".asc")
    path.write_text(
        f"ncols 40\nnrows 40\nxllcorner {LEFT}\nyllcorner {TOP - 400}\ncellsize 10\n1 2 3"
    )
    path.with_suffix(".prj").write_text(pyproj.CRS.from_epsg(UTM).to_wkt("WKT1_ESRI"))
    return path


def bad_short_image(path):
    path = write(path.with_suffix(".img"), plane(200), driver="HFA")
    path.write_bytes(path.read_bytes()[:20_000])
    return path


def bad_short_flat(path):
    path = write(path.with_suffix(".bil"), plane(), driver="EHdr", unit="")
    path.write_bytes(path.read_bytes()[:1000])
    return path


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (bad_no_crs, "does not say in which CRS"),
        (bad_rgb, "has 3 bands; expected one band of heights"),
        (bad_bytes, "whole numbers from 0 to 255, as a picture"),
        (bad_complex, "holds complex numbers"),
        (bad_rotated, "rotated or mirrored"),
        (bad_palette, "holds a colour picture"),
        (bad_swapped, "the two look swapped"),
        (bad_label, "look like metres or feet under a wrong label"),
        (bad_cut, "cannot be read as a raster"),
        (bad_name, "cannot be read as a raster"),
        (bad_vrt, "Expected a whole GeoTIFF"),
        (bad_web, "names that begin with /vsi are not read"),
        (bad_garbled, "CRS"),
        (bad_short_grid, "cannot be read as a raster"),
        (bad_short_image, "cannot be read as a raster"),
        (bad_short_flat, "cut short"),
    ],
)
def test_what_cannot_be_used_ends_in_one_message(tmp_path, capfd, make, words):
    assert words in refusal(read, make(tmp_path / "dem.tif"), vertical_unit="m")
    assert capfd.readouterr() == ("", "")


def test_nothing_but_nodata_is_not_known(tmp_path):
    path = write(tmp_path / "dem.tif", np.full((40, 40), -9999, np.float32), nodata=-9999, unit="")
    result = read(path)
    assert result.groups == () and "outside the heights of dem.tif" in texts(result)


def test_a_claim_of_two_gigabytes_of_nothing_costs_nothing(tmp_path):
    path = tmp_path / "sparse.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=30_000, height=30_000, count=1, dtype="float32",
        crs=UTM, transform=Affine(10, 0, LEFT, 0, -10, TOP), nodata=-9999, tiled=True,
        SPARSE_OK=True, BIGTIFF="YES",
    ):  # fmt: skip
        pass
    assert path.stat().st_size < 3e6
    assert read(path).groups == ()
    huge = tmp_path / "huge.asc"
    huge.write_text(
        f"ncols 900000000\nnrows 40\nxllcorner {LEFT}\nyllcorner {TOP}\ncellsize 10\n1 2"
    )
    huge.with_suffix(".prj").write_text(pyproj.CRS.from_epsg(UTM).to_wkt("WKT1_ESRI"))
    assert "huge.asc cannot be read as a raster" in refusal(read, huge, vertical_unit="m")
    piece = tmp_path / "one_piece.tif"
    with rasterio.open(
        piece, "w", driver="GTiff", width=30_000, height=30_000, count=1, dtype="float32",
        crs=UTM, transform=Affine(10, 0, LEFT, 0, -10, TOP), blockysize=30_000, SPARSE_OK=True,
        compress="deflate",
    ):  # fmt: skip
        pass
    assert "stored in pieces of 30000 x 30000 cells" in refusal(read, piece)


def test_fields_all_over_a_state_do_not_ask_for_billions_of_cells(tmp_path):
    path = write(tmp_path / "dem.tif", plane())
    far = fields((-4e5, -4e5, 4e5, 4e5))
    assert "billion cells lie around the fields" in refusal(read, path, far)


HEAD = "ncols 4\nnrows 3\nxllcorner 500000\nyllcorner 3449900\ncellsize 10\n"


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.one_of(
        st.binary(max_size=300),
        st.text("0123456789 .-+enaNcolsrwxyz_\n", max_size=200).map(lambda t: (HEAD + t).encode()),
    )
)
@example((HEAD + "NODATA_value nan\n" + "1 2 3 4 " * 3).encode())
@example(HEAD.replace("cellsize 10", "cellsize 0").encode() + b"1 2 3 4 " * 3)
@example(HEAD.replace("ncols 4", "ncols -4").encode() + b"1 2 3 4 " * 3)
@example(HEAD.replace("cellsize 10", "cellsize nan").encode() + b"1 2 3 4 " * 3)
@example(HEAD.replace("500000", "1e308").encode() + b"1 2 3 4 " * 3)
def test_any_bytes_give_heights_or_one_message(tmp_path, data):
    path = tmp_path / "fuzz.asc"
    for old in tmp_path.iterdir():
        old.unlink()
    path.write_bytes(data)
    path.with_suffix(".prj").write_text(pyproj.CRS.from_epsg(UTM).to_wkt("WKT1_ESRI"))
    try:
        result = read(path, fields((0, -90, 40, -60)), vertical_unit="m")
    except InputError as error:
        assert str(error)
    else:
        assert result.cover_pct.between(0, 100).all()


def test_a_crs_error_is_one_too(tmp_path):
    with pytest.raises(CrsError, match="Export it again with its CRS"):
        read(bad_no_crs(tmp_path / "dem.tif"))


def test_the_real_bottomland_lies_below_the_two_upland_soils(tmp_path):
    # Means by map unit as published with the data: 380.1, 384.4 and 388.5 m.
    units = (
        gpd.read_file(real("soil_survey_with_dem", "ssurgo.shp")).dissolve("mukey").reset_index()
    )
    units = units.to_crs(32614).rename(columns={"mukey": "field_id"})
    units["field_id"] = units["field_id"].astype(str)
    points = units.to_crs(4326).representative_point()
    units["lon_deg"], units["lat_deg"], units["area_ha"] = points.x, points.y, units.area / 1e4
    dem = real("soil_survey_with_dem", "elev.tif")
    assert "377.2 to 396.3" in refusal(read_elevation, dem, units, buffer_m=50)
    result = read_elevation(dem, units, vertical_unit="m", buffer_m=50)
    table = field_relief(result.groups[0].grid, units).set_index("field_id")
    assert table["elevation_m"].round(1).to_dict() == {
        "1454645": 380.1,
        "2668916": 384.4,
        "2668914": 388.5,
    }
    shutil.copy(dem, tmp_path / "copy.tif")  # reading leaves no side file beside it
    read_elevation(tmp_path / "copy.tif", units, vertical_unit="m")
    assert [p.name for p in tmp_path.iterdir()] == ["copy.tif"]
