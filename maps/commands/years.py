"""``suitability years FIELD``: one field's years side by side, to hold against memory."""

import re
from datetime import date
from difflib import get_close_matches
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from maps.commands.reading import READERS, farm_to_read, in_language, in_units
from suitability.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

    from maps.assessment import Assessment
    from maps.legend import Legend
    from maps.words import Words
    from maps.year_tables import FieldYear


@click.command()
@click.argument("field")
@click.option(
    "--farm",
    "config",
    required=True,
    metavar="CONFIG",
    type=click.Path(path_type=Path),
    help="The farm file.",
)
@click.option(
    "--week", metavar="MM-DD", help="A day of the sowing week; the recommended one if none."
)
@in_units
@in_language
def years(
    field: str,
    config: Path,
    week: str | None,
    units: Literal["us", "metric"] | None,
    language: str | None,
) -> None:
    """Set the years of one FIELD side by side: what would have become of it, sown each year.

    FIELD is the id or the name of a field. Hold the years against what you remember of them.
    """
    from maps.second_process import second_process

    with second_process(READERS) as beside:
        farm = farm_to_read(config, units, language)
        if week is not None:
            check_day(week)

        from maps.layers_read import fields_of

        field_id = find_field(fields_of(farm), field)  # a wrong name is told before the long work

        from maps.run import assess
        from maps.spoken_notes import spoken

        said = farm.farm.language
        assessment = assess(
            farm, lambda step: click.echo(spoken(step, said, "step"), err=True), beside=beside
        )
    print_years(assessment, field_id, sowing_week(assessment, field_id, week))


def check_day(mmdd: str) -> None:
    """InputError where this is no day of the year."""
    try:
        if not re.fullmatch(r"\d\d-\d\d", mmdd):
            raise ValueError
        date(2000, int(mmdd[:2]), int(mmdd[3:]))
    except ValueError:
        raise InputError(
            f"--week {mmdd} is not a day of the year. Give month and day as MM-DD, such as 06-05."
        ) from None


def find_field(fields: "pd.DataFrame", asked: str) -> str:
    """The id of the field of a FIELDS table with this id or name.

    Raises
    ------
    InputError : there is none, or several have this name.
    """
    ids = [str(i) for i in fields["field_id"]]
    if asked in ids:
        return asked
    names = [str(n) if isinstance(n, str) else "" for n in fields["name"]]
    same = [i for i, name in zip(ids, names, strict=True) if name.casefold() == asked.casefold()]
    same = same or [i for i in ids if i.casefold() == asked.casefold()]
    if len(same) == 1:
        return same[0]
    if same:
        raise InputError(
            f"{len(same)} fields are called {asked!r}. Give the id instead: {', '.join(same)}."
        )
    known = {text.casefold(): text for text in (*names, *ids) if text}
    near = get_close_matches(asked.casefold(), known, n=1, cutoff=0.5)
    hint = f" Did you mean {known[near[0]]!r}?" if near else ""
    listed = ", ".join(ids[:20]) + (", ..." if len(ids) > 20 else "")
    raise InputError(
        f"There is no field {asked!r}.{hint} Give the id or the name of a field; the ids are: "
        f"{listed}."
    )


def sowing_week(assessment: "Assessment", field_id: str, day: str | None) -> str:
    """First day of the sowing week asked for, else of the recommended one.

    Raises
    ------
    InputError : the field has no simulated years; the day lies outside its gap.
    """
    weeks = simulated_weeks(assessment, field_id)
    if not weeks:
        raise InputError(
            f"Field {field_id} has no simulated years: daily weather, its soil and its gap "
            "(opening and closing day) are needed. 'suitability check' tells what is lacking."
        )
    if day is None:
        best = assessment.years.best if assessment.years is not None else None
        if best is not None and field_id in best.index:
            return str(best.at[field_id, "sow_date"])
        raise InputError(
            f"Field {field_id} has no recommended week: too few years of weather are whole. Name "
            f"one with --week: {', '.join(weeks)}."
        )

    def doy(mmdd: str) -> int:
        return date(2000, int(mmdd[:2]), int(mmdd[3:])).timetuple().tm_yday

    holding = [w for w in weeks if 0 <= doy(day) - doy(w) < 7]
    if not holding:
        raise InputError(
            f"--week {day} is not in the gap of field {field_id}. Its sowing weeks begin on "
            f"{', '.join(weeks)}."
        )
    return holding[-1]


def simulated_weeks(assessment: "Assessment", field_id: str) -> list[str]:
    """Sowing weeks of a field of which any year is known."""
    from suitability.outcomes import UNKNOWN

    if assessment.years is None:
        return []
    found = assessment.years.by_field([field_id])
    if field_id not in found.field_ids:
        return []
    known = (found.outcome[0] != UNKNOWN).any(axis=0)
    return [week for week, here in zip(found.weeks, known, strict=True) if here]


def print_years(assessment: "Assessment", field_id: str, week: str) -> None:
    """Print the table of one field and sowing week."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from maps.cli import harmless
    from maps.flood_years import listed_years_flood
    from maps.reader import legend_of, words_of
    from maps.sentences import Teller
    from maps.year_tables import field_years_of

    if assessment.years is None:
        return
    legend, words = legend_of(assessment), words_of(assessment)
    say = partial(_say, words)
    found = assessment.years.by_field([field_id])
    rows = field_years_of(found, found.weeks.index(week))
    console = Console(highlight=False, markup=False, emoji=False)
    name = assessment.fields.set_index("field_id")["name"].get(field_id)
    named = f"{name} ({field_id})" if isinstance(name, str) and name != field_id else field_id
    worked = sum(row.works for row in rows)
    console.print(
        harmless(say("worked", field=named, day=legend.day(week), n=worked, of=len(rows)))
    )
    flooded = listed_years_flood(assessment, Teller(words, legend), field_id, week)
    if flooded:
        console.print(flooded)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column(say("year"))
    table.add_column(say("up"))
    table.add_column(say("wet"), justify="right")
    table.add_column(say("over"), no_wrap=True)
    table.add_column(say("at_60", unit=legend.dry_matter_unit), justify="right")
    table.add_column(say("at_end", unit=legend.dry_matter_unit), justify="right")
    table.add_column(say("failed"), overflow="fold")
    for row in rows:
        table.add_row(*(Text(harmless(cell)) for cell in _cells(row, legend, words)))
    console.print(table)
    pct, longest_d = (
        f"{assessment.crop.number(name):.0f}"
        for name in ("policy.field_fails_pct", "water_use.longest_stand_d")
    )
    console.print(say("hint", pct=pct, most=longest_d), soft_wrap=False)


def _say(words: "Words", key: str, **values: object) -> str:
    return words(f"field_years.{key}", **values)


def _cells(row: "FieldYear", legend: "Legend", words: "Words") -> tuple[str, ...]:
    def told(when: "date | None") -> str:
        if when is None:
            return "-"
        key = f"date.short_{legend.units}"
        return words(key, month=legend.month(when.month), day=when.day)

    over = told(row.end_date)
    ended = row.end_cause.replace(" ", "_") or ("still_up" if row.end_date else "")
    if ended:
        over += f", {words(f'ended.{ended}')}"
    return (
        str(row.year),
        told(row.emerged_date),
        f"{row.wet_run_d:.0f}",
        over,
        legend.dry_matter(row.dry_matter_60d_kg_ha),
        legend.dry_matter(row.dry_matter_end_kg_ha),
        words(f"cause.{row.why_not.replace(' ', '_')}") if row.why_not else "",
    )
