"""What a measurement of one pricking is: the analyser's result.

Knows the fields, their units and their limits. Knows no files, no arrays and nothing about
how anything is found. Positions are `(x, y)` from the top left corner, y down; `_px` counts
pixels of the scan (or of the drawing at 96 to the inch), `_mm` is null while the scale is
unknown. Angles are measured from the footside.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from archive.records.byhand import FootSide, Mark

Point = tuple[float, float]
Count = Annotated[int, Field(ge=0)]
PageNumber = Annotated[int, Field(ge=1)]
Length = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Angle = Annotated[float, Field(ge=-90, le=90, allow_inf_nan=False)]
Percent = Annotated[float, Field(allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


Frieze = Literal["p1", "p11g", "p1m1", "p11m", "p2", "p2mg", "p2mm"]
"""The seven symmetries a strip can have, by their signs in International Tables for
Crystallography, volume E: none; a glide; mirrored across; mirrored along; turned by half; turned
with mirrors across and glides; turned with mirrors both ways."""

SYMMETRIES: dict[Frieze, str] = {
    "p1": "no mirror line and no turn within it",
    "p11g": "half a repeat on it comes back mirrored from side to side: a glide",
    "p1m1": "mirrored across the lace: it reads the same upwards and downwards",
    "p11m": "mirrored along the lace: left and right alike",
    "p2": "the same when turned by half",
    "p2mg": "mirrored across the lace, and half a repeat on mirrored from side to side; the same "
    "when turned by half",
    "p2mm": "mirrored across and along the lace; the same when turned by half",
}
"""What each of them says to a lacemaker."""

DOUBTED = {
    "missing": "a hole seems missing",
    "extra": "a hole seems one too many",
    "off-line": "a hole stands off its line",
}
"""The kinds of doubt in words."""

BENT = {
    "slanted": "photographed at a slant",
    "cockled": "cockled, or copied unevenly",
    "slanted and cockled": "photographed at a slant and cockled, or copied unevenly",
}
"""The kinds of bend in words."""


class _Frozen(BaseModel):
    """A record that never changes and takes no field it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)


class SourceFile(_Frozen):
    """The file that was measured."""

    file: str
    """Its name, without the folder."""
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    media_type: str
    width_px: Positive
    height_px: Positive
    page: PageNumber = 1
    """Which of its pages."""
    pages: PageNumber = 1
    """How many it has."""


class Scale(_Frozen):
    """How many pixels make a millimetre, and who says so."""

    px_per_mm: Positive | None
    how: Literal["embedded", "given", "drawing-units", "unknown"]


class Pins(_Frozen):
    """Every pinhole found."""

    count: Count
    positions_px: tuple[Point, ...]
    positions_mm: tuple[Point, ...] | None


class Foot(_Frozen):
    """The footside: a straight line of pins at one distance, with nothing outside it."""

    side: FootSide
    pitch_mm: Positive | None
    pitch_px: Positive | None
    """Mean distance of neighbouring edge pins."""
    pitch_sd_mm: Length | None
    """Standard deviation of the single gaps about that mean."""
    pins: Count
    """Edge pins on all footsides together."""
    perhaps_head: bool = False
    """Whether either of the two sides may as well be a straight headside: both are edged alike, by
    pins of the ground itself."""


class Ground(_Frozen):
    """The lattice on which the ground is pricked."""

    angle_deg: Angle
    """Angle between a ground line and the footside."""
    angle_sd_deg: Length
    """Standard error of that angle."""
    pitch_mm: Positive | None
    pitch_px: Positive
    """Distance of neighbouring pins in one column, along the footside."""
    column_mm: Positive | None
    column_px: Positive
    """Distance of neighbouring columns, across the lace."""
    rms_px: Length
    """Root mean square distance of the pins from their lattice places."""
    share_on_lattice: Share
    """Share of all pins that stand on the lattice."""


class Area(_Frozen):
    """A connected part of the pricking, and how its lattice places are filled."""

    kind: Literal["full net", "honeycomb net", "open"]
    pins: Count
    """Pins in a net; pins round an open area."""
    area_mm2: Length | None
    outline_px: tuple[Point, ...]


class Rings(_Frozen):
    """Small rounds of pins that stand by themselves or have a closed line drawn round them.

    A ring set into a net without such a line stands on the net's own pins and is not counted.
    """

    four_pin: Count
    six_pin: Count


class MeasuredRepeat(_Frozen):
    """The smallest step along the footside that brings the pins onto themselves."""

    length_mm: Positive | None
    length_px: Positive
    rows: Annotated[int, Field(ge=1)] | None
    """The step in gaps of the ground (of the footside, where there is no ground)."""
    pins: Count
    """Pins in one repeat."""
    count: Count
    """Whole repeats on the sheet."""
    mirrored: bool
    """Whether the second half of the repeat is the first half mirrored, in the ground's figures."""
    symmetry: Frieze | None = None
    """What brings the whole lace onto itself beside its repeat, edge pins and picots among it; null
    beside a corner."""


