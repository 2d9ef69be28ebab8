"""The soils of one field as the report tells them."""

from typing import NamedTuple

from maps.assessment import Assessment
from maps.missing import is_missing
from maps.of_field import map_units
from maps.remembered import remembered
from maps.report_limits import SLIVER_PCT, Found
from maps.report_table import Table
from maps.sentences import Teller
from maps.shown_names import shown
from maps.words import Words
from suitability.columns import CLASSES, UNSURVEYED


class _Soil(NamedTuple):
    """Ground of one soil within a field, and what the survey says of it; missing where unknown."""

    mukey: str
    cokey: str
    area_ha: float
    compname: str
    comppct_pct: float
    kind: str
    drainage_class: str


def map_units_told(assessment: Assessment, teller: Teller, field_id: str) -> list[str]:
    """The map units of a field, a line each."""
    return [
        teller.words(
            "report.map_unit",
            symbol=shown(part.musym) or shown(part.mukey),
            name=shown(part.muname, 160) or teller.words("word.not_known"),
            area=teller.legend.area(part.area_ha),
        )
        for part in map_units(assessment).get(field_id, [])
    ]


def soils_table(
    assessment: Assessment, teller: Teller, field_id: str, found: list[Found]
) -> Table | None:
    """The soils of a field and what holds each back; None where none of it is surveyed."""
    ground = _ground_by_soil(assessment).get(field_id, [])
    if all(part.mukey == UNSURVEYED for part in ground):
        return None
    words, legend = teller.words, teller.legend
    unknown = words("word.not_known")
    symbols = _symbols(assessment)
    worst = _worst(found, words)
    sliver_ha = SLIVER_PCT / 100 * sum(part.area_ha for part in ground)
    rows = [
        (
            words("report.unsurveyed")
            if part.mukey == UNSURVEYED
            else shown(symbols.get(part.mukey)) or shown(part.mukey),
            shown(part.compname) or unknown,
            legend.pct(part.comppct_pct) or unknown,
            legend.area_number(part.area_ha),
            _drainage(part, words),
            worst.get((part.mukey, part.cokey), unknown),
        )
        for part in ground
        if part.mukey != UNSURVEYED or part.area_ha >= sliver_ha
    ]
    heads = [words(f"report.head.{h}") for h in ("map_unit", "soil", "share")]
    heads += [legend.area_unit, words("report.head.drainage"), words("report.head.held_back")]
    return Table(tuple(heads), tuple(rows), (1.4, 3, 1.6, 1.3, 2.6, 4), numbers=(2, 3))


@remembered
def _ground_by_soil(assessment: Assessment) -> dict[str, list[_Soil]]:
    """Ground of each field by soil, the largest first."""
    soil = ["mukey", "cokey"]
    ground = assessment.parts.groupby(["field_id", *soil], as_index=False).area_ha.sum()
    ground = ground.merge(assessment.components, on=soil, how="left")
    ground = ground.sort_values("area_ha", ascending=False, kind="stable")
    found: dict[str, list[_Soil]] = {}
    columns = (ground[name].tolist() for name in ("field_id", *_Soil._fields))
    for field_id, *of_soil in zip(*columns, strict=True):
        found.setdefault(field_id, []).append(_Soil(*of_soil))
    return found


@remembered
def _symbols(assessment: Assessment) -> dict[str, str]:
    """The survey's symbol of each map unit."""
    return dict(zip(assessment.soil_parts.mukey, assessment.soil_parts.musym, strict=True))


def _worst(found: list[Found], words: Words) -> dict[tuple[str, str], str]:
    by_soil: dict[tuple[str, str], list[Found]] = {}
    for one in found:
        # The season and what the grower measured are the field's, not this soil's.
        if one.suitability_class in CLASSES and one.origin == "survey":
            by_soil.setdefault((one.mukey, one.cokey), []).append(one)
    worst = {}
    for soil, some in by_soil.items():
        top = max(CLASSES.index(one.suitability_class) for one in some)
        named = {
            words(f"factor_name.{o.factor}") for o in some if o.suitability_class == CLASSES[top]
        }
        worst[soil] = (
            words("report.nothing") if top == 0 else f"{CLASSES[top]}: {'; '.join(sorted(named))}"
        )
    return worst


def _drainage(part: _Soil, words: Words) -> str:
    if part.kind == "water":
        return words("report.open_water")
    if is_missing(part.drainage_class):
        return words("word.not_known")
    return words.term(part.drainage_class)
