"""``suitability gather FARM``: soil survey, heights and weather from the public services."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from suitability.errors import InputError

if TYPE_CHECKING:
    from layers.gather.bringing import LayerResult
    from layers.gather.plans import LayerPlan

_LAYERS = ("soil", "elevation", "weather", "frost")


@click.command()
@click.argument("config", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Ask the services without asking you first.")
@click.option("--refresh", is_flag=True, help="Ask anew for what is there and fresh, too.")
@click.option(
    "--layer",
    "chosen",
    multiple=True,
    type=click.Choice(_LAYERS),
    help="Gather only this layer; may be given several times.",
)
def gather(config: Path, yes: bool, refresh: bool, chosen: tuple[str, ...]) -> None:
    """Ask public services for the layers that the farm file CONFIG lacks.

    The only command that uses the internet. It first tells what would be sent to whom, and asks.
    Files go into a folder "data" beside CONFIG, and CONFIG is changed to name them. Exit code 1
    where some of the layers could not be had, 2 where none could.
    """
    if config.suffix.lower() != ".toml":
        raise InputError(
            f"{config} is no farm file. Expected farm.toml. 'suitability new DIR' writes one; name "
            "your outlines in it."
        )
    from layers.gather.plans import check_installed

    check_installed()

    from layers.boundaries import read_fields
    from layers.gather.plans import plan
    from layers.gather.services import services
    from maps.farm_layers import DATA_DIR, fields_of, own_layers

    asked = fields_of(config)
    fields, _ = read_fields(asked.file, layer=asked.layer, id_column=asked.id)
    table = {name: row for name, row in services().items() if not chosen or name in chosen}
    data_dir = config.resolve().parent / DATA_DIR
    own = own_layers(config, tuple(table))
    today = date.today()
    plans = plan(fields, table, data_dir, own, refresh=refresh, today=today)
    _tell_plans(plans, own)
    if any(step.state == "ask" for step in plans) and not _agreed(yes):
        click.echo("Nothing was asked.")
        return

    from layers.gather.gathering import carry_out

    def tell(line: str) -> None:
        click.echo(line, err=True)

    results = carry_out(plans, data_dir, fields, tell, today)
    _finish(config, data_dir, results, {step.service.layer: step for step in plans})


def _tell_plans(plans: "list[LayerPlan]", own: dict[str, str]) -> None:
    from maps.cli import harmless

    asking = [step for step in plans if step.state == "ask"]
    if asking:
        click.echo("These services would be asked, and this is all they are sent:")
    for step in asking:
        service = step.service
        click.echo(f"  {service.shown}: {service.publisher}, {service.name}")
        click.echo(f"    at {service.address} ({service.licence})")
        click.echo(f"    {step.sends}")
    if asking:
        click.echo(
            "Outlines, names and everything else in your files stay here. Like any web site, each "
            "service sees your internet address."
        )
    for step in plans:
        name = step.service.shown
        if step.state == "own":
            named = own[step.service.layer]
            click.echo(harmless(f"  {name}: not asked for, farm.toml names {named}"))
        elif step.state == "fresh":
            click.echo(f"  {name}: is there and fresh, not asked for (--refresh asks)")
        elif step.state == "outside":
            click.echo(f"  {name}: {step.service.name} does not cover this ground.")
            click.echo(f"    To bring yourself: {step.service.bring}.")


def _agreed(yes: bool) -> bool:
    if yes:
        return True
    try:
        return click.confirm("Ask them?", default=False)
    except click.Abort:
        raise InputError("Nothing was asked: no answer came. Add --yes to ask at once.") from None


def _finish(
    config: Path,
    data_dir: Path,
    results: "list[LayerResult]",
    plans: "dict[str, LayerPlan]",
) -> None:
    from maps.cli import harmless
    from maps.farm_layers import write_layers

    asked = [r for r in results if plans[r.layer].state == "ask"]
    failed = [r for r in results if r.fault]
    if asked and all(r.no_connection for r in asked):
        raise InputError(f"No connection, nothing was changed. {asked[0].fault}")
    named = {r.layer: r.named for r in results if r.named}
    changed = False
    if named:
        said = "Gathered by 'suitability gather'; data/provenance.json tells from whom and when."
        changed = write_layers(config, named, said)
    for result in asked:
        if result.fault:
            click.echo(harmless(result.fault), err=True)
            bring = plans[result.layer].service.bring
            click.echo(f"  Try again later, or bring yourself: {bring}.", err=True)
        else:
            files = ", ".join(str(data_dir / name) for name in result.named)
            click.echo(harmless(f"{result.shown}: {files}"))
    if changed:
        click.echo(harmless(f"{config} now names them. Next: suitability check {config}"))
    # No station near with freeze dates is no fault: they are worked out from the weather.
    lacking = [r for r in failed if not (r.layer == "frost" and r.outside)]
    if lacking:
        click.get_current_context().exit(1 if named else 2)
