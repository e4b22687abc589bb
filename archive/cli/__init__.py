"""The command `prickings`: reads options, calls a workflow, prints, exits.

The only importer of click, and the only place where errors become lines on stderr and exit
codes. Each command lives in a room of its own that is imported when it is called, so that
`prickings --help` starts quickly.
"""

from __future__ import annotations

import atexit
import errno
import gc
import sys

import click

from archive.cli.commands import CommandTable
from archive.errors import PrickingsError, StorageError

EXIT_WRONG_USE = 2
EXIT_STOPPED = 130

_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


@click.command(cls=CommandTable, invoke_without_command=True)
@click.option(
    "--collection",
    envvar="PRICKINGS_COLLECTION",
    type=click.Path(readable=False),
    metavar="DIR",
    help="Folder of the collection; PRICKINGS_COLLECTION or the current folder if not given.",
)
@click.version_option(package_name="prickings", message="prickings %(version)s")
@click.pass_context
def prickings(context: click.Context, collection: str | None) -> None:
    """Keep a guild's collection of lace prickings: catalogue, measure, find, learn, publish."""
    context.obj = collection
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def main() -> None:
    """Run the command and exit with its code (see the table in README.md)."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]
    atexit.register(_leave_garbage)
    sys.exit(_run())


def _leave_garbage() -> None:
    """Look for no garbage at the end, which took every command a quarter of a second."""
    gc.disable()
    gc.freeze()


def _run() -> int:
    try:
        return prickings.main(prog_name="prickings", standalone_mode=False) or 0
    except PrickingsError as error:
        _complain(error.problem, error.advice)
        return error.exit_code
    except click.UsageError as error:
        called = error.ctx.command_path if error.ctx else "prickings"
        _complain(error.format_message(), f"“{called} --help” shows how it is used.")
        return EXIT_WRONG_USE
    except OSError as refusal:
        # Whoever writes a file has told of it by now: what has no name is the answer itself.
        if refusal.filename is not None or refusal.errno not in _NO_ROOM:
            raise
        _complain("The answer cannot be written: the disk is full.", "Make room and ask again.")
        return StorageError.exit_code
    except click.Abort:
        _complain("Stopped.", "Everything finished before this moment is kept.")
        return EXIT_STOPPED


def _complain(problem: str, advice: str) -> None:
    click.echo(problem, err=True)
    click.echo(advice, err=True)
