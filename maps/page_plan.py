"""What the map says of the plan: each field sown, held back or not asked, and the sentence."""

import math
from dataclasses import dataclass

from maps.assessment import Assessment
from maps.legend import ACRES_PER_HA, Legend
from maps.of_field import rows_of
from maps.plan_teller import PlanTeller
from maps.remembered import remembered
from maps.words import Words
from suitability.money import USES
from suitability.plan import Plan
from suitability.plan_ground import NOT_ASKED

# Names of fill patterns in the page; see maps/page_patterns.py.
PLAN_FILL = {"sown": "y3", "held": "y1", "not_asked": "unknown"}
_STATES = tuple(PLAN_FILL)
_LEAST_GAP_FRAC = 0.005  # of a week's need; under it nothing is missing


@dataclass(frozen=True)
class PlanOfField:
    """One field in the plan: its state, and what is told of it; no week if it is not sown.

    ``sowable_ha`` is the ground that the plan counts; NaN where there is none, or no telling.
    """

    state: str
    word: str
    week: str
    week_mmdd: str
    told: str
    sowable_ha: float

    @property
    def fill(self) -> str:
        """Name of the pattern that shows the state."""
        return PLAN_FILL[self.state]

    @property
    def order(self) -> int:
        """Place of the state in a sorted table."""
        return _STATES.index(self.state)


@remembered
def plan_of_fields(assessment: Assessment, words: Words, legend: Legend) -> dict[str, PlanOfField]:
    """The plan by field_id; empty where there is none.

    An owner is shown what becomes of their fields by the days of the calendar, since the plan
    itself, its reasons and its money, are not theirs.
    """
    weeks = _weeks(assessment)
    if weeks is None:
        return {}
    used = assessment.fields.set_index("field_id")["use"]
    codes: dict[str, str] = {}
    ground = assessment.verdicts.set_index("field_id")["sowable_ha"]
    if assessment.plan is not None:
        table = assessment.plan.fields.set_index("field_id")
        used, codes = table["use"], dict(table["why"])
        ground = table["sowable_ha"]
    best = assessment.verdicts.set_index("field_id")["sow_date"]
    asked = set() if assessment.calendar is None else set(assessment.calendar["field_id"])
    found = {}
    for field_id in assessment.verdicts["field_id"]:
        code, week = codes.get(field_id, ""), weeks.get(field_id, "")
        not_asked = code in NOT_ASKED if codes else field_id not in asked
        state = "sown" if week else "not_asked" if not_asked else "held"
        word = words(f"map.plan_{state}")
        why = [why_told(assessment.plan, field_id, words, legend)] if assessment.plan else []
        if codes and week and week != best.get(field_id):
            why.append(words("map.plan_week_fed" if code == "feed" else "map.plan_other_week"))
        use = used.get(field_id)
        key = "sow_for" if use in USES else "sow"
        said = (
            words(
                f"map.plan_{key}",
                day=legend.day(week),
                use=words(f"plan.use.{use}") if use in USES else "",
            )
            if week
            else f"{word[:1].lower()}{word[1:]}."
        )
        found[field_id] = PlanOfField(
            state,
            word,
            legend.day(week),
            week,
            " ".join([f"{words('map.plan_fact')}: {said}", *why]),
            float(ground.get(field_id, math.nan)),
        )
    return found


def why_told(plan: Plan, field_id: str, words: Words, legend: Legend) -> str:
    """Why a field is in or out; and where it does not pay by its use, the use that would."""
    row = rows_of(plan.fields, field_id).iloc[0]
    code = row["why"]
    if code == "you_put_in" and plan.ground.about["verdict_out"].get(field_id, False):
        code = "you_put_in_out"
    use = words(f"plan.use.{row['use']}") if row["use"] in USES else ""
    told = words(f"plan.why.{code}", use=use)
    if code != "does_not_pay":
        return told
    money = rows_of(plan.money, field_id)
    money = money[~money["own"].astype(bool)]
    if not len(money):
        return told
    best = money.loc[money["net_mean_usd_ha"].idxmax()]
    if best["net_mean_usd_ha"] < ACRES_PER_HA:  # under a dollar an acre
        return told
    other = words(
        "plan.why.other_use",
        use=words(f"plan.use.{best['use']}"),
        usd=legend.usd_area(best["net_mean_usd_ha"]),
        unit=legend.one_area,
    )
    return f"{told} {other}"


