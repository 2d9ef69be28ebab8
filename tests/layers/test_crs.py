"""One metre CRS for a farm, and doubt about a layer's CRS said aloud."""

import geopandas as gpd
import numpy as np
import pyproj
import pytest
from real_data import real
from shapely.geometry import Point, Polygon, box

from layers.crs import check_crs, shift_note, to_lonlat, to_working, working_crs
from layers.files import open_vector
from suitability.errors import CrsError, InputError

FLORIDA = (-82.0, 30.0, -81.99, 30.01)
ALBERS = (
    "+proj=aea +lat_0=23 +lon_0=-96 +lat_1=29.5 +lat_2=45.5 +x_0=0 +y_0=0 +ellps=GRS80 "
    "+towgs84=0,0,0 +units=m +type=crs"
)


def layer(shape: Polygon | Point, crs: object) -> gpd.GeoDataFrame:
    frame = gpd.GeoDataFrame(geometry=[shape], crs=crs)
    frame.attrs["source"] = "fields.shp"
    return frame


def refusal(frame: gpd.GeoDataFrame) -> str:
    with pytest.raises(CrsError) as caught:
        check_crs(frame)
    return str(caught.value)


@pytest.mark.parametrize(
    ("bounds", "code"),
    [
        (FLORIDA, 32617),  # 84-78 W is zone 17
        ((-97.1, 31.0, -97.0, 31.1), 32614),  # 102-96 W is zone 14
        ((-84.02, 30.0, -83.9, 30.1), 32617),  # over a zone's edge by a little, middle east of it
        ((151.0, -27.1, 151.1, -27.0), 32756),  # south of the equator
    ],
)
def test_a_farm_works_in_the_zone_of_its_middle(bounds, code):
    assert working_crs([layer(box(*bounds), 4326)]).to_epsg() == code


def test_a_farm_wider_than_a_zone_works_in_an_equal_area_plane_centred_on_it():
    frames = [layer(box(-86, 30, -85.99, 30.01), 4326), layer(box(-77, 31, -76.99, 31.01), 4326)]
    crs = working_crs(frames)
    assert crs.to_epsg() is None and "Equal Area" in crs.coordinate_operation.method_name
    # The middle lies at the origin, and area is kept, also 4 degrees off.
    middle = to_working(layer(Point(-81.495, 30.505), 4326), crs).geometry[0]
    assert abs(middle.x) < 1 and abs(middle.y) < 1
    lon, lat = frames[0].geometry[0].exterior.xy
    geodesic_m2 = abs(pyproj.Geod(ellps="WGS84").polygon_area_perimeter(lon, lat)[0])
    assert to_working(frames[0], crs).area[0] == pytest.approx(geodesic_m2, rel=1e-6)


def test_layers_of_unlike_crs_meet_in_one():
    one = layer(box(*FLORIDA), 4326)
    other = one.to_crs(5070)
    crs = working_crs([one, other])
    there = [to_working(frame, crs).total_bounds for frame in (one, other)]
    # Both datums count as one within a metre (NAD83 and WGS 84).
    assert np.allclose(there[0], there[1], atol=1.5)


def test_a_crs_without_a_code_works():
    plane = layer(box(*FLORIDA), 4326).to_crs(ALBERS)
    assert plane.crs.to_epsg() is None
    assert np.allclose(check_crs(plane), FLORIDA, atol=2e-3)
    assert np.allclose(to_lonlat(plane).total_bounds, FLORIDA, atol=1e-6)


def test_a_missing_crs_is_refused_with_what_the_numbers_look_like():
    message = refusal(layer(box(*FLORIDA), None))
    assert "fields.shp does not say in which CRS" in message
    assert "x -82 to -81.99, y 30 to 30.01, which may be longitude and latitude" in message
    assert "Expected a stated CRS" in message and ".prj file beside it" in message
    assert "which are no degrees" in refusal(layer(box(3e5, 3e6, 3.1e5, 3.1e6), None))
    with pytest.raises(CrsError, match="does not say"):
        to_working(gpd.GeoDataFrame(geometry=[None]), pyproj.CRS.from_epsg(32617))


