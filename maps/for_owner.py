"""One owner's share of a result: nothing of other people's land, of the money, or of the log."""

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, TypeVar

import pandas as pd

from layers.ground_picture import picture_for
from maps.assessment import Assessment, SourceFile
from maps.farm_values import nearest
from maps.words import load_words
from suitability.errors import InputError
from suitability.notes import Note
from suitability.wet_weeks import WetWeeks
from suitability.years import Years

_Table = TypeVar("_Table", bound=pd.DataFrame)
# The grower's own writing and reckoning: nothing of it is told to others.
_PRIVATE = ("farm", "marks", "field log", "log", "plan")


def of_owner(assessment: Assessment, owner: str) -> Assessment:
    """The same result with the fields of one owner only; every table is cut to them.

    Parameters
    ----------
    owner : as in the owner column; case and blanks around do not count.

    Returns
    -------
    Assessment without plan. ``calendar`` keeps the days of the owner's own fields, and ``use`` what
    the plan took for them, so that the owner can be told whether and how long their ground is sown.
    Pictures of the ground show no more than is around these fields.
    Notes that tell of more than these fields are left out, and one note says so; files are not
    named.

    Raises
    ------
    InputError : no field has this owner; tells the nearest.
    """
    fields = assessment.fields
    own = fields[owned_by(fields["owner"], owner)].reset_index(drop=True)
    mine = {str(i) for i in own["field_id"]}
    parts = _of(assessment.parts, mine)
    in_parts = assessment.components["cokey"].isin(parts["cokey"])
    components = assessment.components[
        in_parts | assessment.components["mukey"].isin(parts["mukey"])
    ].reset_index(drop=True)
    weather_ids = set(parts["weather_id"].dropna())
    days = assessment.calendar
    ids = _new_ids(assessment.wet_ground, mine)
    return replace(
        assessment,
        farm=replace(assessment.farm, for_owner=str(own["owner"].iloc[0]).strip()),
        fields=_with_use(own, assessment),
        soil_parts=_of(assessment.soil_parts, mine),
        wet_ground=_renumbered(_of(assessment.wet_ground, mine), ids),
        level_water=None if assessment.level_water is None else _of(assessment.level_water, mine),
        parts=parts,
        components=components,
        horizons=_with(assessment.horizons, "cokey", components["cokey"]),
        months=_with(assessment.months, "cokey", components["cokey"]),
        stations=_with(assessment.stations, "weather_id", weather_ids),
        weather=_with(assessment.weather, "weather_id", weather_ids),
        frost=_of(assessment.frost, mine),
        findings=_of(assessment.findings, mine),
        verdicts=_of(assessment.verdicts, mine),
        years=None if assessment.years is None else _years(assessment.years, mine, ids),
        ground=picture_for(assessment.ground, own),
        aerial=assessment.aerial and replace(assessment.aerial, source="", notes=()),
        plan=None,
        seen=None,
        calendar=None if days is None else _of(days, mine),
        water_seen=None if assessment.water_seen is None else _of(assessment.water_seen, mine),
        notes=_notes(assessment, mine),
        provenance=replace(
            assessment.provenance,
            files=tuple(
                SourceFile(f.layer, "", 0, f.modified, _plain(f.note, _strangers(assessment, mine)))
                for f in assessment.provenance.files
                if f.layer not in _PRIVATE
            ),
        ),
    )


def owned_by(owners: "pd.Series[Any]", owner: str) -> "pd.Series[bool]":
    """Whether each field is this owner's; InputError where none is."""
    asked = owner.strip().casefold()
    found = owners.map(lambda o: isinstance(o, str) and o.strip().casefold() == asked)
    if not asked or not found.any():
        raise _unknown(owners, owner)
    return found.astype(bool)


def _unknown(owners: "pd.Series[Any]", asked: str) -> InputError:
    known = sorted({o.strip() for o in owners if isinstance(o, str) and o.strip()})
    if not known:
        return InputError(
            f"--for {asked!r}: no field has an owner. Name the column of the boundary file that "
            'holds it, under [fields]: owner = "OWNER".'
        )
    return InputError(
        f"--for {asked!r}: no field has this owner; {_hint(asked, known)} "
        "Give the owner as the boundary file writes it."
    )


