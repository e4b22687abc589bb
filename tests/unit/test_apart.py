"""Whatever a reader does in its own process, this one lives on and says what happened."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from archive.apart import Apart
from archive.errors import UnreadableFile
from archive.limits import BasicJobLimits, ExtendedJobLimits, Limits

SHEET = Path("sheet.svg")
USUAL = Limits()
keeps_memory = pytest.mark.skipif(
    sys.platform == "darwin", reason="macOS takes no notice of a limit of memory"
)


def tell_process(path: Path, *, of: str = "") -> tuple[str, str, int]:
    return path.name, of, os.getpid()


def compute_forever(path: Path) -> None:
    while path:
        pass


def wait_forever(_path: Path) -> None:
    time.sleep(1_000)


def take_memory(_path: Path, mib: int) -> int:
    return len(bytes(mib << 20))


def break_down(_path: Path) -> None:
    os.abort()


def speak_out_of_turn(path: Path) -> str:
    print("words on the way out")
    return path.name


def refuse(path: Path) -> None:
    raise UnreadableFile(path, "it is green", "Paint it.")


def make_a_mistake(_path: Path) -> None:
    raise ZeroDivisionError("a mistake")


@pytest.fixture
def room() -> Iterator[Apart]:
    with Apart(advice="Save it anew.") as room:
        yield room


def test_a_result_comes_back_from_one_other_process(room: Apart) -> None:
    first = room.read(tell_process, SHEET, of="torchon")
    second = room.read(tell_process, SHEET, of="torchon")
    assert first == second
    assert first[:2] == ("sheet.svg", "torchon")
    assert first[2] != os.getpid()


def test_printing_does_not_disturb_the_answer(room: Apart) -> None:
    assert room.read(speak_out_of_turn, SHEET) == "sheet.svg"


def test_an_error_arrives_with_its_facts(room: Apart) -> None:
    with pytest.raises(UnreadableFile) as refusal:
        room.read(refuse, SHEET)
    assert (refusal.value.path, refusal.value.reason) == (SHEET, "it is green")
    assert refusal.value.advice == "Paint it."


def test_a_mistake_keeps_its_traceback(room: Apart) -> None:
    with pytest.raises(ZeroDivisionError) as mistake:
        room.read(make_a_mistake, SHEET)
    assert "in make_a_mistake" in "".join(mistake.value.__notes__)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows ends such a process its own way")
def test_a_breakdown_is_told_and_the_next_call_is_answered(room: Apart) -> None:
    with pytest.raises(UnreadableFile, match="breaks down") as refusal:
        room.read(break_down, SHEET)
    assert refusal.value.advice == "Save it anew."
    assert room.read(tell_process, SHEET)[0] == "sheet.svg"


@keeps_memory
def test_too_much_memory_is_told_and_the_next_call_is_answered() -> None:
    with Apart(advice="Save it anew.", limits=replace(USUAL, memory_bytes=1 << 30)) as room:
        with pytest.raises(UnreadableFile, match="more than 1 GiB of memory"):
            room.read(take_memory, SHEET, 2_000)
        assert room.read(take_memory, SHEET, 100) == 100 << 20


def test_too_much_computing_is_told() -> None:
    with (
        Apart(advice="Save it anew.", limits=replace(USUAL, cpu_s=0.5)) as room,
        pytest.raises(UnreadableFile, match=r"more than 0\.5 seconds of computing"),
    ):
        room.read(compute_forever, SHEET)


def test_each_call_has_the_whole_time() -> None:
    with Apart(advice="Save it anew.", limits=replace(USUAL, cpu_s=1)) as room:
        processes = {room.read(compute, SHEET, 0.6)[1] for _ in range(3)}
    assert len(processes) == 1


def compute(path: Path, seconds: float) -> tuple[str, int]:
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return path.name, os.getpid()


def test_too_long_a_wait_is_told() -> None:
    with (
        Apart(advice="Save it anew.", limits=replace(USUAL, wall_s=0.5)) as room,
        pytest.raises(UnreadableFile, match=r"more than 0\.5 seconds$|more than 0\.5 seconds\."),
    ):
        room.read(wait_forever, SHEET)


def test_the_process_ends_with_the_block() -> None:
    with Apart(advice="Save it anew.") as room:
        room.read(tell_process, SHEET)
        process = room._process
    assert process is not None
    assert process.poll() is not None


def test_a_program_without_a_guard_may_use_it(tmp_path: Path) -> None:
    """Nothing of the program that calls is run again in the other process."""
    script = tmp_path / "plain.py"
    script.write_text(
        "from pathlib import Path\n"
        "from archive.apart import Apart\n"
        "from tests.unit.test_apart import tell_process\n"
        "print('once')\n"
        "with Apart(advice='') as room:\n"
        "    print(room.read(tell_process, Path('x'))[0])\n",
        encoding="utf-8",
    )
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, script],
        capture_output=True,
        encoding="utf-8",
        check=True,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert done.stdout.split() == ["once", "x"]


@pytest.mark.skipif(ctypes.sizeof(ctypes.c_void_p) != 8, reason="sizes of 64-bit systems")
def test_the_limits_of_a_job_are_laid_out_as_windows_reads_them() -> None:
    """Source: winnt.h, sizes on 64-bit Windows."""
    assert ctypes.sizeof(BasicJobLimits) == 64
    assert ctypes.sizeof(ExtendedJobLimits) == 144
    assert BasicJobLimits.flags.offset == 16
    assert ExtendedJobLimits.process_memory.offset == 112
