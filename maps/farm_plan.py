"""What the grower states of seed, prices and plan in farm.toml, and what becomes of it."""

import datetime
from typing import TYPE_CHECKING, Annotated, Any, TypeAlias, cast

from pydantic import BeforeValidator, create_model
from pydantic import Field as Declared

from maps import farm_values as values
from maps.farm_table import Table
from maps.legend import ACRES_PER_HA, KG_HA_PER_LB_AC
from suitability.conversions import KG_PER_LB, M_PER_FT
from suitability.crop import Crop
from suitability.feed import Herd
from suitability.flowering import SEED_TYPES
from suitability.money import USES
from suitability.plan_settings import PlanSettings
from suitability.plan_values import AIMS, Aim
from suitability.prices import Prices, prices
from suitability.published import table
from suitability.seed_order import METHODS, Method, SeedLot, seed_lot

_SUFFIX = {"USD/lb": "usd_lb", "USD/ac": "usd_ac", "USD/roll": "usd", "lb": "lb", "pct": "pct"}
# Price of the table by its key under [prices]; that of seed stands under [seed].
PRICE_KEYS: dict[str, str] = {
    f"{row.name}_{_SUFFIX[row.unit]}": row.name
    for row in table("prices")[["name", "unit"]].itertuples(index=False)
    if row.name != "seed"
}


def _number(low: float, high: float, unit: str) -> BeforeValidator:
    return BeforeValidator(values.number(low, high, unit))


