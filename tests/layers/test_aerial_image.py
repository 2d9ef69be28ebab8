"""The user's own picture from the air: what is shown, where it lies, and what is refused."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from rasterio.enums import ColorInterp

from layers import aerial_image
from layers.aerial_image import AerialImage, read_aerial
from suitability.errors import CrsError, InputError

FIELDS = gpd.GeoDataFrame(
    {"field_id": ["A"], "lat_deg": [31.634], "lon_deg": [-86.9968]},
    geometry=[shapely.box(500200, 3500200, 500400, 3500400)],
    crs="EPSG:32616",
)


def _write(path: Path, bands: np.ndarray, pixel_m: float = 2.0, **options) -> Path:
    """A picture whose upper left is at 500000, 3500600."""
    profile = {
        "driver": "GTiff",
        "count": len(bands),
        "height": bands.shape[1],
        "width": bands.shape[2],
        "dtype": bands.dtype,
        "crs": "EPSG:32616",
        "transform": rasterio.Affine(pixel_m, 0, 500000, 0, -pixel_m, 3500600),
        **options,
    }
    with rasterio.open(path, "w", **profile) as made:
        made.write(bands)
    return path


def _halves(n_bands: int = 3, dtype: str = "uint8", scale: int = 1) -> np.ndarray:
    """300 x 300 pixels: the west half 10, 20, 30 (and 40), the east half 200, 100, 50 (and 5)."""
    bands = np.empty((n_bands, 300, 300), dtype)
    bands[:, :, :150] = (np.array([10, 20, 30, 40])[:n_bands] * scale)[:, None, None]
    bands[:, :, 150:] = (np.array([200, 100, 50, 5])[:n_bands] * scale)[:, None, None]
    return bands


def _at(image: AerialImage, x: float, y: float) -> list[int]:
    point = gpd.GeoSeries([shapely.Point(x, y)], crs=FIELDS.crs).to_crs(3857).iloc[0]
    width, _, left, _, height, top = image.transform
    there = int((point.y - top) / height), int((point.x - left) / width)
    return image.pixels[there].tolist() if image.known[there] else []


def test_three_bands_come_out_as_they_are_and_where_they_lie(tmp_path: Path):
    image = read_aerial(_write(tmp_path / "photo.tif", _halves()), FIELDS)
    # The border of the halves is x = 500300, the middle of the field.
    assert _at(image, 500290, 3500300) == [10, 20, 30]
    assert _at(image, 500310, 3500300) == [200, 100, 50]
    assert image.pixel_m == pytest.approx(2.0)
    assert [note.level for note in image.notes] == ["info"]
    assert "photo.tif: pixels of 6.6 ft (2.0 m)." in image.notes[0].text


def test_of_four_bands_three_are_shown_and_one_band_is_grey(tmp_path: Path):
    four = read_aerial(_write(tmp_path / "four.tif", _halves(4)), FIELDS)
    assert _at(four, 500310, 3500300) == [200, 100, 50]
    one = read_aerial(_write(tmp_path / "one.tif", _halves(1)), FIELDS)
    assert _at(one, 500310, 3500300) == [200, 200, 200]


def test_bands_go_by_their_colours_where_the_file_names_them(tmp_path: Path):
    path = _write(tmp_path / "bgr.tif", _halves())
    with rasterio.open(path, "r+") as made:
        made.colorinterp = (ColorInterp.blue, ColorInterp.green, ColorInterp.red)
    assert _at(read_aerial(path, FIELDS), 500310, 3500300) == [50, 100, 200]


def test_a_table_of_colours_is_looked_up(tmp_path: Path):
    path = tmp_path / "table.tif"
    numbers = np.where(np.arange(300) < 150, 1, 2)[None, None, :] * np.ones((1, 300, 1))
    _write(path, numbers.astype("uint8"), photometric="palette")
    with rasterio.open(path, "r+") as made:
        made.write_colormap(1, {1: (9, 8, 7, 255), 2: (60, 50, 40, 255)})
    image = read_aerial(path, FIELDS)
    assert _at(image, 500280, 3500300) == [9, 8, 7]
    assert _at(image, 500320, 3500300) == [60, 50, 40]


def test_sixteen_bits_are_stretched_to_eight(tmp_path: Path):
    path = _write(tmp_path / "deep.tif", _halves(3, "uint16", 100))
    image = read_aerial(path, FIELDS)
    # 10 x 100 is the darkest and 200 x 100 the brightest of all: 0 and 255; 100 x 100 lies between,
    # 255 x 9000 / 19000 = 121.
    assert _at(image, 500290, 3500300)[0] == 0
    assert _at(image, 500310, 3500300)[:2] == [255, 121]


def test_what_the_file_has_not_stays_unknown_and_is_said(tmp_path: Path):
    bands = _halves()
    bands[:, :, 150:] = 0
    image = read_aerial(_write(tmp_path / "half.tif", bands, nodata=0), FIELDS)
    assert _at(image, 500280, 3500300) == [10, 20, 30] and _at(image, 500320, 3500300) == []
    caution = [note.text for note in image.notes if note.level == "caution"]
    assert caution == ["half.tif shows 50 % of the ground around the fields."]


def test_a_huge_picture_is_joined_to_larger_pixels(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(aerial_image, "MOST_PIXELS", 3025)  # 440 m / 55 = 8 m
    image = read_aerial(_write(tmp_path / "fine.tif", _halves()), FIELDS)
    assert image.pixel_m == pytest.approx(8.0, rel=0.02)
    assert image.pixels.shape[0] * image.pixels.shape[1] <= 1.05 * 3025
    assert _at(image, 500280, 3500300) == [10, 20, 30]
    assert "pixels of 6.6 ft (2.0 m), joined to 26 ft (8.0 m) for the page" in image.notes[0].text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"crs": None}, "does not say in which CRS"),
        (
            {"transform": rasterio.Affine(2, 0, 600000, 0, -2, 3500600)},
            "it lies beside all of them, or is blank there",
        ),
        (
            {"transform": rasterio.Affine(1.9, 0.6, 500000, 0.6, -1.9, 3500600)},
            "rotated or mirrored",
        ),
    ],
)
def test_what_has_no_place_on_the_fields_is_refused(tmp_path: Path, change: dict, words: str):
    path = _write(tmp_path / "photo.tif", _halves(), **change)
    with pytest.raises(InputError, match=words) as told:
        read_aerial(path, FIELDS)
    assert "photo.tif" in str(told.value) and "xport it again" in str(told.value)
    assert isinstance(told.value, CrsError) == (change.get("crs", "") is None)


def test_a_picture_without_a_place_is_refused(tmp_path: Path):
    path = tmp_path / "photo.tif"
    with pytest.warns(rasterio.errors.NotGeoreferencedWarning):
        _write(path, _halves(), transform=rasterio.Affine.identity())
    with pytest.raises(InputError, match="does not say where on the earth it lies"):
        read_aerial(path, FIELDS)


def test_two_bands_are_refused(tmp_path: Path):
    path = _write(tmp_path / "photo.tif", _halves(2))
    with pytest.raises(InputError, match="has 2 bands of uint8; expected a picture of one band"):
        read_aerial(path, FIELDS)


def test_more_than_can_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    path = _write(tmp_path / "photo.tif", _halves())
    monkeypatch.setattr(aerial_image, "_MOST_READ", 10_000)
    with pytest.raises(InputError, match="billion pixels lie around the fields"):
        read_aerial(path, FIELDS)
