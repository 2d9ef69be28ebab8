"""``suitability run CONFIG --out DIR``: from the farm's files to the map and the report."""

import json
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from maps.commands.reading import READERS, farm_to_read, in_language, in_units
from maps.progress import told_progress

if TYPE_CHECKING:
    from maps.assessment import Assessment
    from maps.sentences import Teller

LATER = ("maps.writing", "scipy.optimize", "rich.table")  # for outputs, plan and summary
MOST_NOTES = 8  # more than this and the summary no longer fits a screen


@click.command()
@click.argument("config", type=click.Path(path_type=Path))
@click.option(
    "--out",
    "out_dir",
    required=True,
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Folder for the map, the report and the tables; made if it is not there.",
)
@in_units
@in_language
@click.option(
    "--for",
    "owner",
    metavar="OWNER",
    help="Only the fields of this owner, without the plan, the money and what is others'.",
)
@click.option("--tables", is_flag=True, help="Write the tables behind the answer as well.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
@click.option("--json", "as_json", is_flag=True, help="Print the summary as JSON.")
def run(
    config: Path,
    out_dir: Path,
    units: Literal["us", "metric"] | None,
    language: str | None,
    owner: str | None,
    tables: bool,
    quiet: bool,
    as_json: bool,
) -> None:
    """Judge each field of CONFIG and write the map and the report.

    CONFIG is a farm file (see "suitability new"), or only a boundary file of the fields.
    """
    from maps.outputs import check_out_dir, whole_or_nothing
    from maps.report_files import WRITERS
    from maps.second_process import second_process

    check_out_dir(out_dir)
    with second_process(READERS, later=WRITERS) as beside:
        farm = farm_to_read(config, units, language)

        from maps.reader import in_readers_language
        from maps.run import assess

        with told_progress(quiet=quiet, language=farm.farm.language) as progress:
            assessment = assess(farm, progress, owner, beside, _load)
            from maps.writing import write_all

            with whole_or_nothing(out_dir) as folder:
                written = write_all(
                    assessment, folder, tables=tables, progress=progress, beside=beside
                )
                names = [path.relative_to(folder).as_posix() for path in written]
    assessment = in_readers_language(assessment)
    if as_json:
        click.echo(json.dumps(_summary(assessment, out_dir, names), indent=1, allow_nan=False))
    elif not quiet:
        _print(assessment, out_dir, names)


def _load() -> None:
    """Load ``LATER``, for which nothing waits while soils are simulated."""
    for module in LATER:
        import_module(module)


def _summary(assessment: "Assessment", out_dir: Path, names: list[str]) -> dict[str, object]:
    """Make the summary of plain values; areas are acres whatever the units, as in fields.csv."""
    from maps.farm_sentences import farm_lead
    from maps.legend import acres

    rows = [
        {
            "field_id": row["field_id"],
            "name": row["name"],
            "area_acres": round(acres(row["area_ha"]), 2),
            "verdict": row["verdict"],
            "why": row["why"],
        }
        for row in _rows(assessment)
    ]
    notes = [
        {"layer": n.layer, "level": n.level, "text": n.text, "field_ids": list(n.field_ids)}
        for n in assessment.notes
    ]
    return {
        "farm": assessment.farm.name,
        "answer": farm_lead(assessment, _teller(assessment)),
        "fields": rows,
        "notes": notes,
        "folder": str(out_dir),
        "files": names,
    }


def _print(assessment: "Assessment", out_dir: Path, names: list[str]) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from maps.cli import harmless
    from maps.farm_sentences import farm_lead
    from maps.shown_names import shown

    teller = _teller(assessment)
    console = Console(highlight=False, markup=False, emoji=False)
    console.print()
    console.print(harmless(farm_lead(assessment, teller)))
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    words = teller.words
    table.add_column(words("command.field"), overflow="fold", max_width=24)
    table.add_column(teller.legend.area_unit, justify="right")
    table.add_column(words("command.verdict"), no_wrap=True)
    table.add_column(words("command.why"), overflow="fold")
    for row in _rows(assessment):
        cells = (shown(row["label"]), row["area"], row["shown_verdict"], harmless(row["why"]))
        table.add_row(*(Text(cell) for cell in cells))
    console.print(table)
    told = [n for n in assessment.notes if n.level != "info"]
    for note in told[:MOST_NOTES]:
        key = f"check.layer.{note.layer.replace(' ', '_')}"
        layer = words(key) if words.has(key) else note.layer
        console.print(harmless(f"{layer}: {note.text}"))
    if len(told) > MOST_NOTES:
        console.print(words("command.more_notes", n=len(told) - MOST_NOTES))
    if told:
        console.print()
    written = words("command.written", folder=out_dir, files=", ".join(names))
    console.print(harmless(written), soft_wrap=True)
    if "map.html" in names:
        opened = words("command.open", file=out_dir / "map.html")
        console.print(harmless(opened), soft_wrap=True)


def _teller(assessment: "Assessment") -> "Teller":
    from maps.reader import teller_of

    return teller_of(assessment)


def _rows(assessment: "Assessment") -> list[dict[str, Any]]:
    """Gather one row a field, in the order of the verdicts."""
    teller = _teller(assessment)
    known = assessment.fields.set_index("field_id")["name"]
    rows: list[dict[str, Any]] = []
    for _, verdict in assessment.verdicts.iterrows():
        name = known.get(verdict.field_id)
        name = name if isinstance(name, str) else ""
        same = not name or name == verdict.field_id
        rows.append(
            {
                "field_id": verdict.field_id,
                "name": name,
                "label": verdict.field_id if same else f"{name} ({verdict.field_id})",
                "area_ha": float(verdict.area_ha),
                "area": teller.legend.area_number(verdict.area_ha),
                "verdict": verdict.verdict,
                "shown_verdict": teller.verdict(verdict),
                "why": teller.reason(verdict),
            }
        )
    return rows
