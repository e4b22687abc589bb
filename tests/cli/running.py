"""How the tests call the command: in this process, as a process of its own, or as nobody."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from archive.cli import main
from archive.cli.commands import COMMANDS

COMMAND = Path(sys.executable).with_name("prickings")
NOBODY = 65534
forking = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
not_as_root = pytest.mark.skipif(
    getattr(os, "geteuid", lambda: 0)() == 0, reason="no mode keeps root from reading a file"
)


@dataclass(frozen=True)
class Told:
    """What a command printed, and how it ended."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The answer of a command that was called with --json."""
        return json.loads(self.out)


def run(*arguments: str) -> Told:
    """Call the command's entry point in this process; an exception is a bug and goes on."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    code: Any = 0
    with (
        redirect_stdout(out),
        redirect_stderr(err),
        patch.object(sys, "argv", ["prickings", *arguments]),
    ):
        try:
            main()
        except SystemExit as ending:
            code = ending.code
    return Told(int(code or 0), _written(out), _written(err))


def _written(stream: io.TextIOWrapper) -> str:
    stream.flush()
    assert isinstance(stream.buffer, io.BytesIO)
    return stream.buffer.getvalue().decode()


def run_apart(*arguments: str, most_bytes: int | None = None, **environment: str) -> Told:
    """Call the command as a process of its own; no file may grow beyond `most_bytes`."""

    def limit() -> None:
        import resource

        assert most_bytes is not None
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    done = subprocess.run(
        [COMMAND, *arguments],
        capture_output=True,
        check=False,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1", **environment},
        preexec_fn=None if most_bytes is None else limit,
    )
    return Told(done.returncode, done.stdout.decode(), done.stderr.decode())


def run_as_nobody(*arguments: str) -> Told:
    """Call the command without any right to write: root, whom no mode stops, becomes nobody."""
    for room, _ in COMMANDS.values():
        __import__(f"archive.cli.{room}")
    return _in_a_child(lambda: run(*arguments))


def _in_a_child(work: Callable[[], Told]) -> Told:
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        try:
            if os.geteuid() == 0:
                os.setuid(NOBODY)
            told = work()
        except BaseException:
            told = Told(-1, "", traceback.format_exc())
        os.write(writing, json.dumps([told.code, told.out, told.err]).encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        code, out, err = json.loads(stream.read())
    os.waitpid(child, 0)
    return Told(code, out, err)


def make_read_only(folder: Path) -> None:
    """Everybody may look into the folder and read what is in it, and nobody may change it."""
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)


def content_of(folder: Path) -> dict[str, bytes | None]:
    """Every path below a folder with what it holds; None for a folder."""
    return {
        path.relative_to(folder).as_posix(): None if path.is_dir() else path.read_bytes()
        for path in sorted(folder.rglob("*"))
    }


@contextmanager
def unchanged(folder: Path) -> Iterator[None]:
    """Whatever happens in the block leaves every byte of the folder as it was."""
    before = content_of(folder)
    yield
    assert content_of(folder) == before


def refused(told: Told, code: int, problem: str, advice: str) -> None:
    """The command ended with this code and told exactly this problem and this advice."""
    assert (told.code, told.out, told.err) == (code, "", f"{problem}\n{advice}\n")
