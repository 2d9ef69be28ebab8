"""Wishes that no plan can keep, told in one message."""

from collections.abc import Mapping

import numpy as np

from suitability.conversions import HA_PER_ACRE
from suitability.errors import InputError, listed
from suitability.feed import herd_faults
from suitability.money import USES
from suitability.plan_settings import PlanSettings
from suitability.plan_values import Choices

_WHY = {
    "no_odds": "nothing could be simulated for it: it needs soil, weather and a gap",
    "no_ground": "it has no sowable ground",
    "no_use": f"it does not say what its stand is for; set use to one of {', '.join(USES)}",
}


def wish_faults(
    settings: PlanSettings, field_ids: tuple[str, ...], why_not: Mapping[str, str]
) -> list[str]:
    """Faults of what the grower wishes for single fields."""
    faults = []
    for key, wished in (("fields_in", settings.fields_in), ("fields_out", settings.fields_out)):
        lost = [i for i in wished if i not in field_ids]
        faults += [f"{key}: there is no field {i!r}" for i in lost]
    faults += [f"rent: there is no field {i!r}" for i in settings.rent_usd_ha if i not in field_ids]
    both = sorted(set(settings.fields_in) & set(settings.fields_out))
    faults += [f"field {i!r} is both in and out" for i in both]
    faults += [
        f"fields_in: field {i!r} cannot be planned: {_WHY[why_not[i]]}"
        for i in settings.fields_in
        if why_not.get(i) in _WHY
    ]
    return faults


def check_wishes(settings: PlanSettings, field_ids: tuple[str, ...]) -> None:
    """Hold what is wished to the fields and stock there are, before anything is simulated.

    Raises
    ------
    InputError : all faults in one message.
    """
    faults = wish_faults(settings, field_ids, {}) + herd_faults(settings.herds)
    if faults:
        raise told(faults)


def told(faults: list[str]) -> InputError:
    """One error out of all faults."""
    return InputError(
        listed("The plan cannot be made", faults, "Mend these lines under [plan] in farm.toml.")
    )


def impossible(settings: PlanSettings, choices: Choices) -> InputError:
    """Why no choice keeps the limits: each that cannot be kept by itself, else that they clash."""
    faults = []
    fields = np.unique(choices.field)
    area_ha = sum(float(choices.area_ha[choices.field == f].max()) for f in fields)
    if settings.least_ha is not None and settings.least_ha > area_ha:
        wanted, there = settings.least_ha / HA_PER_ACRE, area_ha / HA_PER_ACRE
        faults.append(
            f"least_acres: {wanted:.1f} acres are asked for, {there:.1f} acres ({area_ha:.1f} ha) "
            "can be sown"
        )
    if not faults:
        named = {
            "order_budget_usd": settings.order_budget_usd is not None,
            "most_acres": settings.most_ha is not None,
            "least_acres": settings.least_ha is not None,
            "fields_in": bool(settings.fields_in),
        }
        asked = [name for name, given in named.items() if given]
        faults.append(
            f"{', '.join(asked[:-1])} and {asked[-1]} cannot be kept together: fields are sown "
            "whole and seed comes in whole bags. Raise what limits, or ask for less"
            if len(asked) > 1
            else "no plan was found in the time of the search: ask for less"
        )
    return told(faults)
