"""The table of commands; a command's room is imported only when it is needed."""

from __future__ import annotations

import gc
from importlib import import_module

import click

from archive.workflows.resting import collector_resting

COMMANDS = {
    "demo": ("demo", "Build the demo collection and its site, to look around in."),
    "new": ("keeping", "Start a collection in a new folder."),
    "add": ("cataloguing", "Add a record, from a file or from options."),
    "edit": ("cataloguing", "Change fields of a record, or put it back to an earlier state."),
    "show": ("showing", "Show a record with everything that is known of it."),
    "history": ("showing", "Show how a record came to be what it is."),
    "import": ("importing", "Take in a list kept as a spreadsheet."),
    "attach": ("attaching", "Store a file with a record: a sheet, a diagram, a photograph."),
    "measure": ("measuring", "Measure a sheet: pins, ground, repeat, an estimate of pairs."),
    "check": ("checking", "Compare what records state with what was measured on their sheets."),
    "find": ("finding", "Find patterns by words, techniques, pairs, threads and more."),
    "next": ("learning", "Find what to practise next, after the techniques you know."),
    "publish": ("publishing", "Publish the collection as a site that works offline."),
    "vocabulary": ("words", "Look a lace word up, in any of its languages."),
}
"""Name → (room, what it does in one line). The order is that of `prickings --help`."""


class CommandTable(click.Group):
    """A group that knows its commands' names and one-line helps before importing them."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 click's signature
        """The names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """The command of that name, its room imported now; None if there is none."""
        if cmd_name not in COMMANDS:
            return None
        room, _ = COMMANDS[cmd_name]
        with collector_resting():
            found = import_module(f"archive.cli.{room}")
        gc.freeze()  # what is imported stays
        command: click.Command = getattr(found, f"{cmd_name}_command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the one-line helps without importing any room."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])
