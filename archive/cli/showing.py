"""`prickings show` and `history`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from archive.cli.printing import collection_option, json_option, print_json, print_table
from archive.cli.reporting.records import print_entry
from archive.store import open_collection


@click.command("show")
@click.argument("shelfmark")
@json_option
@collection_option
def show_command(shelfmark: str, as_json: bool, collection: Path) -> None:
    """Show the record SHELFMARK with everything that is known of it.

    The answer in JSON is described by schema/record.schema.json.
    """
    with open_collection(collection) as opened:
        entry = opened.get_entry(shelfmark)
    if as_json:
        print_json(entry.model_dump(mode="json"))
    else:
        print_entry(entry)


@click.command("history")
@click.argument("shelfmark")
@json_option
@collection_option
def history_command(shelfmark: str, as_json: bool, collection: Path) -> None:
    """Show how the record SHELFMARK came to be what it is.

    “prickings edit SHELFMARK --back-to N” puts it back to the state after change N.
    """
    with open_collection(collection) as opened:
        changes = opened.history(shelfmark)
    if as_json:
        print_json([change.model_dump(mode="json") for change in changes])
        return
    before: dict[str, Any] = {}
    rows = []
    for change in changes:
        after = change.pattern.model_dump(mode="json", exclude_defaults=True)
        fields = [name for name in {**before, **after} if before.get(name) != after.get(name)]
        rows.append(
            [
                str(change.number),
                f"{change.at:%Y-%m-%d %H:%M}",
                change.how,
                ", ".join(name.replace("_", " ") for name in fields),
            ]
        )
        before = after
    print_table(["change", "when (UTC)", "how", "fields"], rows)
