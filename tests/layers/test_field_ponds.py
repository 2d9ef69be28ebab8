"""The ponds of a group of fields: on which soil each stands, and whose water is not all known."""

import numpy as np
import pytest
from wet_land import ALL, fields, land, pocket, sloping, soil, units, with_hollow

from layers.field_ponds import field_ponds, pond_notes
from layers.ground_cells import lean


def of(ground):
    ponds = field_ponds(ground.cells[0], ground)
    assert ponds is not None
    return ponds


def test_ground_without_a_hollow_has_no_pond():
    ground = land(sloping(), [soil("upland", 100)])
    assert field_ponds(ground.cells[0], ground) is None


def test_a_box_of_a_metre_is_one_pond_of_its_own_volume():
    ground = land(with_hollow(1.0), [soil("upland", 100)])
    ponds = of(ground)
    assert ponds.found.n_ponds == 1
    # 60 m x 60 m, 1.00 m deep to the west and 19 x 4 mm less to the east: 0.962 m on the mean.
    assert ponds.found.curves.volume_m3[0, -1] == pytest.approx(3600 * 0.962, rel=0.001)
    assert ponds.height_m[0, -1] - ponds.height_m[0, 0] == pytest.approx(1.0, abs=0.001)
    assert ponds.in_field.tolist() == [[0, 0]]
    # Water runs west: all cells of its 20 rows to the east drain into it, 110 of 200 columns.
    assert ponds.found.catchment_ha[0] == pytest.approx(20 * 110 * 9 / 10_000, rel=0.1)


def test_a_pond_where_a_wet_soil_was_placed_stands_on_that_soil():
    ponds = of(land(with_hollow(), [soil("upland", 90), pocket(10)]))
    assert ponds.floor == ("pocket",) and ponds.own_soil.tolist() == [True]
    assert ponds.catchment == ("upland",)


def test_else_it_stands_on_the_soil_that_most_of_the_unit_is():
    ponds = of(land(with_hollow(), [soil("upland", 70), soil("other", 30)]))
    assert ponds.floor == ("upland",) and ponds.own_soil.tolist() == [False]


def test_a_few_placed_cells_do_not_make_the_floor():
    # 1 % of 40000 cells: 400 cells would fill the hollow; a tenth of that does not.
    ponds = of(land(with_hollow(), [soil("upland", 99.9), pocket(0.1)]))
    assert ponds.floor == ("upland",) and ponds.own_soil.tolist() == [False]


def test_ground_around_of_a_unit_that_no_field_has_takes_a_soil_that_is_known():
    # The hollow lies at the field's east side; all that drains to it is of a unit beside.
    farm = fields(A=(30, 30, 330, 570))
    soil_map = units(flat=(0, 0, 330, 600), east=(330, 0, 600, 600))
    ground = land(with_hollow(), [soil("upland", 100), soil("far", 100, "east")], farm, soil_map)
    assert set(ground.parts["cokey"]) == {"upland"}
    assert of(ground).catchment == ("upland",)


def test_water_is_no_floor():
    water = {"cokey": "lake", "mukey": "lake", "compname": "Lake", "kind": "water"}
    water["comppct_pct"] = 100
    soil_map = units(flat=ALL, lake=(270, 270, 330, 330))
    ponds = of(land(with_hollow(), [soil("upland", 100), water], soil_map=soil_map))
    assert ponds.floor == ("",) and len(ponds.in_field) == 0


def test_a_hollow_whose_water_may_come_from_beyond_the_heights_is_told():
    # Every hollow on an even slope is fed right up to the edge of these heights.
    ground = land(with_hollow(), [soil("upland", 100)])
    ponds = of(ground)
    assert ponds.found.cut_by_edge.tolist() == [True]
    odds = {"06-04": np.zeros(ponds.height_m.shape)}
    (note,) = pond_notes([ponds], [odds], ground)
    assert note.level == "caution" and note.field_ids == ("A",)
    assert note.text.startswith("1 hollow may take in water from beyond the edge of the heights")


def test_a_hollow_with_a_rim_around_its_catchment_is_not():
    z = with_hollow()
    z[60:140, 150] += 5.0  # a bank to the east,
    z[60, 60:151] += 5.0
    z[139, 60:151] += 5.0  # and to both sides
    ground = land(z, [soil("upland", 100)])
    ponds = of(ground)
    floor = int(np.argmax(ponds.found.curves.volume_m3[:, -1]))
    assert not ponds.found.cut_by_edge[floor]


def test_a_hollow_that_could_not_be_simulated_is_told():
    ground = land(with_hollow(), [soil("upland", 100)])
    ponds = of(ground)
    for odds in ({"06-04": np.full(ponds.height_m.shape, np.nan)}, {}):
        (note,) = pond_notes([ponds], [odds], ground)
        assert note.text.startswith("How often water stands in 1 hollow is not known")
        assert note.field_ids == ("A",)


def test_a_pond_beside_the_fields_is_not_told():
    ground = land(with_hollow(), [soil("upland", 100)], fields(A=(30, 30, 200, 200)))
    ponds = of(ground)
    assert len(ponds.in_field) == 0 and pond_notes([ponds], [{}], ground) == ()


def test_ponds_need_nothing_of_what_is_let_go_after_placing():
    ground = land(with_hollow(), [soil("upland", 90), pocket(10)])
    whole, few = of(ground), field_ponds(lean(ground.cells[0]), ground)
    assert few is not None and few.floor == whole.floor
    np.testing.assert_array_equal(few.found.drains_to, whole.found.drains_to)
    np.testing.assert_array_equal(few.height_m, whole.height_m)
    held = [
        sum(value.nbytes for value in vars(cells.shape).values() if isinstance(value, np.ndarray))
        for cells in (ground.cells[0], lean(ground.cells[0]))
    ]
    assert held[1] < held[0] / 3
