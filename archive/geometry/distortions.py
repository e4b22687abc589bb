"""What is told of a sheet that is bent or stretched.

A bend shows in the pins themselves, and the figures are taken from the flattened sheet. A
stretch does not: a stretched net is a net of another angle. It is told only where something else
than the pins' places says what they ought to be, and nothing is corrected by it.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from archive.geometry.analysing import Analysis
from archive.geometry.flatness.bends import FLAT, Bend
from archive.geometry.flatness.finding import LEAST_CHANGE
from archive.geometry.neighbours import Points
from archive.geometry.strips import Strip
from archive.records.measurement import MeasuredBend, MeasuredStretch

LEAST_STRETCH = 0.003
"""A stretch below this part is not told: it turns 45° by less than a tenth of a degree."""

LEAST_SIGMAS = 4.0
"""Standard errors that a stretch must have."""

NEAR_45_DEG = 1.5
"""How far a ground may be off 45° and still be asked whether it is one: a stretch by 5 %."""


def tell_bend(bend: Bend, flat: Points) -> MeasuredBend | None:
    """How far the scale changes over the sheet; None where it is flat.

    Args:
        bend: how the sheet is bent.
        flat: (n, 2) its pins on the flat.
    """
    if bend is FLAT:
        return None
    pins = bend.on_sheet(flat)
    low, high = pins.min(axis=0), pins.max(axis=0)
    slope = 1.5 * (high - low)  # an area grows with the third power of 1 + slant·p
    changes, errors = slope * bend.slant, slope * bend.slant_sd
    scales = bend.local_scales(pins)
    slanted = bool(np.abs(changes).max() >= LEAST_CHANGE)
    kind = "slanted and cockled" if slanted else "cockled"
    return MeasuredBend(
        kind="slanted" if bend.cockles is None else kind,
        across_percent=_percent(changes[0]),
        across_sd_percent=_percent(errors[0]),
        down_percent=_percent(changes[1]),
        down_sd_percent=_percent(errors[1]),
        smallest_percent=_percent(scales.min() - 1),
        largest_percent=_percent(scales.max() - 1),
        cockles_sd_percent=_percent(bend.cockles_sd),
    )


def tell_stretch(analysis: Analysis) -> MeasuredStretch | None:
    """How much longer the sheet shows lengths along the footside than across, where that shows.

    The two sides of a corner are pricked at one pitch. A ground near 45° is perhaps one of 45°:
    tan θ' = tan θ · across / along. Source: geometry.
    """
    if analysis.corner is not None:
        return _stretch_of_corner(*analysis.strips)
    ground = analysis.main.ground
    if ground is None or abs(ground.lattice.angle_deg - 45) > NEAR_45_DEG:
        return None
    angle, sd = np.deg2rad([ground.lattice.angle_deg, ground.lattice.angle_sd_deg])
    return _told("ground", 1 / np.tan(angle), sd / np.sin(angle) ** 2)


def _stretch_of_corner(upright: Strip, lying: Strip) -> MeasuredStretch | None:
    if upright.ground is None or lying.ground is None:
        return None
    one, other = upright.ground.lattice, lying.ground.lattice
    ratio = one.pitch / other.pitch
    sd = np.hypot(one.pitch_sd / one.pitch, other.pitch_sd / other.pitch)
    return _told("corner", ratio, ratio * sd)


def _told(told_by: Literal["corner", "ground"], ratio: float, sd: float) -> MeasuredStretch | None:
    if abs(ratio - 1) < max(LEAST_STRETCH, LEAST_SIGMAS * sd):
        return None
    return MeasuredStretch(
        told_by=told_by, along_percent=_percent(ratio - 1), sd_percent=_percent(sd)
    )


def _percent(part: float) -> float:
    return round(100 * float(part), 3)
