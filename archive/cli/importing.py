"""`prickings import`."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from archive.cli.printing import (
    DONE,
    NEEDS_A_PERSON,
    PATH,
    collection_option,
    counted,
    group_findings,
    json_option,
    print_findings,
    print_json,
    progress_bar,
)
from archive.errors import UsageError
from archive.lists import read_column_map, usual_headings, write_refused
from archive.store import open_collection
from archive.workflows.importing import Imported, import_list


@click.command("import")
@click.argument("file", type=PATH, metavar="LIST.csv|LIST.xlsx")
@click.option(
    "--columns",
    type=PATH,
    metavar="MAP.toml",
    help="Which heading means which field, where it is not recognised.",
)
@click.option("--dry-run", is_flag=True, help="Say what would happen and change nothing.")
@click.option(
    "--refused",
    "refused_file",
    type=PATH,
    metavar="OUT.csv",
    help="Write the rows that could not be kept here, to be mended and imported again.",
)
@json_option
@collection_option
def import_command(
    file: Path,
    columns: Path | None,
    dry_run: bool,
    refused_file: Path | None,
    as_json: bool,
    collection: Path,
) -> int:
    """Take in a list kept as a spreadsheet; nothing of it is lost.

    Words that cannot be understood are kept with the record and reported. Reading the same
    list twice changes nothing.
    """
    _refuse_to_overwrite(file, refused_file)
    mapping = read_column_map(columns) if columns else None
    with open_collection(collection) as opened, progress_bar("Importing") as progress:
        imported = import_list(opened, file, columns=mapping, dry_run=dry_run, progress=progress)
    if as_json:
        print_json(_as_data(imported))
    else:
        _tell(imported, dry_run=dry_run)
    if imported.refused:
        _keep_refused(imported, refused_file, as_json=as_json)
    return NEEDS_A_PERSON if imported.refused or imported.findings else DONE


def _refuse_to_overwrite(file: Path, refused_file: Path | None) -> None:
    with suppress(OSError):  # Whoever opens them says what is the matter.
        if refused_file is not None and refused_file.samefile(file):
            raise UsageError(
                f"The refused rows would take the place of the list “{file}” itself.",
                "Name another file with --refused; nothing has been changed.",
            )


def _keep_refused(imported: Imported, refused_file: Path | None, *, as_json: bool) -> None:
    """Write the refused rows where they are wanted: last, so that a full disk hides no report."""
    if refused_file is not None:
        write_refused(imported.refused, refused_file)
    if not as_json:
        click.echo(
            f"\nThe refused rows are in “{refused_file}”: mend them there and import that file."
            if refused_file
            else "\nWith “--refused OUT.csv” the refused rows go into a file to mend and import."
        )


def _as_data(imported: Imported) -> dict[str, object]:
    return {
        "read": imported.read,
        "added": imported.added,
        "changed": imported.changed,
        "unchanged": imported.unchanged,
        "refused": [
            {"row": refused.row, "shelfmark": refused.shelfmark, "reason": refused.reason}
            for refused in imported.refused
        ],
        "findings": [finding.model_dump() for finding in imported.findings],
        "columns": dict(imported.columns),
        "suggestion": dict(imported.suggestion),
    }


def _tell(imported: Imported, *, dry_run: bool) -> None:
    would = "would be " if dry_run else ""
    click.echo(
        f"Read {counted(imported.read, 'row')}: {imported.added:,} {would}added, "
        f"{imported.changed:,} {would}changed, {imported.unchanged:,} unchanged, "
        f"{len(imported.refused):,} refused."
    )
    if imported.refused:
        click.echo("\nRefused:")
        for refused in imported.refused:
            click.echo(
                f"  row {refused.row}, {refused.shelfmark or 'no shelfmark'}: {refused.reason}"
            )
    if imported.findings:
        things = counted(len(group_findings(imported.findings)), "thing")
        click.echo(f"\n{things} to look at; the words are kept:")
        print_findings(imported.findings)
    if imported.suggestion:
        click.echo("\nColumns not recognised could be given with --columns MAP.toml, for example:")
        for heading, name in imported.suggestion.items():
            click.echo(f'  "{heading}" = "{name}"')
        click.echo("The usual headings, also for behind the = sign:")
        click.echo(click.wrap_text(", ".join(usual_headings()), 88, "  ", "  "))