def plan_lead(assessment: Assessment, words: Words, legend: Legend) -> str:
    """The sentence that leads the plan; empty where there is none, and for an owner."""
    plan = assessment.plan
    if plan is None:
        return ""
    sown = plan.fields[plan.fields["sown"]]
    if not len(sown):
        return lead_none(PlanTeller(assessment, plan, words, legend))
    weeks = sorted(set(sown["sow_date"]))
    many = len(weeks) > 1
    bag = legend.weight(plan.order.bag_kg)
    told = words(
        "map.plan_lead",
        wish=plan_wish(plan, words),
        fields=_counted(words, "fields", len(sown)),
        area=legend.area(float(sown["sowable_ha"].sum())),
        weeks=words(
            "map.plan_in_weeks" if many else "map.plan_in_week",
            first=legend.day(weeks[0]),
            last=legend.day(weeks[-1]),
        ),
        bags=_counted(words, "bags", plan.order.n_bags, bag=bag),
    )
    return " ".join([told, *herd_told(plan, words, legend)])


def herd_told(plan: Plan, words: Words, legend: Legend) -> list[str]:
    """What leads the plan of a herd: that feed is missing, and that hay would be cheaper."""
    found = [feed_short(plan, words, legend), hay_cheaper(plan, words, legend)]
    return [sentence for sentence in found if sentence]


def feed_short(plan: Plan, words: Words, legend: Legend) -> str:
    """How much of the herd's need the plan leaves open, in how many weeks; empty where none."""
    weeks = plan.feed
    if weeks is None:
        return ""
    missing = weeks["gap_kg"] > _LEAST_GAP_FRAC * weeks["need_kg"]
    if not missing.any():
        return ""
    return words(
        "plan.feed_short",
        short=legend.weight(float(weeks.loc[missing, "gap_kg"].sum())),
        need=legend.weight(float(weeks["need_kg"].sum())),
        n=int(missing.sum()),
        of=len(weeks),
    )


def hay_cheaper(plan: Plan, words: Words, legend: Legend) -> str:
    """That buying hay would cost less than feeding the herd so; empty where it would not."""
    dearer = plan.reasons.need_usd
    if dearer is None or dearer < 1:
        return ""
    return words("plan.hay_cheaper", usd=legend.usd(dearer))


def plan_wish(plan: Plan, words: Words) -> str:
    """What the plan is for: ``For your budget``, or the prices where nothing was asked."""
    asked = plan.ground.settings
    wishes = {
        "budget": asked.order_budget_usd is not None,
        "acres": asked.most_ha is not None or asked.least_ha is not None,
        # A herd that says no week is left to hay where that is cheaper.
        "stock": bool(asked.herds) and (plan.feed is not None or bool(plan.eaten_kg.any())),
    }
    named = [words(f"plan.wish.{name}") for name, given in wishes.items() if given]
    if not named:
        return words("plan.wish.none")
    return words("plan.wish.for", wishes=words("reason.years_and").join(named))


def lead_none(told: PlanTeller) -> str:
    """That nothing is to be sown, and whether prices, limits or the fields are the reason."""
    plan = told.plan
    codes = set(plan.fields["why"])
    if codes <= {*NOT_ASKED, "you_left_out"}:
        return told.say("lead_none_asked")
    cheapest, budget = plan.reasons.cheapest_field, plan.ground.settings.order_budget_usd
    if cheapest is not None and budget is not None:
        return told.say(
            "lead_none_budget",
            field=told.name(plan.ground.field_ids[cheapest]),
            usd=told.legend.usd(math.ceil(plan.reasons.cheapest_usd)),
            budget=told.legend.usd(budget),
        )
    if codes & {"budget", "area", "budget_and_area"}:
        return told.say("lead_none_limits")
    return told.say("lead_none")


def plan_key(words: Words) -> list[tuple[str, str]]:
    """Pattern and word of each state."""
    return [(fill, words(f"map.plan_{state}")) for state, fill in PLAN_FILL.items()]


def _weeks(assessment: Assessment) -> dict[str, str] | None:
    """Week of each field that is sown, MM-DD; None where no plan was made."""
    if assessment.plan is not None:
        table = assessment.plan.fields
        sown = table[table["sown"].astype(bool)]
        return dict(zip(sown["field_id"], sown["sow_date"], strict=True))
    days = assessment.calendar
    if days is None:
        return None
    sow = days[days["sown"].astype(bool)].drop_duplicates("field_id")
    return dict(zip(sow["field_id"], sow["sow_date"], strict=True))


def _counted(words: Words, what: str, n: int, **values: str) -> str:
    return words(f"map.plan_{what}_{'one' if n == 1 else 'many'}", n=n, **values)
