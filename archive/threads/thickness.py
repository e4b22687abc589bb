"""How thick a thread is, and how a pricking must grow or shrink for another thread.

Measured wraps always count for more than anything estimated here. Knows nothing of labels,
patterns or records.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from archive.threads.amounts import require_positive

PEIRCE_VOLUME_CM3_PER_G = 1.1
"""Room that a gram of yarn takes. Source: F. T. Peirce 1937, as given by textilecoach.net."""

WRAPS_TIMES_ROOT_TEX = 190.0
"""Wraps per cm times the root of the tex.

Source: three threads of known system with published wraps: linen 80/2 and 35/2 NeL at 30 and
20 (textileschool.com, thread numbering system), cotton 40/3 Ne at 28 (lesleyslace.blogspot.com
2022/04), which give 193, 194 and 186. Thread wound on a ruler is not packed as densely as
Peirce assumes: it has about 0.7 of the wraps his diameter would give.
"""

WRAPS_SPREAD = 0.15
"""Share by which real wraps may differ. Common practice, no source: three threads are few."""


@dataclass(frozen=True)
class Estimate:
    """A figure that was estimated, not measured, with the span it may well lie in."""

    value: float
    low: float
    high: float


def diameter_mm(tex: float, *, volume_cm3_per_g: float = PEIRCE_VOLUME_CM3_PER_G) -> float:
    """Diameter in mm of a thread of `tex`, taken as a round rod.

    d(cm) = sqrt(4 · tex · 1e-5 · v / π), which is 0.0374 mm times the root of the tex at
    Peirce's volume v. His rounded form, d(inch) = 1 / (28 · sqrt(Ne)), gives 0.25 % less.

    Raises:
        InputError: If a value is not above zero.

    Source: F. T. Peirce 1937, as given by textilecoach.net.
    """
    require_positive("linear density in tex", tex)
    require_positive("volume of a gram", volume_cm3_per_g)
    return 10 * math.sqrt(4 * tex * 1e-5 * volume_cm3_per_g / math.pi)


def estimate_wraps_per_cm(tex: float) -> Estimate:
    """Wraps per cm to expect of a thread of `tex`; for threads that nobody has wrapped.

    Raises:
        InputError: If `tex` is not above zero.
    """
    require_positive("linear density in tex", tex)
    value = WRAPS_TIMES_ROOT_TEX / math.sqrt(tex)
    return Estimate(value, value * (1 - WRAPS_SPREAD), value * (1 + WRAPS_SPREAD))


def rescaling_factor_from_wraps(stated_per_cm: float, other_per_cm: float) -> float:
    """Factor for all lengths of a pricking so that it suits another thread.

    Angles and pairs stay as they are. 2 means twice as large.

    Args:
        stated_per_cm: Wraps per cm of the thread that the pattern states.
        other_per_cm: Wraps per cm of the thread to be used.

    Raises:
        InputError: If a value is not above zero.

    Source: textileschool.com, thread numbering system.

    >>> rescaling_factor_from_wraps(30, 20)
    1.5
    """
    require_positive("number of wraps", stated_per_cm)
    require_positive("number of wraps", other_per_cm)
    return stated_per_cm / other_per_cm


def rescaling_factor_from_tex(stated_tex: float, other_tex: float) -> float:
    """Factor as in `rescaling_factor_from_wraps`, for threads of one fibre and known tex.

    Raises:
        InputError: If a value is not above zero.
    """
    require_positive("linear density in tex", stated_tex)
    require_positive("linear density in tex", other_tex)
    return math.sqrt(other_tex / stated_tex)


def rescaling_factor_from_counts(stated: tuple[float, int], other: tuple[float, int]) -> float:
    """Factor as in `rescaling_factor_from_wraps`, for two n/p threads of one fibre.

    Both must be numbered in the same indirect system; which one need not be known.

    Args:
        stated: Number of the single thread and plies of the thread that the pattern states.
        other: The same of the thread to be used.

    Raises:
        InputError: If a value is not above zero.
    """
    for count, plies in (stated, other):
        require_positive("thread number", count)
        require_positive("number of plies", plies)
    return math.sqrt((stated[0] / stated[1]) * (other[1] / other[0]))


def enlargement_percent(factor: float) -> float:
    """What to set a copier to for a rescaling `factor`; 100 leaves the size as it is."""
    return 100 * factor
