"""A record together with what hangs on it: the form in which patterns travel between layers."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from archive.records.attachment import Attachment
from archive.records.base import Record
from archive.records.measurement import Frieze, MeasuredByHand, Measurement
from archive.records.pattern import Pattern


class Measured(Record):
    """The figures of a sheet's measurement that people ask for; None where unknown.

    Every figure was found by the analyser on the scan or drawing `sha256`; lengths need a
    known scale.
    """

    sha256: str
    analyser: str
    pins: int
    width_mm: float | None = None
    length_mm: float | None = None
    foot_side: Literal["left", "right", "both", "none"] = "none"
    foot_pitch_mm: float | None = None
    ground_angle_deg: float | None = Field(None, description="from the footside")
    ground_angle_sd_deg: float | None = None
    repeat_mm: float | None = None
    repeat_rows: int | None = None
    symmetry: Frieze | None = Field(
        None, description="of the repeat; signs of International Tables for Crystallography, E"
    )
    head_pins: int | None = Field(None, description="pins outside the ground in one repeat")
    scallops: int | None = Field(None, description="scallops of the headside in one repeat")
    like_parts: int | None = Field(None, description="like parts in one turn about a centre")
    pins_per_10cm: float | None = Field(None, description="pins to set in 10 cm of lace")
    wraps_per_cm_low: float | None = None
    wraps_per_cm_high: float | None = None
    doubts: int = Field(0, description="holes that seem missing, extra or off their line")
    by_hand: MeasuredByHand | None = Field(None, description="what a person said of the sheet")


def summarise(measurement: Measurement, sha256: str) -> Measured:
    """The main figures of a measurement of the file with this SHA-256.

    The surface about a corner is as wide as an arm is long: the width of the lace is not known.
    """
    straight = None if measurement.corner.present else measurement.extent_mm
    width_mm, length_mm = straight or (None, None)
    ground, repeat, thread = measurement.ground, measurement.repeat, measurement.thread
    head = measurement.head
    return Measured(
        sha256=sha256,
        analyser=measurement.analyser,
        pins=measurement.pins.count,
        width_mm=width_mm,
        length_mm=length_mm,
        foot_side=measurement.foot.side,
        foot_pitch_mm=measurement.foot.pitch_mm,
        ground_angle_deg=ground and ground.angle_deg,
        ground_angle_sd_deg=ground and ground.angle_sd_deg,
        repeat_mm=repeat and repeat.length_mm,
        repeat_rows=repeat and repeat.rows,
        symmetry=repeat and repeat.symmetry,
        head_pins=head and head.pins_per_repeat,
        scallops=head and head.scallops_per_repeat,
        like_parts=measurement.round and measurement.round.parts,
        pins_per_10cm=measurement.effort and measurement.effort.pins_per_10cm,
        wraps_per_cm_low=thread and thread.wraps_per_cm_low,
        wraps_per_cm_high=thread and thread.wraps_per_cm_high,
        doubts=len(measurement.doubts),
        by_hand=measurement.by_hand,
    )


class Entry(Pattern):
    """A pattern with its attachments, in their sequence, and the figures of its sheet."""

    attachments: tuple[Attachment, ...] = ()
    measured: Measured | None = None

    @property
    def has_pricking(self) -> bool:
        """Whether a sheet of pinholes is attached."""
        return any(attachment.role == "pricking" for attachment in self.attachments)

    @property
    def pattern(self) -> Pattern:
        """The bare record, without what hangs on it."""
        return Pattern.model_construct(
            **{name: getattr(self, name) for name in Pattern.model_fields}
        )
