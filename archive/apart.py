"""Whatever reads a file from elsewhere runs in a process of its own, under limits.

A file that is damaged or made to do harm can take that process down, or make it run out of time
or memory. The program then says so and lives on. Knows nothing of what is read. The process is
a plain child that waits for calls: no guard is asked of the program that starts it, and it does
not outlive it.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
import threading
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any, Concatenate, ParamSpec, TypeVar

from archive.errors import StorageError, UnreadableFile
from archive.limits import Limits, ended_by_time, limit_this_process

P = ParamSpec("P")
T = TypeVar("T")

_START = "from archive.apart import answer_calls; answer_calls()"
_LAST_WORDS_BYTES = 4_000
_NO_MEMORY = (b"memory allocation", b"MemoryError", b"bad_alloc", b"ut of memory", b"failed to map")
"""What a process says that died for want of memory, if it says anything."""


class Apart:
    """A process in which files are read; started when first needed, and again after its death.

    Holds one process, so it serves one thread at a time. A context manager: on leaving, the
    process ends.
    """

    def __init__(self, *, advice: str, limits: Limits | None = None) -> None:
        self.limits = limits or Limits()
        self._advice = advice
        self._process: subprocess.Popen[bytes] | None = None
        self._words: IO[bytes] | None = None

    def __enter__(self) -> Apart:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def read(
        self,
        function: Callable[Concatenate[Path, P], T],
        path: Path,
        *args: P.args,
        **kwargs: P.kwargs,
    ) -> T:
        """What `function(path, ...)` returns, having run in the other process.

        The function is one of a module's own, and what goes in and comes out can be pickled.

        Raises:
            UnreadableFile: reading took too long or too much memory, or broke the process down.
            Exception: whatever the function raised.
        """
        process = self._running()
        out_of_time = threading.Event()

        def stop() -> None:
            out_of_time.set()
            process.kill()

        clock = threading.Timer(self.limits.wall_s, stop)
        clock.start()
        try:
            result, error = ask(process, (function, path, args, kwargs, self.limits))
        except (EOFError, OSError, pickle.UnpicklingError) as fault:
            reason = self._cause_of_death(process, out_of_time=out_of_time.is_set())
            raise UnreadableFile(path, reason, self._advice) from fault
        except BaseException:
            self.end()
            raise
        finally:
            clock.cancel()
        if isinstance(error, MemoryError):
            self.end()
            raise UnreadableFile(path, self._too_large(), self._advice) from error
        if error is not None:
            raise error
        found: T = result
        return found

    def end(self) -> None:
        """End the process, whatever it is doing."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None
        if self._words is not None:
            self._words.close()
            self._words = None

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is not None and self._process.poll() is None:
            return self._process
        self.end()
        try:
            # the file is closed in `end`, with the process that writes to it
            self._words = tempfile.TemporaryFile()  # noqa: SIM115
        except OSError as cause:
            reason = "there is no room or no permission on the disk they go to"
            raise StorageError("temporary files", reason) from cause
        self._process = start_child(_START, self._words)
        return self._process

    def _cause_of_death(self, process: subprocess.Popen[bytes], *, out_of_time: bool) -> str:
        process.kill()
        code = process.wait()
        words = self._last_words()
        self.end()
        if out_of_time:
            return f"reading it took more than {self.limits.wall_s:g} seconds"
        if ended_by_time(code):
            return f"reading it took more than {self.limits.cpu_s:g} seconds of computing"
        if any(sign in words for sign in _NO_MEMORY):
            return self._too_large()
        return "it is damaged, or made so that reading it breaks down"

    def _last_words(self) -> bytes:
        if self._words is None:
            return b""
        end = self._words.seek(0, os.SEEK_END)
        self._words.seek(max(0, end - _LAST_WORDS_BYTES))
        return self._words.read()

    def _too_large(self) -> str:
        return f"reading it needs more than {self.limits.memory_bytes / 1024**3:g} GiB of memory"


def start_child(code: str, words: IO[bytes] | int) -> subprocess.Popen[bytes]:
    """A Python of its own that runs `code` and can be asked; what it says goes to `words`."""
    return subprocess.Popen(
        [sys.executable, "-P", "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=words,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
            # each thread of the number library would lay claim to memory in advance
            "OPENBLAS_NUM_THREADS": "1",
        },
    )


def ask(process: subprocess.Popen[bytes], call: tuple[Any, ...]) -> tuple[Any, Exception | None]:
    """What a child answers to a call: a result, or the error that was raised instead."""
    assert process.stdin is not None
    assert process.stdout is not None
    pickle.dump(call, process.stdin)
    process.stdin.flush()
    answered: tuple[Any, Exception | None] = pickle.load(process.stdout)
    return answered


def answer_calls() -> None:
    """Work off the calls that come in, one by one: what the other process does all its life."""
    calls, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # the pipe is for answers alone
    while True:
        try:
            function, path, args, kwargs, limits = pickle.load(calls)
        except EOFError:
            return
        limit_this_process(limits)
        answers.write(answer(function, path, *args, **kwargs))
        answers.flush()


def answer(function: Callable[..., object], *args: object, **kwargs: object) -> bytes:
    """Result and error, pickled; a bug brings its traceback along as a note."""
    try:
        return pickle.dumps((function(*args, **kwargs), None))
    except MemoryError:
        return pickle.dumps((None, MemoryError()))
    except Exception as error:  # whatever it is, it is raised where the call came from
        error.add_note(traceback.format_exc())
        return pickle.dumps((None, error))
