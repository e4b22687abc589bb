"""`prickings measure`."""

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
from archive.cli.reporting import print_measurement
from archive.errors import UsageError
from archive.store import open_collection
from archive.workflows.measuring import draw_found, measure_all, measure_file, measure_record

FILE_ENDINGS = {".svg", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".gif", ".webp", ".pdf"}
"""Endings by which a name that is no file is taken for a missing one, not for a shelfmark."""


@click.command("measure")
@click.argument("what", required=False, metavar="FILE|SHELFMARK")
@click.option("--all", "everything", is_flag=True, help="Every sheet of the collection.")
@click.option(
    "--dpi", type=click.FloatRange(min=10, max=20_000), help="Resolution of the scan, if known."
)
@click.option(
    "--overlay",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="OUT",
    help="Draw what was found over the sheet, as .svg or .png.",
)
@json_option
@collection_option
def measure_command(
    what: str | None,
    everything: bool,
    dpi: float | None,
    overlay: Path | None,
    as_json: bool,
    collection: Path,
) -> int:
    """Measure a pricking: pins, footside, ground, repeat, an estimate of pairs and thread.

    FILE is a scan or an SVG drawing; SHELFMARK measures the sheets of a record and keeps the
    result with it; --all measures every sheet not measured yet.
    """
    if everything == (what is not None):
        raise UsageError(
            "Say what to measure: a file, a shelfmark, or --all.",
            "For example “prickings measure sheet.png” or “prickings measure --all”.",
        )
    if what is None:
        return _measure_all(collection, as_json=as_json)
    path = Path(what)
    if path.exists() or _looks_like_a_file(path):
        found = measure_file(path, dpi=dpi)
        shown = path
    else:
        if dpi is not None:
            raise UsageError(
                "--dpi is for a file that belongs to no record.",
                "Give a record's sheet its resolution with “prickings attach … --dpi N”.",
            )
        with open_collection(collection) as opened:
            shown, found = measure_record(opened, what)
    if overlay is not None:
        draw_found(shown, found, overlay)
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        print_measurement(found)
        if overlay is not None:
            click.echo(f"\nWhat was found is drawn over the sheet in “{overlay}”.")
    return DONE


def _looks_like_a_file(path: Path) -> bool:
    return path.suffix.lower() in FILE_ENDINGS or len(path.parts) > 1


def _measure_all(collection: Path, *, as_json: bool) -> int:
    with open_collection(collection) as opened, progress_bar("Measuring") as progress:
        done = measure_all(opened, progress=progress)
    if as_json:
        print_json(
            {
                "measured": done.measured,
                "current": done.current,
                "findings": [finding.model_dump() for finding in done.findings],
            }
        )
    else:
        click.echo(
            f"Measured {counted(done.measured, 'sheet')}; {done.current:,} were measured before."
        )
        if done.findings:
            click.echo(f"\n{counted(len(done.findings), 'sheet')} could not be measured:")
            print_findings(done.findings)
    return NEEDS_A_PERSON if done.findings else DONE
