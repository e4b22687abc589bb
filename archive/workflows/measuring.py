"""Measuring sheets: single files, one record's sheets, or all that are not yet current."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import SimpleQueue

from archive.apart import Apart
from archive.errors import (
    InputError,
    NotFound,
    PrickingsError,
    UnreadableFile,
    UsageError,
    reading_errors,
)
from archive.geometry import ANALYSER, draw_overlay, measure
from archive.progress import Progress, untold
from archive.records import Attachment, Entry, Finding, PairEstimate
from archive.records.byhand import NOTHING_SAID, ByHand, read_by_hand
from archive.records.house import HouseRules
from archive.records.measurement import Measurement
from archive.resolution import MM_PER_INCH
from archive.store import Collection, Writer, check_kept
from archive.workflows.reading import reading_room


@dataclass
class MeasuredAll:
    """What a run over the collection did: files measured now, files current, findings."""

    measured: int = 0
    current: int = 0
    findings: list[Finding] = field(default_factory=list)


@dataclass(frozen=True)
class _Sheet:
    shelfmark: str
    attachment: Attachment
    path: Path
    by_hand: ByHand


def read_said(path: Path) -> ByHand:
    """What a person says of a sheet in a TOML file.

    Raises:
        UnreadableFile: it cannot be read, or says something else.
    """
    with reading_errors(path, "Check the name, or save it anew as UTF-8."):
        text = path.read_text(encoding="utf-8-sig")
    return read_by_hand(text, path)


def measure_file(
    path: Path,
    *,
    page: int | None = None,
    dpi: float | None = None,
    said: ByHand = NOTHING_SAID,
    time_limit_s: float | None = None,
) -> Measurement:
    """Measure a file that belongs to no collection, by the default house rules."""
    px_per_mm = dpi / MM_PER_INCH if dpi else None
    with reading_room(time_limit_s) as room:
        return room.read(measure, path, page=page, px_per_mm=px_per_mm, by_hand=said)


def measure_record(
    collection: Collection,
    shelfmark: str,
    *,
    said: ByHand = NOTHING_SAID,
    afresh: bool = False,
    time_limit_s: float | None = None,
) -> tuple[Path, Measurement]:
    """Measure the first sheet of a record and keep the result with it.

    What a person says of the sheet is added to what was said of it before, or takes its place
    where `afresh`; it is kept with the sheet and holds whenever that is measured again.

    Returns the stored file and what was found on it.

    Raises:
        NotFound: the record has no sheet.
        InputError: a place lies beside the sheet, or is in millimetres without a scale.
    """
    entry = collection.get_entry(shelfmark)
    sheet = next(_sheets_of(collection, entry), None)
    if sheet is None:
        raise NotFound(
            f"“{entry.shelfmark}” has no pricking to measure.",
            "Attach a scan or a drawing with “prickings attach”.",
        )
    before = NOTHING_SAID if afresh else sheet.by_hand
    sheet = replace(sheet, by_hand=before.then(said))
    with reading_room(time_limit_s) as room:
        measurement = _measure_sheet(room, sheet, collection.settings.house)
    # Places keep their meaning in pixels should the resolution ever be corrected.
    sheet = replace(sheet, by_hand=sheet.by_hand.in_px(measurement.scale.px_per_mm))
    with collection.writing() as writer:
        writer.keep_by_hand(sheet.attachment.sha256, sheet.by_hand)
        _keep(collection, writer, sheet, measurement)
    return sheet.path, measurement


def draw_found(sheet: Path, found: Measurement, out: Path) -> None:
    """Draw what was found over the sheet, into a file of its own.

    Raises:
        UsageError: `out` is the sheet itself, or ends in neither .svg nor .png.
        StorageError: there is no room or no permission.
    """
    with suppress(OSError):  # Whoever opens them says what is the matter.
        if out.samefile(sheet):
            raise UsageError(
                f"The overlay would take the place of the sheet “{out}” itself.",
                "Give it a name of its own; nothing has been changed.",
            )
    with reading_room() as room:
        room.read(draw_overlay, sheet, found, out)


def measure_all(
    collection: Collection,
    *,
    time_limit_s: float | None = None,
    progress: Progress = untold,
) -> MeasuredAll:
    """Measure every sheet that was not yet measured as it stands, on all cores.

    Each result is kept as soon as it is there, so a stopped run goes on where it was. A sheet
    that cannot be measured, or takes its process down, is a finding, not an end.
    """
    done = MeasuredAll()
    waiting = []
    for entry in collection.entries():
        for sheet in _sheets_of(collection, entry):
            if find_current(collection, sheet.attachment) is not None:
                done.current += 1
            else:
                waiting.append(sheet)
    findings: dict[int, Finding] = {}
    measured = _measure_side_by_side(waiting, collection.settings.house, time_limit_s)
    for done_now, (place, outcome) in enumerate(measured, start=1):
        if isinstance(outcome, Measurement):
            with collection.writing() as writer:
                _keep(collection, writer, waiting[place], outcome)
            done.measured += 1
        else:
            findings[place] = Finding(
                code="not-measured",
                shelfmark=waiting[place].shelfmark,
                found=outcome.problem,
                advice=outcome.advice,
            )
        progress(done_now, len(waiting))
    done.findings = [findings[place] for place in sorted(findings)]
    return done


def _measure_side_by_side(
    sheets: Sequence[_Sheet], house: HouseRules, time_limit_s: float | None
) -> Iterator[tuple[int, Measurement | PrickingsError]]:
    """Each sheet's place with its measurement or what is wrong, in the order they get done.

    A thread for each core waits on a process of its own. When the work is broken off, what has
    not begun is dropped and what has begun is stopped.
    """
    workers = max(1, min(os.cpu_count() or 1, len(sheets)))
    free: SimpleQueue[Apart] = SimpleQueue()

    def measure_in_free_room(sheet: _Sheet) -> Measurement:
        room = free.get()
        try:
            return _measure_sheet(room, sheet, house)
        finally:
            free.put(room)

    with ThreadPoolExecutor(workers) as threads, ExitStack() as rooms:
        for _ in range(workers):
            free.put(rooms.enter_context(reading_room(time_limit_s)))
        running = {
            threads.submit(measure_in_free_room, sheet): place for place, sheet in enumerate(sheets)
        }
        rooms.callback(threads.shutdown, wait=False, cancel_futures=True)
        for future in as_completed(running):
            yield running[future], _outcome(future, sheets[running[future]])


def _outcome(future: Future[Measurement], sheet: _Sheet) -> Measurement | PrickingsError:
    """What came of a sheet; a mistake of the program is told as one, and ends nothing."""
    try:
        return future.result()
    except PrickingsError as error:
        return error
    except Exception as mistake:
        return InputError(
            f"“{sheet.attachment.file_name}” brought the measuring to a mistake of its own "
            f"({type(mistake).__name__}: {mistake}).",
            "Please report it, with the sheet if you may. The other sheets are not touched by it.",
        )


def _sheets_of(collection: Collection, entry: Entry) -> Iterator[_Sheet]:
    for attachment in entry.attachments:
        if attachment.role == "pricking":
            by_hand = collection.get_by_hand(attachment.sha256)
            yield _Sheet(entry.shelfmark, attachment, collection.path_of(attachment), by_hand)


def _measure_sheet(room: Apart, sheet: _Sheet, house: HouseRules) -> Measurement:
    """Measure a stored sheet, which is called by the name it came with."""
    attachment = sheet.attachment
    check_kept(sheet.path, attachment.sha256)
    try:
        found = room.read(
            measure,
            sheet.path,
            px_per_mm=_given_scale(attachment),
            settings=house,
            by_hand=sheet.by_hand,
        )
    except UnreadableFile as error:
        raise UnreadableFile(attachment.file_name, error.reason, error.advice) from error
    source = found.source and found.source.model_copy(update={"file": attachment.file_name})
    return found.model_copy(update={"source": source})


def _given_scale(attachment: Attachment) -> float | None:
    return attachment.px_per_mm if attachment.scale_known_by == "given" else None


def _fingerprint(attachment: Attachment, house: HouseRules, by_hand: ByHand) -> str:
    """What a measurement depends on beside the file and the analyser."""
    made_by = f"{_given_scale(attachment)} {house.model_dump_json()}"
    if by_hand != NOTHING_SAID:
        made_by += f" {by_hand.model_dump_json()}"
    return hashlib.sha256(made_by.encode()).hexdigest()


def find_current(collection: Collection, attachment: Attachment) -> Measurement | None:
    """The kept measurement of a sheet if it would come out the same today, else None."""
    by_hand = collection.get_by_hand(attachment.sha256)
    kept = collection.get_measurement(
        attachment.sha256,
        settings_fingerprint=_fingerprint(attachment, collection.settings.house, by_hand),
    )
    return kept if kept is not None and kept.analyser == ANALYSER else None


def _keep(collection: Collection, writer: Writer, sheet: _Sheet, measurement: Measurement) -> None:
    """Keep the measurement, and the estimate of pairs with the record's other pairs."""
    attachment = sheet.attachment
    fingerprint = _fingerprint(attachment, collection.settings.house, sheet.by_hand)
    writer.keep_measurement(attachment.sha256, measurement, fingerprint)
    pattern = collection.get_entry(sheet.shelfmark).pattern
    estimate = _estimate(measurement)
    if attachment.sequence == 1 and estimate != pattern.pairs.estimated:
        pairs = pattern.pairs.model_copy(update={"estimated": estimate})
        writer.save([pattern.model_copy(update={"pairs": pairs})], how="measured")


def _estimate(measurement: Measurement) -> PairEstimate | None:
    pairs = measurement.pairs
    if pairs is None:
        return None
    return PairEstimate(value=pairs.estimate, low=pairs.low, high=pairs.high, reasons=pairs.reasons)
