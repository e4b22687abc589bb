"""`prickings add`, `edit` and `attach`."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import click

from archive.cli.printing import collection_option
from archive.errors import UsageError
from archive.records import AttachmentRole
from archive.vocabulary import families, kinds, techniques
from archive.workflows.cataloguing import (
    add_pattern,
    attach_file,
    edit_pattern,
    put_back,
    read_record,
    read_typed,
)
from archive.store import open_collection


@click.command("add")
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--shelfmark", help="As written on the box or folder; each only once.")
@click.option("--title", help="Title of the pattern.")
@click.option("--family", multiple=True, help="Family of lace; may be given several times.")
@click.option("--kind", help="What it makes: edging, insertion, mat …")
@click.option("--technique", multiple=True, help="Technique practised; may be given several times.")
@click.option("--teaches", multiple=True, help="Technique taught; may be given several times.")
@click.option("--pairs", help="Pairs as people write them: “18”, “24 (+6 corner)”.")
@click.option("--thread", help="Thread as printed: “80/2 linen”.")
@click.option("--difficulty", help="A word or a level from 1 to 5.")
@click.option("--width", help="Width as people write it: “25 mm”, “1 in”.")
@click.option("--set", "fields", multiple=True, metavar="FIELD=VALUE", help="Any other field.")
@collection_option
def add_command(file: Path | None, fields: tuple[str, ...], collection: Path, **options: Any) -> None:
    """Add a record: from FILE (YAML or JSON), from options, or from both.

    An option overrules what the file says.
    """
    data = read_record(file) if file else {}
    data.update(_from_options(options))
    with open_collection(collection) as opened:
        pattern = add_pattern(opened, read_typed(data, _assignments(fields)))
    click.echo(f"Added “{pattern.shelfmark}”, {pattern.heading}.")
