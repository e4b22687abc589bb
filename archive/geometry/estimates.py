"""How many pairs a pricking seems to need, and how fine a thread: estimates with their reasons.

Knows counts taken from the sheet and the house rules in `HouseRules`; knows no positions.

Every ground pin takes two pairs in and gives two out, so a cut across the lace crosses the same
number of pairs wherever it is made: one more than the ground has columns.

Source: the columns rule is conservation at the pins; it gives the 10 pairs that Th. de Dillmont,
Encyclopedia of Needlework (c. 1886), states for figure 787 and for figure 791.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archive.records.house import HouseRules
from archive.records.measurement import MeasuredEffort, MeasuredPairs, MeasuredThread

SPREAD = 0.08
"""Half width of the range, as a part of the estimate: passives and habits differ by a pair or
two in twenty. Common practice, no source."""

WIDEST_SPREAD = 0.15

TORCHON_ANGLE_DEG = (42.0, 48.0)
POINT_GROUND_ANGLE_DEG = (50.0, 72.0)
"""Source: durell.me.uk/BucksPointSub.html gives 45° for torchon and 52° to 70° for Bucks point;
widened by what a stretched copy does."""


def pairs_of_ground(
    columns: int,
    *,
    feet_off_ground: int,
    feet_on_ground: int,
    shaped_head: bool,
    settings: HouseRules,
) -> MeasuredPairs:
    """Pairs of a lace on a ground, by the columns rule and the house's habits.

    Args:
        columns: pin columns of the ground at its widest.
        feet_off_ground: footsides whose edge pins stand off the ground's places.
        feet_on_ground: footsides whose edge pins are the ground's own last column.
        shaped_head: whether pins follow a headside outside the ground.
        settings: the house rules.
    """
    estimate = columns + 1
    reasons = [
        f"{columns} columns of ground pins at the widest place carry {estimate} pairs, "
        "one more than there are columns."
    ]
    if feet_off_ground:
        estimate += feet_off_ground * (settings.foot_passive_pairs + settings.foot_edge_pairs)
        reasons.append(
            f"By the house rule {_each(feet_off_ground)} adds {settings.foot_passive_pairs} "
            f"passive pairs and {settings.foot_edge_pairs} for the edge."
        )
    if feet_on_ground:
        # the column of edge pins is among those counted: it stands for one of the passives
        estimate += feet_on_ground * max(0, settings.foot_passive_pairs - 1)
        reasons.append(
            f"By the house rule {_each(feet_on_ground)} has {settings.foot_passive_pairs} "
            "passive pairs beside its edge pins, one of which the columns already count."
        )
    if shaped_head:
        estimate += settings.head_passive_pairs
        reasons.append(
            f"By the house rule the headside adds {settings.head_passive_pairs} passive pairs."
        )
    reasons.append("Gimps are counted apart. This is an estimate, not a count.")
    spread = min(max(1, round(SPREAD * estimate)), int(WIDEST_SPREAD * estimate))
    return MeasuredPairs(
        estimate=estimate,
        low=estimate - spread,
        high=estimate + spread,
        reasons=tuple(reasons),
    )


def _each(feet: int) -> str:
    return "each footside" if feet == 2 else "the footside"


def pairs_of_strip(starting_pins: int) -> MeasuredPairs:
    """Pairs of a cloth or half-stitch strip that shows its starting row.

    Source: Th. de Dillmont, Encyclopedia of Needlework (c. 1886), figure 785: six starting pins,
    six pairs in half stitch, seven in cloth stitch.
    """
    return MeasuredPairs(
        estimate=starting_pins,
        low=starting_pins,
        high=starting_pins + 1,
        reasons=(
            f"The strip starts from {starting_pins} pins, one pair at each; cloth stitch on the "
            "same pricking takes one pair more.",
            "This is an estimate, not a count.",
        ),
    )


@dataclass(frozen=True)
class PairPath:
    """The way of all pairs, as a multiple of the length of lace: an estimate and its range."""

    estimate: float
    low: float
    high: float


def path_of_pairs(pairs: MeasuredPairs, columns: int, ground_angle_deg: float) -> PairPath:
    """How far all pairs go in a length of lace, as a multiple of that length.

    On a ground line a pair goes 1 / cos(angle) times as far as the lace grows; beside the
    footside it goes straight down. The columns of the ground carry one pair more than there are
    columns, but for each side one of them at a time goes straight to the next pin. The least is
    with the fewest pairs and those two straight, the most with all pairs on ground lines.

    Args:
        pairs: the estimate of the pairs.
        columns: pin columns of the ground at its widest.
        ground_angle_deg: angle of the ground lines from the footside.
    """
    slanting = 1 / float(np.cos(np.deg2rad(ground_angle_deg)))

    def path(count: int, on_lines: int) -> float:
        on_lines = min(on_lines, count)
        return on_lines * slanting + (count - on_lines)

    return PairPath(
        path(pairs.estimate, columns + 1),
        path(pairs.low, max(columns - 1, 0)),
        path(pairs.high, pairs.high),
    )


def effort_of(pins_per_mm: float | None, path: PairPath | None) -> MeasuredEffort | None:
    """The work in ten centimetres of lace; None where nothing of it is known.

    Args:
        pins_per_mm: pins in one millimetre of length.
        path: the way of the pairs.
    """
    if pins_per_mm is None and path is None:
        return None
    reason = "No pairs were estimated from a ground, so their way is not known."
    if path is not None:
        reason = (
            "The way of all pairs in 10 cm of lace, along ground lines and straight beside the "
            "footside; workers in cloth, picots and sewings come on top. This is an estimate and "
            "rests on the estimated pairs."
        )
    return MeasuredEffort(
        pins_per_10cm=None if pins_per_mm is None else round(100 * pins_per_mm, 1),
        pair_path_cm=None if path is None else round(10 * path.estimate),
        pair_path_cm_low=None if path is None else round(10 * path.low),
        pair_path_cm_high=None if path is None else round(10 * path.high),
        reason=reason,
    )


def thread_for(
    foot_pitch_mm: float | None, ground_angle_deg: float, settings: HouseRules
) -> MeasuredThread | None:
    """The thread that suits the footside by the house rule; None where no rule applies."""
    if foot_pitch_mm is None:
        return None
    if TORCHON_ANGLE_DEG[0] <= ground_angle_deg <= TORCHON_ANGLE_DEG[1]:
        low, high = settings.torchon_wraps_low, settings.torchon_wraps_high
        ground = "a 45° ground"
    elif POINT_GROUND_ANGLE_DEG[0] <= ground_angle_deg <= POINT_GROUND_ANGLE_DEG[1]:
        low, high = settings.point_ground_wraps_low, settings.point_ground_wraps_high
        ground = f"a point ground of {ground_angle_deg:.0f}°"
    else:
        return None
    pitch_cm = foot_pitch_mm / 10
    return MeasuredThread(
        wraps_per_cm_low=round(low / pitch_cm, 2),
        wraps_per_cm_high=round(high / pitch_cm, 2),
        reason=(
            f"By the house rule {low:g} to {high:g} wraps fill one footside gap "
            f"({foot_pitch_mm:.2f} mm) of {ground}. Work a sample before you decide."
        ),
    )
