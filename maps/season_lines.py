"""How this season stands, in sentences."""

import math
from datetime import timedelta

from maps.legend import Legend
from maps.season_now import FieldNow, SeasonNow
from maps.sentences import years_text
from maps.words import Words

_HELD = 8.0  # years in ten from which "warm and holding" needs no date beside it


def season_lines(season: SeasonNow, words: Words, legend: Legend) -> list[str]:
    """Everything that ``suitability now`` prints, line by line."""
    lines = [words("now.head", day=legend.full_day(season.last))]
    bare = [field for field in season.fields if field.sown is None]
    soils = {tuple(_soil(season, field, words, legend)) for field in bare}
    alike = len(bare) > 1 and len(soils) == 1
    if alike:  # one weather cell and no thermometer: told once for all
        lines += ["", words("now.all_bare"), *(f"  {line}" for line in soils.pop())]
    for field in season.fields:
        if field.sown is None:
            told = [] if alike else _soil(season, field, words, legend)
            told = [*told, *_time(field, words, legend)]
        else:
            told = _stand(season, field, words, legend)
        lines += ["", words("now.field", field=field.field_id), *(f"  {line}" for line in told)]
    return lines


def _soil(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> list[str]:
    soil, reading = field.soil, field.thermometer
    if soil is None or math.isnan(soil.mean_c):
        return [words("now.soil_unknown")]
    error_c = season.crop.number("odds.soil_temp_error_c")
    source = words("now.estimate", error=legend.warmth(error_c))
    if reading is not None and not math.isnan(field.estimate_c):
        source = words(
            "now.thermometer",
            reading=legend.temperature(reading.value),
            day=legend.day(f"{reading.day:%m-%d}"),
            estimate=legend.temperature(field.estimate_c),
        )
    lines = [words("now.soil", temp=legend.temperature(soil.mean_c), source=source)]
    if soil.held_years_in_ten >= 10 - 1e-9:
        return [*lines, words("now.held")]
    if soil.held_years_in_ten > 0:
        lines.append(words("now.held_some", n=years_text(soil.held_years_in_ten)))
    if not soil.held_years_in_ten >= _HELD:  # of a share that is not known, too
        later = isinstance(soil.held_p80, str) and soil.held_p80 > f"{season.last:%m-%d}"
        key = "now.not_held" if later else "now.not_held_ever"
        lines.append(words(key, day=legend.day(soil.held_p80)))
    return lines


def _time(field: FieldNow, words: Words, legend: Legend) -> list[str]:
    if field.next_week is None:
        return [words("now.time_over")]
    day, works = legend.day(field.next_week), years_text(field.works_years_in_ten)
    if field.last_week is None:
        return [words("now.time_poor", day=day, n=works)]
    lines = [words("now.time", day=day, n=works, last=legend.day(field.last_week))]
    if field.wait_week is not None:
        wait = legend.day(field.wait_week), years_text(field.wait_years_in_ten)
        lines.append(words("now.wait", day=wait[0], n=wait[1]))
    return lines


def _stand(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> list[str]:
    if field.sown is None:
        return []
    lines = [words("now.sown", day=legend.day(f"{field.sown:%m-%d}"), n=field.stand_d)]
    if field.emerged is not None:
        lines.append(words("now.emerged", day=legend.day(f"{field.emerged:%m-%d}")))
    if field.plants_m2 is not None:
        lines.append(words(f"now.plants_{legend.units}", n=legend.plants(field.plants_m2.value)))
        if field.plants_m2.value == 0:
            return [*lines, words("now.no_stand"), *_time(field, words, legend)]
    if field.emerged is None and field.plants_m2 is None and field.stand is not None:
        lines.append(words("now.up", n=years_text(field.stand.up_years_in_ten)))
    if field.height_m is not None:
        seen = legend.height(field.height_m.value)
        lines.append(words("now.height", seen=seen, day=legend.day(f"{field.height_m.day:%m-%d}")))
    if field.stand is not None and not math.isnan(field.stand.height_m[1]):
        low, usual, high = (legend.height(h) for h in field.stand.height_m)
        lines.append(words("now.height_simulated", usual=usual, low=low, high=high))
    return [*lines, _opening(season, field, words, legend)]


def _opening(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> str:
    """What was measured opens grazing; else the days since sowing; else the simulation."""
    if field.height_m is not None and field.height_m.value >= season.rule.opens_height_m:
        return words("now.open_by_height", height=legend.height(season.rule.opens_height_m))
    if field.stand_d >= season.rule.opens_d:
        return words("now.open_by_days", n=f"{season.rule.opens_d:.0f}")
    days = () if field.stand is None else field.stand.opens_d
    if field.sown is None or not days or math.isnan(days[1]):
        return words("now.opens_unknown")
    if field.stand_d >= days[2]:
        return words("now.open_simulated", height=legend.height(season.rule.opens_height_m))
    early, usual, late = (
        legend.day(f"{field.sown + timedelta(days=round(d)):%m-%d}") for d in days
    )
    return words("now.opens", day=usual, early=early, late=late)
