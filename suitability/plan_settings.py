"""What the grower asks of the plan."""

from dataclasses import dataclass, field

from suitability.feed import Herd
from suitability.plan_values import Aim


@dataclass(frozen=True)
class PlanSettings:
    """Wishes and limits, each None or empty where not entered.

    ``order_budget_usd`` is for seed in whole bags and inoculant. ``use`` is for fields that do not
    say what their stand is for. ``rent_usd_ha`` by field_id is paid only if the field is sown.
    ``opens_d``, ``opens_height_m`` and ``closes_d`` stand in for the crop file's.
    """

    aim: Aim = "mean"
    order_budget_usd: float | None = None
    most_ha: float | None = None
    least_ha: float | None = None
    fields_in: tuple[str, ...] = ()
    fields_out: tuple[str, ...] = ()
    use: str | None = None
    rent_usd_ha: dict[str, float] = field(default_factory=dict)
    herds: tuple[Herd, ...] = ()
    opens_d: float | None = None
    opens_height_m: float | None = None
    closes_d: float | None = None
    seed_type: str = "unknown"
