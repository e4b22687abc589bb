"""How much lace a square of cloth takes, which repeats fit a side, how many bobbins to wind.

Plain formulas in millimetres; the cloth has four equal sides and everything lies flat, the
lace outside the cloth. Knows nothing of patterns or records.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from archive.errors import InputError
from archive.threads.amounts import require_positive


def foot_for_square_mm(side_mm: float, width_mm: float) -> tuple[float, float]:
    """Lengths of the footside and of the outer edge of lace with worked corners.

    Raises:
        InputError: If a length is not above zero.

    Source: geometry of a square frame.
    """
    _require_lengths(side_mm, width_mm)
    return 4 * side_mm, 4 * (side_mm + 2 * width_mm)


def mitred_for_square_mm(side_mm: float, width_mm: float) -> float:
    """Length of lace for four strips that are mitred at the corners.

    Each strip is as long as the outer edge; nothing is added for the seams.

    Raises:
        InputError: If a length is not above zero.

    Source: graciousjanemarie.blogspot.com 2014/03 (9 inches and 1 inch: 44 inches).
    """
    _require_lengths(side_mm, width_mm)
    return 4 * (side_mm + 2 * width_mm)


def gathered_for_square_mm(side_mm: float, width_mm: float, *, fullness: float = 0.0) -> float:
    """Length of straight lace that is gathered round the corners.

    From one width before a corner to one width after it, lace for 2 + fullness times that
    way is taken, elsewhere for 1 + fullness times.

    Args:
        side_mm: Side of the cloth.
        width_mm: Width of the lace; the side must be at least two widths long.
        fullness: 0 for lace that is flat between the corners, 0.5 for half as much again.

    Raises:
        InputError: If a length is not above zero, the side too short or the fullness negative.

    Source: Sewing Handicraft for Girls, “Sewing on lace” (chestofbooks.com): twice the lace
    at the corners, two and a half times where it is half as full again.
    """
    _require_lengths(side_mm, width_mm)
    if side_mm < 2 * width_mm or not 0 <= fullness < math.inf:
        raise InputError(
            "The lace cannot be gathered like this.",
            "Take a side of at least twice the width of the lace and a fullness of 0 or more.",
        )
    between_corners_mm = 4 * (side_mm - 2 * width_mm)
    round_corners_mm = 4 * 2 * width_mm
    return (1 + fullness) * between_corners_mm + (2 + fullness) * round_corners_mm


@dataclass(frozen=True)
class RepeatFit:
    """A number of repeats for a side, and the factor by which the pricking must be scaled."""

    repeats: float
    factor: float


def find_repeats_that_fit(
    side_mm: float, repeat_mm: float, *, corner_mm: float = 0.0, halves: bool = False
) -> tuple[RepeatFit, ...]:
    """The next lower and the next higher number of repeats, the smaller change of scale first.

    Args:
        side_mm: Length of the footside along one side, corners included.
        repeat_mm: Length of one repeat.
        corner_mm: What each of the two corners takes of the side.
        halves: Whether a half repeat may be used, as where it mirrors the other half.

    Returns:
        One or two fits; one where a number fits as it is, or where there is no room for
        a lower one.

    Raises:
        InputError: If a length is not above zero (a corner: below zero).
    """
    _require_lengths(side_mm, repeat_mm)
    if not 0 <= corner_mm < math.inf:
        raise InputError(
            f"A corner must take zero or more millimetres, not {corner_mm}.",
            "Correct the length of the corner.",
        )
    step = 0.5 if halves else 1.0
    steps = (side_mm - 2 * corner_mm) / repeat_mm / step
    if math.isclose(steps, round(steps), abs_tol=1e-9):
        steps = round(steps)
    wanted = {math.floor(steps), math.ceil(steps)}
    fits = [
        RepeatFit(number * step, side_mm / (2 * corner_mm + number * step * repeat_mm))
        for number in sorted(wanted)
        if number >= 1
    ]
    fits = fits or [RepeatFit(step, side_mm / (2 * corner_mm + step * repeat_mm))]
    return tuple(sorted(fits, key=lambda fit: abs(math.log(fit.factor))))


def copier_factor(wanted_mm: float, got_mm: float) -> float:
    """Factor that puts a copy right on which a length came out as `got_mm`.

    Raises:
        InputError: If a length is not above zero.

    Source: mysticalthread.tripod.com, sizing patterns.
    """
    _require_lengths(wanted_mm, got_mm)
    return wanted_mm / got_mm


def bobbins(pairs: int, single_gimps: int = 0) -> int:
    """How many bobbins to wind: two for a pair, one for a gimp worked as a single thread."""
    return 2 * pairs + single_gimps


def _require_lengths(*lengths_mm: float) -> None:
    for length_mm in lengths_mm:
        require_positive("length in millimetres", length_mm)
