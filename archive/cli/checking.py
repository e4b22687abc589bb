"""`prickings check`."""

from __future__ import annotations

from pathlib import Path

import click

from archive.cli.printing import (
    DONE,
    NEEDS_A_PERSON,
    collection_option,
    counted,
    json_option,
    print_findings,
    print_json,
    progress_bar,
)
from archive.store import open_collection
from archive.workflows.checking import check_records


@click.command("check")
@click.argument("shelfmark", required=False)
@json_option
@collection_option
def check_command(shelfmark: str | None, as_json: bool, collection: Path) -> int:
    """Compare what records state with what was measured on their sheets.

    One record, or all: pairs, width, repeat, corner, honeycomb, thread, and doubtful holes that
    no correction tells of. How far the two may differ stands in collection.toml. Nothing is
    changed; either the record or the measurement may be right.
    """
    with open_collection(collection) as opened, progress_bar("Checking") as progress:
        checked = check_records(opened, shelfmark, progress=progress)
    if as_json:
        print_json(
            {
                "records": checked.records,
                "with_sheet": checked.with_sheet,
                "findings": [finding.model_dump() for finding in checked.findings],
            }
        )
    else:
        looked_at = counted(checked.records, "record")
        click.echo(f"Checked {looked_at}; {checked.with_sheet:,} with a pricking.")
        if checked.findings:
            click.echo("\nPlease look at these; the record or the measurement may be right:")
            print_findings(checked.findings)
        elif checked.with_sheet:
            click.echo("What the records state and what was measured agree.")
    return NEEDS_A_PERSON if checked.findings else DONE
