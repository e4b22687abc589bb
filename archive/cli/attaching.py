"""`prickings attach`."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import click

from archive.cli.printing import PATH, collection_option
from archive.records.attachment import AttachmentRole
from archive.store import open_collection
from archive.workflows.attaching import attach_file


@click.command("attach")
@click.argument("shelfmark")
@click.argument("file", type=PATH)
@click.option(
    "--role",
    type=click.Choice(get_args(AttachmentRole)),
    help="What the file shows: a pricking, if not given.",
)
@click.option(
    "--dpi",
    type=click.FloatRange(min=10, max=20_000),
    metavar="N",
    help="Resolution of a scan whose file does not know it.",
)
@click.option("--caption", default="", help="A line to print under the picture.")
@click.option(
    "--alt", "alternative_text", default="", help="What it shows, for those who cannot see it."
)
@collection_option
def attach_command(
    shelfmark: str,
    file: Path,
    role: AttachmentRole | None,
    dpi: float | None,
    caption: str,
    alternative_text: str,
    collection: Path,
) -> None:
    """Store FILE, unchanged, with the record SHELFMARK.

    Attaching the same file again changes what is said of it, and nothing else.
    """
    with open_collection(collection) as opened:
        entry = opened.get_entry(shelfmark)
        mark = entry.shelfmark
        attachment = attach_file(
            opened,
            mark,
            file,
            role=role,
            dpi=dpi,
            caption=caption,
            alternative_text=alternative_text,
        )
    name, role = attachment.file_name, attachment.role
    if attachment.sha256 in {one.sha256 for one in entry.attachments}:
        click.echo(f"“{file.name}” is with “{mark}” already: “{name}”, as {role}.")
    else:
        click.echo(f"Stored “{name}” with “{mark}” as {role}.")
