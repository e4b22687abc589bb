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
from archive.records.measurement import Measurement


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
    if everything:
        return _measure_all(collection, as_json=as_json)
    path = Path(what or "")
    if path.exists() or path.suffix:
        return _measure_one_file(path, dpi, overlay, as_json=as_json)
    return _measure_record(what or "", collection, dpi, overlay, as_json=as_json)