def _hint(asked: str, known: list[str]) -> str:
    hint = nearest(asked, known)
    return hint if hint.endswith("?") else f"{hint}."


def _of(table: _Table, mine: set[str]) -> _Table:
    return _with(table, "field_id", mine)


def _with(table: _Table, column: str, keys: Iterable[Any]) -> _Table:
    cut: _Table = table[table[column].isin(set(keys))].reset_index(drop=True)
    return cut


def _with_use(own: _Table, assessment: Assessment) -> _Table:
    """Fields with the use that the plan took for those that do not say one themselves."""
    if assessment.plan is None:
        return own
    used = assessment.plan.fields.set_index("field_id")["use"]
    taken = own["field_id"].map(used)
    given = own["use"].astype(object)
    used_for: _Table = own.assign(use=given.where(given.notna(), taken.where(taken.notna(), None)))
    return used_for


def _new_ids(wet: pd.DataFrame, mine: set[str]) -> dict[str, str]:
    """Numbered anew, so that no number tells how much wet ground others have."""
    own = wet.loc[wet["field_id"].isin(mine), "wet_id"]
    return {old: f"wet-{n}" for n, old in enumerate(own, start=1)}


def _renumbered(wet: _Table, ids: dict[str, str]) -> _Table:
    numbered: _Table = wet.assign(wet_id=wet["wet_id"].map(ids))
    return numbered


def _years(years: Years, mine: set[str], ids: dict[str, str]) -> Years:
    def of_index(table: Any) -> Any:
        return table[table.index.isin(mine)]

    return replace(
        years,
        weeks=_of(years.weeks, mine),
        best=of_index(years.best),
        low=of_index(years.low),
        high=of_index(years.high),
        ground=replace(years.ground, parts=_of(years.ground.parts, mine)),
        parts=_of(years.parts, mine),
        notes=(),
        wet=None if years.wet is None else _wet_weeks(years.wet, mine, ids),
    )


def _wet_weeks(wet: WetWeeks, mine: set[str], ids: dict[str, str]) -> WetWeeks:
    spots = _renumbered(_of(wet.spots, mine), ids)
    return replace(wet, spots=spots, fields=_of(wet.fields, mine))


def _notes(assessment: Assessment, mine: set[str]) -> tuple[Note, ...]:
    """Notes on the owner's fields and on all, without those that name what is not theirs."""
    strangers = _strangers(assessment, mine)
    kept, left_out = [], False
    for note in assessment.notes:
        if note.field_ids and not mine & set(note.field_ids):
            continue
        shared = not mine.issuperset(note.field_ids)
        if note.layer in _PRIVATE or (shared and note.level == "info"):
            continue
        if _plain(note.text, strangers):
            kept.append(replace(note, field_ids=tuple(i for i in note.field_ids if i in mine)))
        else:
            left_out = True
    if left_out:
        text = load_words(assessment.farm.language)("owner.some_left_out")
        kept.append(Note("fields", "info", text))
    return tuple(kept)


def _strangers(assessment: Assessment, mine: set[str]) -> "re.Pattern[str]":
    """Pattern of what tells of more than these fields.

    Ids, names and owners of others, names of the grower's files, and counts of fields.
    """
    fields = assessment.fields
    own = fields["field_id"].isin(mine)
    columns = fields[["field_id", "name", "owner"]]
    theirs = {t for t in columns[~own].to_numpy().ravel() if isinstance(t, str) and t.strip()}
    ours = {t for t in columns[own].to_numpy().ravel() if isinstance(t, str)}
    theirs |= {f.name for f in assessment.provenance.files if f.name}
    names = sorted(theirs - ours, key=len, reverse=True)
    # A bare number is an id only where it follows the word: fields 3 and 4, but not 3 years.
    told = [
        (r"\bfields?\b[^.]{0,60}?" if name.isdigit() else "") + rf"(?<!\w){re.escape(name)}(?!\w)"
        for name in names
    ]
    told.append(r"\b\d+ (?:of \d+ )?fields\b|\brows: \d+")
    return re.compile("|".join(told), re.IGNORECASE)


def _plain(text: str, strangers: "re.Pattern[str]") -> str:
    """The text; empty where it names something of other people's."""
    return "" if strangers.search(text) else text
