"""Drawings, documents and pictures made to harm: refused with their reason, or honestly read.

The reader's process may fall; this one must not, and the next sheet must be read as ever.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from archive.apart import Apart
from archive.errors import UnreadableFile
from archive.geometry import measure
from archive.limits import Limits
from archive.records.measurement import Measurement
from tests.faults.hostile.sheets import HOSTILE, altered, cut_off, sound

CUT_OFF = dict(cut_off())
ALTERED = dict(altered())


@pytest.fixture(scope="module")
def room() -> Iterator[Apart]:
    with Apart(advice="Save it anew.", limits=Limits(cpu_s=2)) as room:
        yield room


def read_or_refuse(room: Apart, path: Path, content: bytes) -> Measurement | UnreadableFile:
    path.write_bytes(content)
    try:
        return room.read(measure, path)
    except UnreadableFile as error:
        refusal = error
    assert refusal.reason
    assert refusal.advice.endswith(".")
    assert "\n" not in refusal.problem
    return refusal


@pytest.mark.parametrize("case", HOSTILE, ids=": ".join)
def test_a_hostile_sheet_is_refused_with_its_reason_or_honestly_read(
    case: tuple[str, str], room: Apart, tmp_path: Path
) -> None:
    make, reason = HOSTILE[case]
    outcome = read_or_refuse(room, tmp_path / "sheet", make())
    if reason is not None:
        assert isinstance(outcome, UnreadableFile)
        assert reason in outcome.reason


@pytest.mark.parametrize("name", CUT_OFF)
def test_a_sheet_that_breaks_off_is_read_or_refused(name: str, room: Apart, tmp_path: Path) -> None:
    read_or_refuse(room, tmp_path / "sheet", CUT_OFF[name])


@pytest.mark.parametrize("name", ALTERED)
def test_a_sheet_with_wrong_bytes_is_read_or_refused(
    name: str, room: Apart, tmp_path: Path
) -> None:
    read_or_refuse(room, tmp_path / "sheet", ALTERED[name])


@pytest.mark.parametrize("name", sound())
def test_the_files_they_were_made_from_are_read(name: str, room: Apart, tmp_path: Path) -> None:
    outcome = read_or_refuse(room, tmp_path / "sheet", sound()[name])
    assert isinstance(outcome, Measurement)
    assert outcome.pins.count == 60
