"""What the commands share: options, tables, JSON, progress."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from archive.progress import Progress, untold

if TYPE_CHECKING:
    from archive.records import Finding

F = TypeVar("F", bound=Callable[..., Any])
Line = tuple[str, str]
"""A label and what stands beside it."""

PATH = click.Path(path_type=Path, readable=False)
"""A path as it is given; whoever opens it says what is the matter with it."""

MOST_PLACES = 5
"""Places of the same finding told by name."""

DONE = 0
NEEDS_A_PERSON = 1


def collection_option(command: F) -> F:
    """Give a command `--collection`; the group's own, or PRICKINGS_COLLECTION, stands in for it."""

    def chosen(context: click.Context, _: click.Parameter, folder: str | None) -> Path:
        return Path(folder or context.find_root().obj or ".")

    return click.option(
        "--collection",
        type=click.Path(readable=False),
        metavar="DIR",
        callback=chosen,
        help="Folder of the collection.",
    )(command)


def json_option(command: F) -> F:
    """Give a command `--json`."""
    return click.option("--json", "as_json", is_flag=True, help="Answer in JSON instead of words.")(
        command
    )


def print_json(answer: Any) -> None:
    """Print an answer as indented JSON."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2))


def print_lines(lines: Iterable[Line]) -> None:
    """Print labelled lines, the labels in a column of their own."""
    told = [(label, text) for label, text in lines if text]
    width = max((len(label) for label, _ in told), default=0)
    for label, text in told:
        click.echo(click.wrap_text(text, 88, f"{label:<{width}}  ", " " * (width + 2)))


def print_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under headings, in columns as wide as their longest cell."""
    widths = [max(len(row[i]) for row in (headings, *rows)) for i in range(len(headings))]
    rule = ["─" * width for width in widths]
    for row in (headings, rule, *rows):
        padded = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.echo("  ".join(padded).rstrip())


def group_findings(findings: Iterable[Finding]) -> list[list[Finding]]:
    """The findings that say the same of the same column together, where the first one stands."""
    alike: dict[tuple[str, str | None, str, str], list[Finding]] = {}
    for one in findings:
        alike.setdefault((one.code, one.column, one.found, one.advice), []).append(one)
    return list(alike.values())


def print_findings(findings: Iterable[Finding]) -> None:
    """Print where, what stands there and what would do; once where it is the same."""
    for alike in group_findings(findings):
        place, first = _places(alike), alike[0]
        click.echo(f"  {place}: {first.found}" if place else f"  {first.found}")
        click.echo(f"      {first.advice}")


def _places(alike: Sequence[Finding]) -> str:
    rows = list(dict.fromkeys(str(one.row) for one in alike if one.row is not None))
    marks = list(dict.fromkeys(one.shelfmark for one in alike if one.shelfmark))
    heading = f"“{alike[0].column}”" if alike[0].column else ""
    if len(rows) > 1:
        parts = [f"rows {_together(rows)}", heading]
    else:
        parts = [f"row {rows[0]}" if rows else "", _together(marks), heading]
    return ", ".join(filter(None, parts))


def _together(words: Sequence[str]) -> str:
    """The words in one, at most five of them by name."""
    if len(words) > MOST_PLACES:
        return f"{', '.join(words[:MOST_PLACES])} and {len(words) - MOST_PLACES:,} more"
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


@contextmanager
def progress_bar(label: str) -> Iterator[Progress]:
    """A callback (done, of) that draws a bar on stderr; silent when it is no terminal."""
    if not sys.stderr.isatty():
        yield untold
        return
    width = 30

    def draw(done: int, of: int) -> None:
        filled = width * done // max(of, 1)
        bar = "█" * filled + "·" * (width - filled)
        click.echo(f"\r{label} {bar} {done:,} of {of:,}", err=True, nl=False)

    try:
        yield draw
    finally:
        click.echo("\r\033[K", err=True, nl=False)


def counted(number: int, one: str, many: str | None = None) -> str:
    """The number with its noun: “1 pattern”, “12 patterns”."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