class MeasuredHead(_Frozen):
    """The headside of an edging with a ground, in one repeat."""

    pins_per_repeat: Count
    """Pins outside the ground: picots, pins of the hollows, outer pins of fans."""
    scallops_per_repeat: Count
    """0 where the headside is straight."""


class MeasuredCorner(_Frozen):
    """Whether two footsides meet at a right angle."""

    present: bool


class MeasuredRound(_Frozen):
    """How a lace lies about a centre, such as a mat: part of a turn brings its pins onto others."""

    parts: Annotated[int, Field(ge=2)]
    """Like parts in one turn."""
    pins_per_part: Count
    across_mm: Length | None
    """Twice the distance of the outermost pin from the centre."""
    across_px: Length
    centre_px: Point


class MeasuredPairs(_Frozen):
    """How many pairs the pricking seems to need. Never a count."""

    estimate: Count
    low: Count
    high: Count
    reasons: tuple[str, ...]


class MeasuredThread(_Frozen):
    """How fine a thread suits the footside by the house rule. A sample decides."""

    wraps_per_cm_low: Positive
    wraps_per_cm_high: Positive
    reason: str


class MeasuredEffort(_Frozen):
    """How much work ten centimetres of the lace are."""

    pins_per_10cm: Positive | None
    """Pins to set; null where the scale is unknown or the lace runs in no direction."""
    pair_path_cm: Positive | None
    """Estimated way of all pairs together; null where no pairs were estimated from a ground."""
    pair_path_cm_low: Positive | None
    pair_path_cm_high: Positive | None
    reason: str
    """What that way counts and what it leaves out."""


class Doubt(_Frozen):
    """A place where a person should look at the sheet."""

    x_px: float
    y_px: float
    kind: Literal["missing", "extra", "off-line"]


class MeasuredBend(_Frozen):
    """How the scale changes over a sheet that was photographed at a slant or is cockled.

    The figures are taken from the pins as they would lie on a flat sheet, and lengths are those
    in the middle of the pinned surface; positions stay where they are on the scan. How much a
    slant shortens the whole sheet one way cannot be seen from the pins.
    """

    kind: Literal["slanted", "cockled", "slanted and cockled"]
    across_percent: Percent
    """How much larger the scan shows things at the right end of the pins than at the left one,
    by the slant alone."""
    across_sd_percent: Length
    """Standard error of that."""
    down_percent: Percent
    """The same at the lower end against the upper one."""
    down_sd_percent: Length
    smallest_percent: Percent
    """Where the scan shows things smallest, against the middle."""
    largest_percent: Percent
    """Where it shows them largest."""
    cockles_sd_percent: Length
    """Standard error of the scale at a place by the cockles; 0 where there are none."""


class MeasuredStretch(_Frozen):
    """How much longer the scan seems to show lengths along the footside than across it.

    Nothing is corrected by it: the pins alone cannot tell a stretched ground from one of another
    angle.
    """

    told_by: Literal["corner", "ground"]
    """The two sides of a corner, which are pricked at one pitch; or a ground near 45°, for which
    it is no more than a question."""
    along_percent: Percent
    sd_percent: Length
    """Standard error of that."""


class MeasuredByHand(_Frozen):
    """What a person said of the sheet, on which the figures rest."""

    added: Count
    """Holes that were not found and that a person says are there."""
    taken_away: Count
    """Holes that were found and that a person says are none."""
    confirmed: Count
    """Places where a person says what was found as well."""
    foot: FootSide | None
    """Where a person says the footside is; null where it was left to the analyser."""
    marks: tuple[Mark, ...] = ()
    """Every place a person spoke of, in pixels, in the order in which they did."""


class Measurement(_Frozen):
    """What the analyser found on one pricking."""

    analyser: str
    """Version of the rules that made this measurement."""
    source: SourceFile | None
    """The measured file; null when bare positions were measured."""
    scale: Scale
    tilt_deg: Angle | None
    """Clockwise turn that sets the footside upright; null where no direction was found."""
    pins: Pins
    extent_mm: tuple[Length, Length] | None
    """Width and length of the pinned surface, set upright."""
    foot: Foot
    ground: Ground | None
    areas: tuple[Area, ...]
    rings: Rings
    repeat: MeasuredRepeat | None
    corner: MeasuredCorner
    pairs: MeasuredPairs | None
    thread: MeasuredThread | None
    doubts: tuple[Doubt, ...]
    bend: MeasuredBend | None = None
    """Null where the sheet is as flat as can be told."""
    stretch: MeasuredStretch | None = None
    """Null where nothing tells of one."""
    by_hand: MeasuredByHand | None = None
    """Null where no person has said anything of the sheet."""
    head: MeasuredHead | None = None
    """Null for an insertion, without a ground, and where no repeat shows."""
    effort: MeasuredEffort | None = None
    """Null where nothing of it is known."""
    round: MeasuredRound | None = None
    """Null for straight laces, and where no turn brings the pins onto themselves."""
