"""The command line: one command a module of ``maps.commands``."""

import os
import sys
from importlib import import_module, metadata
from typing import Any

import click

from maps.garbage import look_seldom
from suitability.errors import SuitabilityError

# Each is a module of maps.commands with a click command of the same name.
COMMANDS = ("run", "check", "crop", "new", "years", "log", "now", "open", "gather")

# A module may not give its command the name of a function of Python's own.
_BUILT_IN = {"open": "open_"}


class _OnDemand(click.Group):
    """Loads a command's module when it is asked for, and tells the user's faults in one message."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(
            import_module(f"maps.commands.{cmd_name}"), _BUILT_IN.get(cmd_name, cmd_name)
        )
        return command

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except SuitabilityError as error:
            click.echo(harmless(str(error)), err=True)
            ctx.exit(2)


def harmless(text: str) -> str:
    """Text for a terminal: letters that steer it (they may come from a file) become ``?``."""
    return "".join(c if c.isprintable() or c in "\n\t" else "?" for c in text)


@click.group(
    cls=_OnDemand,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Start with: suitability new my_farm",
)
@click.version_option(metadata.version("summer-gap-fields"), prog_name="suitability")
def suitability() -> None:
    """Which fields, and which ground in them, will carry a cover crop in the empty hot months."""


def main() -> None:
    """Run the command line; the console script's door."""
    for stream in (sys.stdout, sys.stderr):
        # A name in a script this terminal cannot show must not end the run.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
    look_seldom()
    try:
        suitability()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 1
        for stream in (sys.stdout, sys.stderr):
            try:
                if stream is not None:  # as where the shell has closed it
                    stream.flush()
            except OSError:  # nobody reads on, or the disk is full
                code = code or 1
        # All files are closed; to give memory back piece by piece would take a fifth of a second.
        os._exit(code)
