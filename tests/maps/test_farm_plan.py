"""[seed], [prices] and [plan] of a farm file: into the plan's units, every fault with its line."""

import pytest

from maps.farm_file import read_farm_file
from maps.farm_plan import lot_of, prices_of, settings_of
from suitability.crop import load_crop
from suitability.errors import InputError
from suitability.plan_faults import check_wishes
from suitability.seed_order import bulk_rate_kg_ha

CROP = load_crop("sunn_hemp")


def _farm(tmp_path, text):
    (tmp_path / "fields.gpkg").write_text("x")
    path = tmp_path / "farm.toml"
    path.write_text(f'[fields]\nfile = "fields.gpkg"\n{text}', encoding="utf-8")
    return read_farm_file(path)


def test_units_are_turned_once(tmp_path):
    farm = _farm(
        tmp_path,
        """[seed]
germination_pct = 85
purity_pct = 98
seeds_per_lb = 15000
bag_lb = 50
price_usd_lb = 2.5
[prices]
asked_on = 2026-03-01
drill_usd_ac = 25
hay_discount_pct = 30
[plan]
aim = "8 in 10"
most_acres = 100
rent_usd_ac = { 7 = 30 }
feed_opens_ft = 1.5
[[plan.herd]]
stock = "Cows"
head = 40
weight_lb = 1200
days = 45
diet_share_pct = 50
starts = "07-10"
""",
    )
    lot, prices = lot_of(farm.seed, CROP), prices_of(farm.prices, farm.seed)
    assert lot.bag_kg == pytest.approx(22.680, abs=1e-3) and lot.assumed == ()
    assert lot.n_seeds_per_kg == pytest.approx(33069, abs=1)
    assert bulk_rate_kg_ha(30, lot.germination_frac, lot.purity_frac) == pytest.approx(
        36.01, abs=5e-3
    )
    assert prices.seed_usd_kg == pytest.approx(5.512, abs=1e-3)
    assert prices.drill_usd_ha == pytest.approx(61.78, abs=0.01)
    assert prices.hay_discount_frac == pytest.approx(0.30)
    assert set(prices.rows.loc[prices.rows["origin"] == "yours", "name"]) == {
        "seed", "drill", "hay_discount"
    }  # fmt: skip
    wishes = settings_of(farm.plan, farm.seed)
    assert wishes.aim == "8 in 10" and wishes.most_ha == pytest.approx(40.47, abs=0.01)
    assert wishes.rent_usd_ha == {"7": pytest.approx(74.13, abs=0.01)}
    assert wishes.opens_height_m == pytest.approx(0.4572)
    herd = wishes.herds[0]
    assert (herd.stock, herd.head, herd.days, herd.diet_frac) == ("cows", 40, 45, 0.5)
    assert herd.weight_kg == pytest.approx(544.3, abs=0.05) and herd.intake_pct is None


def test_no_plan_table_no_plan_and_an_empty_one_is_one(tmp_path):
    assert _farm(tmp_path, "").plan is None
    assert _farm(tmp_path, "[plan]\n").plan is not None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[plan]\naim = 'best'", r"line 4, \[plan\] aim: 'best' is not one of mean, 8 in 10"),
        ("[plan]\nbudget = 5", r"\[plan\] budget: unknown key; known here: .*order_budget_usd"),
        ("[plan]\nfields_in = 'F01'", r"fields_in: must be a list of field ids"),
        ("[plan]\nrent_usd_ac = 30", r"rent_usd_ac: must be written as \{ F01 = 30"),
        ("[[plan.herd]]\nstock = 'cows'", r"\[\[plan.herd\]\] number 1 head: is missing"),
        (
            "[seed]\ngermination_pct = 0.85",
            r"germination_pct: must be a number from 1 to 100 per cent",
        ),
        ("[seed]\nsown = 'thrown'", r"'thrown' is not one of drilled, broadcast"),
        ("[prices]\ndrill = 20", r"\[prices\] drill: unknown key; known here: .*drill_usd_ac"),
        ("[prices]\nseed_usd_lb = 2", r"\[prices\] seed_usd_lb: unknown key"),
    ],
)
def test_faults_name_line_key_and_what_was_expected(tmp_path, text, words):
    with pytest.raises(InputError, match=words):
        _farm(tmp_path, text)


def test_wishes_that_no_plan_can_keep_are_told_together_before_the_long_work(tmp_path):
    farm = _farm(
        tmp_path,
        """[plan]
fields_in = ["F01", "F99"]
fields_out = ["F01"]
rent_usd_ac = { F98 = 30 }
[[plan.herd]]
stock = "Horses"
head = 4
weight_lb = 1000
days = 30
diet_share_pct = 50
[[plan.herd]]
stock = "camels"
head = 4
weight_lb = 1000
days = 30
diet_share_pct = 50
""",
    )
    with pytest.raises(InputError) as caught:
        check_wishes(settings_of(farm.plan, farm.seed), ("F01", "F02"))
    told = str(caught.value).splitlines()
    assert told[0] == "The plan cannot be made:"
    assert told[1:-1] == [
        "  - fields_in: there is no field 'F99'",
        "  - rent: there is no field 'F98'",
        "  - field 'F01' is both in and out",
        "  - horses must not be fed this crop: they are the most sensitive to its alkaloids; ask a "
        "veterinarian",
        "  - stock 'camels' is not known; known are cows, cows with calves, heifers, steers, "
        "bulls, sheep, ewes with lambs, goats",
    ]
    check_wishes(settings_of(_farm(tmp_path, "[plan]\n").plan, farm.seed), ("F01",))
