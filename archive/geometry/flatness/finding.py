"""Is the sheet flat? A photograph taken at a slant and a cockled sheet are made flat again.

Knows parts of a sheet that have a lattice. The way: their pins are numbered; then the numbers and
the positions tell the slant by least squares, and what is left over, if it is more than chance, is
a smooth field of cockles. The two sides of a corner are fitted together, by what they have alike.

Stretch is not seen here: a lattice that is stretched is a lattice of another angle.

Positions are (n, 2) float64 as `(x, y)`, y down, in whatever unit the pins have.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.linalg import block_diag

from archive.geometry.flatness.bends import FLAT, Bend, Cockles, cockle_columns
from archive.geometry.flatness.likeness import Sides, find_sides
from archive.geometry.flatness.numbering import Part, number_pins
from archive.geometry.flatness.slants import fit_slant
from archive.geometry.neighbours import Points

LEAST_CHANGE = 0.003
"""Changes of scale below this part are not told: from here on an angle moves by a tenth of a
degree."""

MOST_CHANGE = 0.15
"""A net that changes more than this over the sheet is drawn so, as round collars are."""

SURE = 20.0
"""Squared standard errors, of two numbers together, that a slant must have: chance alone gives as
much on one sheet in 20,000. Source: the chi-square distribution."""

FEWEST_NUMBERED = 40
"""Pins that tell a slant from the wear of single holes."""

SHORTEST_COCKLE = 6.0
"""Half a wave of the finest cockle, in pitches: what is finer is the wear of single holes."""

PINS_A_COCKLE = 12
"""Pins that each wave of the field must have to lean on."""


def find_bend(points: Points, parts: Sequence[Part]) -> Bend:
    """How the sheet is bent; `FLAT` where it is as flat as can be told.

    Args:
        points: (n, 2) all pins on the sheet.
        parts: those of its parts that have a lattice.
    """
    numbered = [number_pins(part) for part in parts]
    pins = np.concatenate([pins for pins, _ in numbered] or [np.empty((0, 2))])
    if len(pins) < FEWEST_NUMBERED:
        return FLAT
    design = block_diag(*(design for _, design in numbered))
    sides = find_sides(numbered) if len(parts) == 2 else None
    bend = _with_slant(pins, design, (points.min(axis=0) + points.max(axis=0)) / 2, sides)
    pitch = max(part.lattice.pitch for part in parts)
    # where two sides meet the net may be redrawn, which a field of cockles would take for its own
    likely = [bend] if len(parts) > 1 else [_with_cockles(pins, design, bend, pitch), bend]
    return next((one for one in likely if _is_told(one, pins)), FLAT)


def _with_slant(pins: Points, design: Points, middle: Points, sides: Sides | None) -> Bend:
    """The bend by slant alone; without slant where it is not more than chance."""
    _, slant, covariance = fit_slant(pins - middle, design, np.zeros(2), sides=sides)
    sure = slant @ np.linalg.solve(covariance, slant) > SURE
    return Bend(middle, slant if sure else np.zeros(2), np.sqrt(np.diag(covariance)))


def _with_cockles(pins: Points, design: Points, bend: Bend, pitch: float) -> Bend:
    """The bend with the field of cockles that explains what the slant leaves over, if any does.

    The waves are taken from the longest on, as many as pay for themselves by Schwarz's
    criterion. Source: G. Schwarz, Estimating the dimension of a model, 1978.
    """
    flat = bend.flatten(pins) - bend.middle
    low, size = flat.min(axis=0), np.ptp(flat, axis=0)
    waves = _waves(size, SHORTEST_COCKLE * pitch, len(pins) // PINS_A_COCKLE)
    own, _ = np.linalg.qr(design)
    rest = flat - own @ (own.T @ flat)
    off = np.hypot(*rest.T)
    kept = off < 3.5 * float(np.median(off)) / 1.1774
    columns = cockle_columns(flat[kept], low, size, waves)
    basis, triangle = np.linalg.qr(columns)
    parts = basis.T @ rest[kept]
    total, count = float((rest[kept] ** 2).sum()), 2 * int(kept.sum())
    left = np.maximum(total - np.cumsum((parts**2).sum(axis=1)), 1e-12 * total)
    criterion = count * np.log(left) + 2 * np.arange(len(left)) * np.log(count)
    terms = int(criterion[2:].argmin()) + 3
    if terms == 3:
        return bend
    triangle = triangle[:terms, :terms]
    waves = waves[: terms - 3]
    cockles = Cockles(low, size, waves, np.linalg.solve(triangle, parts[:terms]))
    # the scale is half of what the shifts grow by across and down
    step = 1e-3 * pitch
    slopes = []
    for way in (np.array([step, 0.0]), np.array([0.0, step])):
        ahead, behind = (cockle_columns(flat + by, low, size, waves) for by in (way, -way))
        slopes.append((ahead - behind) / step / 2)
    errors = np.concatenate(slopes) @ np.linalg.inv(triangle)
    variance = left[terms - 1] / max(count - 2 * terms, 1) * (errors**2).sum() / len(flat) / 4
    cockled = replace(bend, cockles=cockles, cockles_sd=float(np.sqrt(variance)))
    more = float(np.ptp(cockled.local_scales(pins) / bend.local_scales(pins)))
    return cockled if more >= LEAST_CHANGE else bend


def _waves(size: Points, shortest: float, most: int) -> Points:
    """(m, 2) numbers of half waves across and down, the longest waves first."""
    across, down = np.maximum(size // shortest, 0).astype(int)
    numbers = np.array([(i, j) for i in range(across + 1) for j in range(down + 1) if i + j])
    numbers = numbers.reshape(-1, 2)
    fineness = np.hypot(*(numbers / size).T)
    order = np.argsort(fineness, kind="stable")
    within = order[fineness[order] <= 1 / shortest]
    waves: Points = numbers[within][:most].astype(np.float64)
    return waves


def _is_told(bend: Bend, pins: Points) -> bool:
    scales = bend.local_scales(pins)
    return LEAST_CHANGE <= float(np.ptp(scales)) <= MOST_CHANGE
