"""How this season stands, in sentences."""

import math
from datetime import timedelta

from maps.legend import Legend
from maps.season_now import FieldNow, SeasonNow
from maps.sentences import years_text
from maps.shown_names import shown
from maps.words import Words
from suitability.warm_soil import warm_rule

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
            told = [*told, *_time(season, field, words, legend)]
        else:
            told = _stand(season, field, words, legend)
        called = shown(field.field_id)
        if field.name and field.name != field.field_id:
            called += f" ({shown(field.name)})"
        lines += ["", words("now.field", field=called), *(f"  {line}" for line in told)]
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


def _time(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> list[str]:
    if field.next_week is None:
        return [words("now.time_over")]
    day, works = legend.day(field.next_week), years_text(field.works_years_in_ten)
    if field.last_week is None:
        return [words("now.time_poor", day=day, n=works)]
    key = "now.time_colder" if _reads_colder(field) else "now.time"
    warm = legend.temperature(warm_rule(season.crop).threshold_c)
    lines = [words(key, day=day, n=works, last=legend.day(field.last_week), warm=warm)]
    if field.wait_week is not None:
        wait = legend.day(field.wait_week), years_text(field.wait_years_in_ten)
        lines.append(words("now.wait", day=wait[0], n=wait[1]))
    return lines


def _reads_colder(field: FieldNow) -> bool:
    """Whether a thermometer says that the soil is not warm, where the odds take it to be warmer."""
    if field.thermometer is None or field.soil is None or math.isnan(field.estimate_c):
        return False
    colder = field.thermometer.value < field.estimate_c
    return colder and not field.soil.held_years_in_ten >= _HELD


def _stand(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> list[str]:
    if field.sown is None:
        return []
    lines = [words("now.sown", day=legend.day(f"{field.sown:%m-%d}"), n=field.stand_d)]
    if field.emerged is not None:
        lines.append(words("now.emerged", day=legend.day(f"{field.emerged:%m-%d}")))
    if field.plants_m2 is not None:
        lines.append(words(f"now.plants_{legend.units}", n=legend.plants(field.plants_m2.value)))
        if field.plants_m2.value == 0:
            return [*lines, words("now.no_stand"), *_time(season, field, words, legend)]
        least_frac = season.crop.number("establishment.least_emerged_frac")
        if field.plants_m2.value < least_frac * field.seeds_m2:
            seeds, pct = legend.plants(field.seeds_m2), f"{100 * least_frac:.0f}"
            lines.append(words(f"now.thin_{legend.units}", n=seeds, pct=pct))
            lines += _time(season, field, words, legend)
    unseen = field.emerged is None and field.plants_m2 is None and field.height_m is None
    if unseen and field.stand is not None:
        lines.append(words("now.up", n=years_text(field.stand.up_years_in_ten)))
    if field.height_m is not None:
        seen = legend.height(field.height_m.value)
        lines.append(words("now.height", seen=seen, day=legend.day(f"{field.height_m.day:%m-%d}")))
    if field.stand is not None and not math.isnan(field.stand.height_m[1]):
        simulated = _spread([legend.height(h) for h in field.stand.height_m], words)
        if math.isnan(field.stand.carried_height_m[1]):
            lines.append(words("now.height_simulated", told=simulated))
        else:
            today = _spread([legend.height(h) for h in field.stand.carried_height_m], words)
            lines.append(words("now.height_carried", told=today, simulated=simulated))
    return [*lines, *_feed(season, field, words, legend)]


def _feed(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> list[str]:
    """Whether its quality is gone; else whether grazing is open, and when it closes."""
    rule, stand = season.rule, field.stand
    if field.stand_d >= rule.closes_d:
        return [words("now.closed_by_days", n=f"{rule.closes_d:.0f}")]
    closes = () if stand is None else stand.closes_d
    if not closes or math.isnan(closes[1]):
        latest = (rule.closes_d,) * 3
        day = _days(field, latest, words, legend)
        return [_opening(season, field, words, legend), words("now.closes_latest", told=day)]
    told = _days(field, closes, words, legend)
    if field.stand_d >= closes[1]:
        return [words("now.closed_simulated", told=told)]
    return [_opening(season, field, words, legend), words("now.closes", told=told)]


def _opening(season: SeasonNow, field: FieldNow, words: Words, legend: Legend) -> str:
    """What was measured opens grazing; else the days since sowing; else the simulation."""
    limit_m, seen, stand = season.rule.opens_height_m, field.height_m, field.stand
    height = legend.height(limit_m)
    if seen is not None and seen.value >= limit_m:
        return words("now.open_by_height", height=height)
    today_m = math.nan if stand is None else stand.carried_height_m[1]
    if seen is not None and math.isnan(today_m):
        today_m = seen.value
    if field.stand_d >= season.rule.opens_d:
        key = "now.open_by_days_short" if today_m < limit_m else "now.open_by_days"
        return words(key, n=f"{season.rule.opens_d:.0f}", height=height)
    days = () if stand is None else stand.opens_d
    if not days or math.isnan(days[1]):
        return words("now.opens_unknown")
    if field.stand_d >= days[2]:
        return words("now.open_simulated" if seen is None else "now.open_carried", height=height)
    return words("now.opens", told=_days(field, days, words, legend))


def _days(field: FieldNow, days: tuple[float, ...], words: Words, legend: Legend) -> str:
    """Days after the sowing, early, usual and late, as days of the year."""
    if field.sown is None:
        return ""
    when = [field.sown + timedelta(days=round(d)) for d in days]
    return _spread([legend.day(f"{day:%m-%d}") for day in when], words)


def _spread(told: list[str], words: Words) -> str:
    """Early, usual and late in one; once where they are told alike."""
    early, usual, late = told
    return usual if early == late else words("now.spread", usual=usual, early=early, late=late)
