"""Other processes of this program that take a share of work on very many things.

What is done does not depend on who does it: results come in the order of the tasks, and a task
whose process dies is done here. The processes are plain children that wait for tasks, as those
of `archive.apart`: no guard is asked of the program that starts them, and they do not outlive
it. They read nothing from elsewhere and have no limits.
"""

from __future__ import annotations

import gc
import os
import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from types import TracebackType
from typing import Any, Generic, TypeVar

from archive.apart import answer, ask, start_child

T = TypeVar("T")
R = TypeVar("R")

MOST = 3
"""Processes beside this one: each takes about 80 MB (benchmarks/publishing.py)."""
ENOUGH = 12
"""Tasks for which processes are started at all: each needs half a second of computing for that."""

_START = "from archive.helping import help_out; help_out()"


class Helpers:
    """The processes that help, started with the first work that is large enough.

    A context manager: on leaving, they end.
    """

    def __init__(self) -> None:
        self._processes: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> Helpers:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for process in self._processes:
            process.kill()
            process.communicate()

    def begin(self, work: Callable[[T], R], tasks: Sequence[T]) -> Shared[T, R]:
        """Have the helpers begin with the tasks; this process joins in when it asks for results.

        The work is a function of a module's own or an object; it, the tasks and the results can
        be pickled. Only one work is under way at a time.
        """
        if len(tasks) >= ENOUGH and not self._processes:
            helpers = min(MOST, (os.cpu_count() or 1) - 1)
            self._processes = [start_child(_START, subprocess.DEVNULL) for _ in range(helpers)]
        alive = [process for process in self._processes if process.poll() is None]
        return Shared(work, tasks, alive if len(tasks) > 1 else [])


class Shared(Generic[T, R]):
    """A work under way. Made by `Helpers.begin`."""

    def __init__(
        self,
        work: Callable[[T], R],
        tasks: Sequence[T],
        processes: Sequence[subprocess.Popen[bytes]],
    ) -> None:
        self._work = work
        self._left = deque(enumerate(tasks))
        self._done: dict[int, R] = {}
        self._errors: list[Exception] = []
        self._threads = [
            threading.Thread(target=self._hand_out, args=(process,), daemon=True)
            for process in processes
        ]
        for thread in self._threads:
            thread.start()

    def finish(self) -> list[R]:
        """Do what is left, and return the results in the order of the tasks.

        Raises:
            Exception: whatever the work raised.
        """
        self._do_what_is_left()
        for thread in self._threads:
            thread.join()
        self._do_what_is_left()  # what a process that died had taken
        if self._errors:
            raise self._errors[0]
        return [result for _, result in sorted(self._done.items(), key=lambda done: done[0])]

    def _do_what_is_left(self) -> None:
        for place, task in self._taken():
            self._done[place] = self._work(task)

    def _taken(self) -> Iterator[tuple[int, T]]:
        """One task after the other, each to one taker alone."""
        while not self._errors:
            try:
                taken = self._left.popleft()
            except IndexError:
                return
            yield taken

    def _hand_out(self, process: subprocess.Popen[bytes]) -> None:
        """Have a process do tasks as long as there are any; it takes none before it is ready."""
        try:
            _answer_of(process, _learn, pickle.dumps(self._work))
            for place, task in self._taken():
                try:
                    self._done[place] = _answer_of(process, _do, task)
                except _HasDied:
                    self._left.append((place, task))
                    raise
        except _HasDied:
            process.kill()
            process.wait()
        except Exception as error:  # whatever it is, it is raised where the results are asked for
            self._errors.append(error)


class _HasDied(Exception):
    """A helper is no more."""


def _answer_of(
    process: subprocess.Popen[bytes], function: Callable[..., object], told: object
) -> Any:
    try:
        result, error = ask(process, (function, told))
    except (EOFError, OSError, pickle.UnpicklingError) as fault:
        raise _HasDied from fault
    if error is not None:
        raise error
    return result


_learnt: list[Callable[[Any], object]] = []


def _learn(work: bytes) -> None:
    _learnt.clear()  # before there is another one, which may be as large
    _learnt.append(pickle.loads(work))


def _do(task: object) -> object:
    return _learnt[0](task)


def help_out() -> None:
    """Do the tasks that come in, one by one: what a helper does all its life."""
    gc.disable()  # records are many objects and hold no cycles
    calls, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # the pipe is for answers alone
    while True:
        try:
            function, told = pickle.load(calls)
        except EOFError:
            return
        answers.write(answer(function, told))
        answers.flush()
