"""`prickings demo`."""

from __future__ import annotations

import shutil
import sys
from contextlib import ExitStack
from pathlib import Path

import click

from archive.cli.printing import (
    PATH,
    counted,
    json_option,
    print_findings,
    print_json,
    progress_bar,
)
from archive.progress import Progress
from archive.workflows.demo import DemoBuilt, build_demo


@click.command("demo")
@click.argument("folder", type=PATH, metavar="[DIR]", default="prickings-demo")
@json_option
def demo_command(folder: Path, as_json: bool) -> None:
    """Build the demo collection and its site in the folder DIR (prickings-demo, if not given).

    The guild, its members and its patterns are invented. A second run takes only what changed.
    """
    with ExitStack() as bars:

        def stage(label: str) -> Progress:
            bars.close()
            return bars.enter_context(progress_bar(label))

        built = build_demo(folder, stage=stage)
    if as_json:
        print_json(_as_data(built))
    else:
        _tell(built)


def _as_data(built: DemoBuilt) -> dict[str, object]:
    imported, measured, published = built.imported, built.measured, built.published
    return {
        "collection": str(built.collection),
        "first_page": str(built.first_page),
        "patterns": built.patterns,
        "added": imported.added,
        "changed": imported.changed,
        "unchanged": imported.unchanged,
        "attached": built.attached,
        "measured": measured.measured,
        "measured_before": measured.current,
        "pages": published.pages,
        "pictures": published.pictures,
        "written": published.written,
        "findings": [finding.model_dump() for finding in (*imported.findings, *measured.findings)],
    }


def _tell(built: DemoBuilt) -> None:
    imported, measured = built.imported, built.measured
    click.echo(
        f"The demo collection holds {counted(built.patterns, 'pattern')}: "
        f"{imported.added:,} added, {imported.changed:,} changed and "
        f"{imported.unchanged:,} unchanged from the guild's list.\n"
        f"{counted(built.attached, 'sheet')} newly stored, {measured.measured:,} newly measured, "
        f"{measured.current:,} measured before; "
        f"{counted(built.published.pages, 'page')} published."
    )
    if imported.refused or imported.findings:
        click.echo("\nThe list is as untidy as real ones; this is what a librarian would look at:")
        for refused in imported.refused:
            click.echo(f"  row {refused.row}, {refused.shelfmark}: refused, {refused.reason}")
        print_findings([*imported.findings, *measured.findings])
    called = "prickings" if shutil.which("prickings") else sys.argv[0]
    where = f'"{built.collection}"' if " " in str(built.collection) else str(built.collection)
    click.echo(
        f"\nOpen this page in a browser:  {built.first_page.resolve()}\n"
        f"Try a question:               {called} find --collection {where} "
        "--technique picot --without-technique gimp --pairs -20"
    )
