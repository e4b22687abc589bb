"""`prickings add` and `edit`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from archive.cli.printing import PATH, collection_option
from archive.errors import UsageError
from archive.store import open_collection
from archive.workflows.cataloguing import add_pattern, edit_pattern, put_back, read_record


@click.command("add")
@click.argument("file", required=False, type=PATH)
@click.option("--shelfmark", help="As written on the box or folder; each only once.")
@click.option("--title", help="Title of the pattern.")
@click.option("--family", "families", help="Family of lace, or several: “Bucks point; Lille”.")
@click.option("--kind", help="What it makes: edging, insertion, mat …")
@click.option("--technique", "techniques", multiple=True, help="Technique practised; repeatable.")
@click.option("--teaches", multiple=True, help="Technique taught; repeatable.")
@click.option("--pairs", help="Pairs as people write them: “18”, “24 (+6 corner)”.")
@click.option("--thread", "threads", multiple=True, help="Thread as printed; repeatable.")
@click.option("--difficulty", help="A word, or a level from 1 to 5.")
@click.option("--width", help="Width as people write it: “25 mm”, “1 in”.")
@click.option(
    "--set", "fields", multiple=True, metavar="FIELD=VALUE", help="Any other field; repeatable."
)
@collection_option
def add_command(
    file: Path | None,
    fields: tuple[str, ...],
    collection: Path,
    **options: str | tuple[str, ...] | None,
) -> None:
    """Add a record: from FILE (YAML or JSON), from options, or from both.

    An option overrules what the file says. A value is read as the cell of a list would be;
    schema/record.schema.json names the fields.
    """
    data = read_record(file) if file else {}
    typed = {**_typed(options), **_assigned(fields)}
    if not file and "shelfmark" not in typed:
        raise UsageError(
            "A new record needs a shelfmark.",
            "Give it with --shelfmark, or name a YAML or JSON file that says it.",
        )
    with open_collection(collection) as opened:
        pattern = add_pattern(opened, data, typed)
    click.echo(f"Added “{pattern.shelfmark}”, {pattern.heading}.")


@click.command("edit")
@click.argument("shelfmark")
@click.option(
    "--set",
    "fields",
    multiple=True,
    metavar="FIELD=VALUE",
    help="A field and what it shall say, as “pairs=24 (+6 corner)”; repeatable.",
)
@click.option(
    "--back-to", type=click.IntRange(min=1), metavar="N", help="The state after change N."
)
@collection_option
def edit_command(
    shelfmark: str, fields: tuple[str, ...], back_to: int | None, collection: Path
) -> None:
    """Change fields of the record SHELFMARK, or put it back to an earlier state.

    Nothing is lost by either: “prickings history SHELFMARK” numbers every state it had.
    """
    if bool(fields) == (back_to is not None):
        raise UsageError(
            "Say what to change.",
            "Give fields with --set FIELD=VALUE, or an earlier state with --back-to N.",
        )
    with open_collection(collection) as opened:
        if back_to is not None:
            pattern = put_back(opened, shelfmark, back_to)
            click.echo(f"“{pattern.shelfmark}” is again as it was after change {back_to}.")
        else:
            before = opened.get_entry(shelfmark).pattern
            pattern = edit_pattern(opened, shelfmark, _assigned(fields))
            told = "Changed" if pattern != before else "Nothing to change in"
            click.echo(f"{told} “{pattern.shelfmark}”, {pattern.heading}.")


_FIELD_OF_OPTION = {"teaches": "techniques.taught", "width": "size.width_mm"}


def _typed(options: dict[str, str | tuple[str, ...] | None]) -> dict[str, str]:
    """The options that were given, as fields; several words for one field are joined."""
    return {
        _FIELD_OF_OPTION.get(name, name): "; ".join(words) if isinstance(words, tuple) else words
        for name, words in options.items()
        if words
    }


def _assigned(fields: Iterable[str]) -> dict[str, str]:
    assigned = {}
    for field in fields:
        name, equals, value = field.partition("=")
        if not equals:
            raise UsageError(
                f"“{field}” does not say what the field shall be.",
                "Write it as FIELD=VALUE, for example --set title=Bracken.",
            )
        assigned[name.strip()] = value.strip()
    return assigned