def _names(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        got = values.shown(value)
        raise ValueError(f'must be a list of field ids, such as ["F01", "F02"], got {got}')
    return tuple(values.text(v) if isinstance(v, str) else str(v) for v in value)


def _count(low: int, high: int, unit: str) -> BeforeValidator:
    number = values.number(low, high, unit)

    def read(value: Any) -> int:
        found = number(value)
        if found != int(found):
            raise ValueError(f"must be a whole number of {unit}, got {found:g}")
        return int(found)

    return BeforeValidator(read)


def _rents(value: Any) -> dict[str, float]:
    if not isinstance(value, dict):
        got = values.shown(value)
        raise ValueError(f"must be written as {{ F01 = 30, F02 = 25 }}, USD an acre, got {got}")
    read = values.number(0, 2000, "USD an acre")
    return {str(name): read(rent) for name, rent in value.items()}


class SeedTable(Table):
    """[seed]: its type, which decides when it flowers, and what its tag says."""

    type: Annotated[str, BeforeValidator(values.choice(*SEED_TYPES))] = "unknown"
    germination_pct: Annotated[float, _number(1, 100, "per cent")] | None = None
    purity_pct: Annotated[float, _number(1, 100, "per cent")] | None = None
    seeds_per_lb: Annotated[float, _number(5000, 30000, "seeds a pound")] | None = None
    bag_lb: Annotated[float, _number(1, 2500, "lb")] | None = None
    price_usd_lb: Annotated[float, _number(0.05, 50, "USD a pound")] | None = None
    rate_lb_ac: Annotated[float, _number(5, 100, "lb of pure live seed an acre")] | None = None
    sown: Annotated[str, BeforeValidator(values.choice(*METHODS))] = "drilled"


if TYPE_CHECKING:  # the real class has one key for each price of the table
    PricesTable: TypeAlias = Table
else:
    PricesTable = create_model(
        "PricesTable",
        __base__=Table,
        asked_on=(Annotated[datetime.date, BeforeValidator(values.day)] | None, None),
        **{
            key: (Annotated[float, _number(0, 5000, "")] | None, None)
            for key in PRICE_KEYS
            if not key.endswith("_pct")
        },
        **{
            key: (Annotated[float, _number(0, 100, "per cent")] | None, None)
            for key in PRICE_KEYS
            if key.endswith("_pct")
        },
    )


class HerdTable(Table):
    """[[plan.herd]]: stock to be fed; all but the first day and the intake must be entered."""

    stock: Annotated[str, BeforeValidator(values.text)]
    head: Annotated[int, _count(1, 100000, "head")]
    weight_lb: Annotated[float, _number(20, 3000, "lb a head")]
    days: Annotated[int, _count(1, 366, "days")]
    diet_share_pct: Annotated[float, _number(1, 100, "per cent of the diet")]
    starts: Annotated[str, BeforeValidator(values.month_day)] | None = None
    intake_pct: Annotated[float, _number(0.5, 8, "per cent of body weight a day")] | None = None


class PlanTable(Table):
    """[plan]: what the plan is to reach and must keep."""

    aim: Annotated[str, BeforeValidator(values.choice(*AIMS))] = "mean"
    order_budget_usd: Annotated[float, _number(0, 1e8, "USD")] | None = None
    most_acres: Annotated[float, _number(0, 1e7, "acres")] | None = None
    least_acres: Annotated[float, _number(0, 1e7, "acres")] | None = None
    fields_in: Annotated[tuple[str, ...], BeforeValidator(_names)] = ()
    fields_out: Annotated[tuple[str, ...], BeforeValidator(_names)] = ()
    use: Annotated[str, BeforeValidator(values.choice(*USES))] | None = None
    rent_usd_ac: Annotated[dict[str, float], BeforeValidator(_rents)] = Declared(
        default_factory=dict
    )
    feed_opens_d: Annotated[float, _number(20, 120, "days after sowing")] | None = None
    feed_opens_ft: Annotated[float, _number(0.5, 8, "ft")] | None = None
    feed_closes_d: Annotated[float, _number(25, 150, "days after sowing")] | None = None
    herd: tuple[HerdTable, ...] = ()


def settings_of(plan: PlanTable, seed: SeedTable) -> PlanSettings:
    """Turn the tables into the plan's settings, in its units."""

    def hectares(area_ac: float | None) -> float | None:
        return None if area_ac is None else area_ac / ACRES_PER_HA

    herds = tuple(
        Herd(
            stock=herd.stock.lower(),
            head=herd.head,
            weight_kg=herd.weight_lb * KG_PER_LB,
            days=herd.days,
            diet_frac=herd.diet_share_pct / 100,
            from_mmdd=herd.starts,
            intake_pct=herd.intake_pct,
        )
        for herd in plan.herd
    )
    return PlanSettings(
        aim=cast(Aim, plan.aim),
        order_budget_usd=plan.order_budget_usd,
        most_ha=hectares(plan.most_acres),
        least_ha=hectares(plan.least_acres),
        fields_in=plan.fields_in,
        fields_out=plan.fields_out,
        use=plan.use,
        rent_usd_ha={i: rent * ACRES_PER_HA for i, rent in plan.rent_usd_ac.items()},
        herds=herds,
        opens_d=plan.feed_opens_d,
        opens_height_m=None if plan.feed_opens_ft is None else plan.feed_opens_ft * M_PER_FT,
        closes_d=plan.feed_closes_d,
        seed_type=seed.type,
    )


def prices_of(own: PricesTable, seed: SeedTable) -> Prices:
    """Prices of the table, overridden by what the grower states."""
    told = own.model_dump(exclude_none=True)
    asked = told.pop("asked_on", None)
    given = {PRICE_KEYS[key]: float(value) for key, value in told.items()}
    if seed.price_usd_lb is not None:
        given["seed"] = seed.price_usd_lb
    return prices(given, own_date="" if asked is None else asked.isoformat())


def lot_of(seed: SeedTable, crop: Crop) -> SeedLot:
    """The seed lot by its tag."""
    return seed_lot(
        crop,
        cast(Method, seed.sown),
        germination_pct=seed.germination_pct,
        purity_pct=seed.purity_pct,
        n_seeds_per_kg=None if seed.seeds_per_lb is None else seed.seeds_per_lb / KG_PER_LB,
        bag_kg=None if seed.bag_lb is None else seed.bag_lb * KG_PER_LB,
        pls_kg_ha=None if seed.rate_lb_ac is None else seed.rate_lb_ac * KG_HA_PER_LB_AC,
    )
