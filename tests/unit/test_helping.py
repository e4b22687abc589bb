from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import pytest

from archive.errors import StorageError
from archive.helping import ENOUGH, Helpers


def _by_whom(number: int) -> tuple[int, int]:
    time.sleep(0.02)
    return number, os.getpid()


class _Times:
    """Work that is told something beside its tasks."""

    def __init__(self, factor: int) -> None:
        self._factor = factor

    def __call__(self, number: int) -> int:
        return self._factor * number


def _refuse_seven(number: int) -> int:
    if number == 7:
        raise StorageError(Path("site"), "the disk is full")
    return number


def _die_of_seven(number: int) -> int:
    if number == 7 and any("help_out" in word for word in sys.orig_argv):
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@pytest.fixture(autouse=True)
def two_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.cpu_count", lambda: 2)


def test_results_come_in_the_order_of_the_tasks_whoever_did_them() -> None:
    tasks = list(range(150))
    with Helpers() as helpers:
        done = list(helpers.begin(_by_whom, tasks).results())
    assert [number for number, _ in done] == tasks
    assert len({process for _, process in done}) == 2


def test_helpers_take_up_one_work_after_the_other() -> None:
    with Helpers() as helpers:
        for factor in (2, 3):
            done = helpers.begin(_Times(factor), list(range(200))).results()
            assert list(done) == [factor * number for number in range(200)]


def test_for_a_little_work_no_process_is_started() -> None:
    with Helpers() as helpers:
        done = list(helpers.begin(_by_whom, list(range(ENOUGH - 1))).results())
    assert {process for _, process in done} == {os.getpid()}


def test_an_error_is_raised_wherever_it_happened() -> None:
    with Helpers() as helpers:
        for _ in range(3):
            with pytest.raises(StorageError, match="the disk is full"):
                list(helpers.begin(_refuse_seven, [7] * 50).results())


def test_a_work_that_cannot_be_handed_over_is_an_error_and_not_a_silence() -> None:
    with Helpers() as helpers, pytest.raises(Exception, match="pickle"):
        list(helpers.begin(lambda _: time.sleep(0.1), list(range(100))).results())


@pytest.mark.skipif(sys.platform == "win32", reason="signals are POSIX's")
def test_what_a_process_that_died_had_taken_is_done_all_the_same() -> None:
    with Helpers() as helpers:
        work = helpers.begin(_die_of_seven, [7] * 40)
        time.sleep(1)  # the helper takes the first task and dies of it
        assert list(work.results()) == [7] * 40
        assert list(helpers.begin(_die_of_seven, [1, 2]).results()) == [1, 2]