def test_swapped_axes_are_refused():
    message = refusal(layer(box(30, -82, 30.01, -81.99), 4326))
    assert "Expected longitude as x and latitude as y; the two look swapped" in message
    message = refusal(layer(box(3.32e6, 403000, 3.321e6, 404000), 32617))
    assert (
        "outside the area that this CRS is for (longitude -84 to -78, latitude 0 to 84" in message
    )


def test_metres_labelled_as_degrees_and_the_reverse_are_refused():
    message = refusal(layer(box(403000, 3.32e6, 404000, 3.321e6), 4326))
    assert "labelled 'WGS 84' (degrees)" in message and "these look like metres or feet" in message
    message = refusal(layer(box(*FLORIDA), 32617))
    assert "look like degrees under a wrong label" in message and "EPSG:4326" in message


def test_a_local_plane_around_the_farm_is_no_degrees():
    local = "+proj=laea +lat_0=30 +lon_0=-82 +datum=WGS84 +units=m +type=crs"
    west, south, east, north = check_crs(layer(box(-80, -80, 80, 80), local))
    assert west < -82 < east and south < 30 < north


def test_degrees_out_of_range_feet_as_metres_and_no_numbers_are_refused():
    assert "Expected longitude -180 to 180" in refusal(layer(box(278, 30, 278.1, 30.1), 4326))
    # A place in Texas in US feet, labelled with the same zone in metres.
    feet = layer(box(-97.1, 31, -97, 31.1), 4326).to_crs(2277).set_crs(32139, allow_override=True)
    assert "feet taken for metres" in refusal(feet)
    assert "no numbers" in refusal(layer(Polygon([(0, 0), (1, np.inf), (1, 1)]), 4326))


def test_a_crs_that_is_not_tied_to_the_earth_is_refused():
    drawing = 'LOCAL_CS["site plan",UNIT["metre",1],AXIS["x",EAST],AXIS["y",NORTH]]'
    message = refusal(layer(box(0, 0, 500, 500), drawing))
    assert "'site plan' is not tied to a place on the earth" in message


def test_an_absurdly_wide_farm_is_refused_with_where_it_lies():
    with pytest.raises(InputError) as caught:
        working_crs([layer(box(*FLORIDA), 4326), layer(box(0, 0, 0.01, 0.01), 4326)])
    message = str(caught.value)
    assert "longitude -82.000 to 0.010, latitude 0.000 to 30.010" in message
    assert "at most 1000 km across" in message and "0, 0" in message
    with pytest.raises(InputError, match="No layer has a shape"):
        working_crs([gpd.GeoDataFrame(geometry=[None], crs=4326)])


def test_an_old_datum_gets_a_note_and_a_new_one_none():
    assert shift_note(layer(box(*FLORIDA), 4326), "fields") == []
    assert shift_note(layer(box(*FLORIDA), 4269), "fields") == []
    (note,) = shift_note(layer(box(*FLORIDA), 4267), "fields")
    assert "(NAD27) can be shifted to today's only coarsely here" in note.text
    assert note.level == "caution"


def test_nothing_is_changed_in_place():
    frame = layer(box(*FLORIDA), 4326)
    to_working(frame, pyproj.CRS.from_epsg(32617))
    assert frame.crs.to_epsg() == 4326


def test_real_albers_without_a_code_lands_in_new_mexico():
    fields = open_vector(real("fields", "NationalCSB_2017-2024_rev23", "CSB1724.gdb"))
    west, south, east, north = check_crs(fields)
    # New Mexico: 109.05-103.0 W, 31.3-37.0 N.
    assert -109.05 < west < east < -103.0 and 31.3 < south < north < 37.0
    assert working_crs([fields]).to_epsg() == 32613
    # The survey's own column of inside points agrees, whatever CRS they are told in.
    inside = gpd.GeoSeries.from_xy(fields.INSIDE_X, fields.INSIDE_Y, crs=fields.crs)
    assert inside.within(fields.geometry.make_valid()).all()
