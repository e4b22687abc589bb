"""`prickings publish`."""

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
from archive.site import Published
from archive.store import open_collection
from archive.workflows.publishing import publish_collection


@click.command("publish")
@click.option(
    "--into",
    required=True,
    type=click.Path(path_type=Path, file_okay=False, readable=False),
    metavar="DIR",
    help="Folder of the site: new, or one published before.",
)
@json_option
@collection_option
def publish_command(into: Path, as_json: bool, collection: Path) -> int:
    """Publish the collection as a site of plain files that works offline.

    Only public fields are published, and pictures only where the rights allow it.
    """
    with open_collection(collection) as opened, progress_bar("Publishing") as progress:
        published = publish_collection(opened, into, progress=progress)
    if as_json:
        print_json(_as_data(published))
    else:
        _tell(published, into)
    unreadable = any(finding.code == "picture-unreadable" for finding in published.withheld)
    return NEEDS_A_PERSON if unreadable else DONE


def _as_data(published: Published) -> dict[str, object]:
    return {
        "pages": published.pages,
        "pictures": published.pictures,
        "written": published.written,
        "unchanged": published.unchanged,
        "withheld": [finding.model_dump() for finding in published.withheld],
    }


def _tell(published: Published, into: Path) -> None:
    click.echo(
        f"Published {counted(published.pages, 'page')} and "
        f"{counted(published.pictures, 'picture')} into “{into}”; "
        f"{counted(published.written, 'file')} new or changed."
    )
    if published.withheld:
        click.echo(f"\n{counted(len(published.withheld), 'picture')} held back:")
        print_findings(published.withheld)
    click.echo(f"\nOpen “{into / 'index.html'}” in any browser.")
