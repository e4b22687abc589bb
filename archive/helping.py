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
from typing import Any, Generic, TypeVar

from archive.apart import answer, ask, start_child

T = TypeVar("T")
R = TypeVar("R")

MOST = 3
"""Processes beside this one: each takes about 65 MB (benchmarks/publishing.py)."""
ENOUGH = 24
"""Tasks for which processes are started at all: that takes each half a second of computing."""
HANDS_OVER_S = 0.0002
"""How long this process computes on before it takes an answer in. With Python's 0.005 seconds a
helper waited two thirds of its time for answers of 300 kB to be taken in; measured."""

_START = "from archive.helping import help_out; help_out()"


class Helpers:
    """The processes that help, started with the first work that is large enough.

    A context manager: on leaving, they end.
    """

    def __init__(self) -> None:
        self._helpers: list[_Helper] = []
        self._usual_s = sys.getswitchinterval()

    def __enter__(self) -> Helpers:
        sys.setswitchinterval(HANDS_OVER_S)
        return self

    def __exit__(self, *_: object) -> None:
        sys.setswitchinterval(self._usual_s)
        for helper in self._helpers:
            helper.end()

    def begin(self, work: Callable[[T], R], tasks: Sequence[T]) -> Shared[T, R]:
        """Have the helpers begin with the tasks; this process joins in as it asks for results.

        The work is a function of a module's own or an object; it, the tasks and the results can
        be pickled. Only one work is under way at a time.
        """
        if len(tasks) >= ENOUGH and not self._helpers:
            self._helpers = [_Helper() for _ in range(min(MOST, (os.cpu_count() or 1) - 1))]
        return Shared(work, tasks, self._helpers if len(tasks) > 1 else [])


class Shared(Generic[T, R]):
    """A work under way. Made by `Helpers.begin`."""

    def __init__(
        self, work: Callable[[T], R], tasks: Sequence[T], helpers: Sequence[_Helper]
    ) -> None:
        self._work = work
        self._count = len(tasks)
        self._left = deque(enumerate(tasks))
        self._done: dict[int, R] = {}
        self._errors: list[Exception] = []
        self._news = threading.Condition()
        for helper in helpers:
            threading.Thread(target=self._hand_out, args=(helper,), daemon=True).start()

    def results(self) -> Iterator[R]:
        """The results in the order of the tasks, so that none need be held for long.

        What nobody else has taken is done here, while a result is waited for.

        Raises:
            Exception: whatever the work raised.
        """
        for place in range(self._count):
            while place not in self._done:
                if self._errors:
                    raise self._errors[0]
                if not self._do_one():
                    self._wait_for(place)
            yield self._done.pop(place)

    def _do_one(self) -> bool:
        """Do a task, if any is left."""
        taken = self._take()
        if taken is None:
            return False
        place, task = taken
        self._done[place] = self._work(task)
        return True

    def _wait_for(self, place: int) -> None:
        with self._news:
            # What a helper that dies has taken is left again.
            self._news.wait_for(lambda: place in self._done or self._left or self._errors)

    def _take(self) -> tuple[int, T] | None:
        """The next task, each for one taker alone; None where none is left."""
        try:
            return self._left.popleft()
        except IndexError:
            return None

    def _hand_out(self, helper: _Helper) -> None:
        """Have a helper do tasks as long as there are any; it takes none before it is ready."""
        try:
            with helper.busy:
                helper.ask(_learn, pickle.dumps(self._work))
                while not self._errors and (taken := self._take()):
                    self._hand_over(helper, *taken)
        except _HasDied:
            helper.kill()
        except Exception as error:  # whatever it is, it is raised where the results are asked for
            self._errors.append(error)
        with self._news:
            self._news.notify()

    def _hand_over(self, helper: _Helper, place: int, task: T) -> None:
        try:
            self._done[place] = helper.ask(_do, task)
        except _HasDied:
            self._left.append((place, task))
            raise
        with self._news:
            self._news.notify()


class _HasDied(Exception):
    """A helper is no more."""


class _Helper:
    """One process, which is `busy` with one work at a time."""

    def __init__(self) -> None:
        self.busy = threading.Lock()
        self._process = start_child(_START, subprocess.DEVNULL)

    def ask(self, function: Callable[..., object], told: object) -> Any:
        """What it answers; raises what was raised there, or `_HasDied`."""
        if self._process.poll() is not None:
            raise _HasDied
        try:
            result, error = ask(self._process, (function, told))
        except (EOFError, OSError, pickle.UnpicklingError) as fault:
            raise _HasDied from fault
        if error is not None:
            raise error
        return result

    def kill(self) -> None:
        """End what it is doing; whoever waits for it is told so."""
        self._process.kill()

    def end(self) -> None:
        """End it, and wait until nobody waits for it any more."""
        self.kill()
        with self.busy:
            self._process.communicate()


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
