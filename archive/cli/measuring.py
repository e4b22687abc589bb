"""`prickings measure`."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import click

from archive.cli.printing import (
    DONE,
    NEEDS_A_PERSON,
    PATH,
    collection_option,
    counted,
    json_option,
    print_findings,
    print_json,
    progress_bar,
)
from archive.cli.reporting.sheets import print_measurement
from archive.errors import UsageError
from archive.records.byhand import NOTHING_SAID, FootSide, make_by_hand
from archive.store import open_collection
from archive.workflows.measuring import (
    draw_found,
    measure_all,
    measure_file,
    measure_record,
    read_said,
)

FILE_ENDINGS = {".svg", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".gif", ".webp", ".pdf"}
"""Endings by which a name that is no file is taken for a missing one, not for a shelfmark."""


@click.command("measure")
@click.argument("what", required=False, metavar="FILE|SHELFMARK")
@click.option("--all", "everything", is_flag=True, help="Every sheet of the collection.")
@click.option(
    "--dpi",
    type=click.FloatRange(min=10, max=20_000),
    metavar="N",
    help="Resolution of the scan, if known.",
)
@click.option(
    "--page",
    type=click.IntRange(min=1),
    metavar="N",
    help="Page of a PDF or TIFF; the first if not given.",
)
@click.option(
    "--overlay",
    type=PATH,
    metavar="OUT",
    help="Draw what was found over the sheet, as .svg or .png.",
)
@click.option(
    "--hole",
    "holes",
    multiple=True,
    metavar="PLACE",
    help="Here is a hole: “21.6,22.0 mm” across and down, or px; repeatable.",
)
@click.option(
    "--no-hole", "no_holes", multiple=True, metavar="PLACE", help="Here is none; repeatable."
)
@click.option("--foot", type=click.Choice(get_args(FootSide)), help="Where the footside is.")
@click.option(
    "--by-hand",
    "said_in",
    type=PATH,
    metavar="FILE",
    help="All that is said by hand, in a TOML file; takes the place of what was said before.",
)
@click.option(
    "--forget-by-hand", "forget", is_flag=True, help="Forget what was said by hand before."
)
@click.option(
    "--time-limit",
    "time_limit_s",
    type=click.FloatRange(min=1),
    metavar="SECONDS",
    help="Give a sheet up after so much computing; 15 if not given.",
)
@json_option
@collection_option
def measure_command(
    what: str | None,
    everything: bool,
    dpi: float | None,
    page: int | None,
    overlay: Path | None,
    holes: tuple[str, ...],
    no_holes: tuple[str, ...],
    foot: str | None,
    said_in: Path | None,
    forget: bool,
    time_limit_s: float | None,
    as_json: bool,
    collection: Path,
) -> int:
    """Measure a pricking: pins, footside, ground, repeat, an estimate of pairs and thread.

    FILE is a scan, an SVG drawing or a PDF; SHELFMARK measures the first sheet of a record and
    keeps the result with it; --all measures every sheet not measured yet.

    What you say by hand overrules what is found. It is kept with the sheet of a record, added to
    what was said before, and holds whenever the sheet is measured again. FILE in --by-hand holds
    lines such as hole = ["21.6,22.0 mm"], no_hole = ["640,512 px"], foot = "left".
    """
    if everything == (what is not None):
        raise UsageError(
            "Say what to measure: a file, a shelfmark, or --all.",
            "For example “prickings measure sheet.png” or “prickings measure --all”.",
        )
    said = make_by_hand(holes=holes, no_holes=no_holes, foot=foot)
    if said_in is not None:
        said = read_said(said_in).then(said)
    if everything and (forget or said != NOTHING_SAID):
        raise UsageError(
            "What is said by hand is said of one sheet, not of all.",
            "Name its shelfmark instead of --all.",
        )
    if what is None:
        return _measure_all(collection, time_limit_s=time_limit_s, as_json=as_json)
    path = Path(what)
    if _looks_like_a_file(path) or path.exists():
        with progress_bar("Measuring") as progress:
            progress(0, 1)
            found = measure_file(path, page=page, dpi=dpi, said=said, time_limit_s=time_limit_s)
        shown = path
    else:
        _refuse_of_record(dpi=dpi, page=page)
        with open_collection(collection) as opened, progress_bar("Measuring") as progress:
            progress(0, 1)
            afresh = forget or said_in is not None
            shown, found = measure_record(
                opened, what, said=said, afresh=afresh, time_limit_s=time_limit_s
            )
    if as_json:
        print_json(found.model_dump(mode="json"))
    else:
        print_measurement(found)
    if overlay is not None:
        draw_found(shown, found, overlay)
        if not as_json:
            click.echo(f"\nWhat was found is drawn over the sheet in “{overlay}”.")
    return DONE


def _refuse_of_record(*, dpi: float | None, page: int | None) -> None:
    """Refuse what a record's sheet is told when it is attached."""
    if dpi is not None:
        raise UsageError(
            "--dpi is for a file that belongs to no record.",
            "Give a record's sheet its resolution with “prickings attach … --dpi N”.",
        )
    if page is not None:
        raise UsageError(
            "--page is for a file that belongs to no record.",
            "Save the page as a file of its own and attach that to the record.",
        )


def _looks_like_a_file(path: Path) -> bool:
    return path.suffix.lower() in FILE_ENDINGS or len(path.parts) > 1


def _measure_all(collection: Path, *, time_limit_s: float | None, as_json: bool) -> int:
    with open_collection(collection) as opened, progress_bar("Measuring") as progress:
        done = measure_all(opened, time_limit_s=time_limit_s, progress=progress)
    if as_json:
        print_json(
            {
                "measured": done.measured,
                "current": done.current,
                "findings": [finding.model_dump() for finding in done.findings],
            }
        )
    else:
        click.echo(f"Measured {counted(done.measured, 'sheet')}; {done.current:,} measured before.")
        if done.findings:
            click.echo(f"\n{counted(len(done.findings), 'sheet')} could not be measured:")
            print_findings(done.findings)
    return NEEDS_A_PERSON if done.findings else DONE
