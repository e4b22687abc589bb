"""`prickings new`."""

from __future__ import annotations

from pathlib import Path

import click

from archive.cli.printing import PATH
from archive.records.settings import make_settings
from archive.store import create_collection


@click.command("new")
@click.argument("folder", type=PATH, metavar="DIR")
@click.option("--name", help="Name of the collection; the folder's name if not given.")
@click.option("--holder", default="", help="Who keeps it, such as the guild.")
@click.option("--language", default="en", show_default=True, help="Language code of its words.")
def new_command(folder: Path, name: str | None, holder: str, language: str) -> None:
    """Start a collection in the new folder DIR."""
    settings = make_settings(name or folder.resolve().name, holder=holder, language=language)
    create_collection(folder, settings)
    click.echo(f"Started the collection “{settings.name}” in “{folder}”.")
    click.echo(f"Its settings are in “{folder / 'collection.toml'}”; open it with any editor.")
