"""Every blob judged: does it look like this sheet's holes, and stand where one belongs?

The blobs that explain each other best show what a hole looks like here, be it a dot, a ring, a
cross or a pricked hole with a shining edge. All others are measured against them, in units of
the spread that the holes themselves have, so that one set of weights serves every sheet.

Pictures come here as `ink`: turned so that holes are high, whatever their polarity.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.holes_sighting import Blobs, explained_blobs, shared_offsets

Floats = NDArray[np.float64]

MARGIN_PX = 20
"""Pixels added round the picture, so that every blob has its surroundings."""

FAINTEST_SHARE = 0.1
"""Strength of the faintest blob that is judged, as a share of the usual hole's. Of the holes in
rendered scans 0.1 % are fainter."""

JUDGED_PER_LIKELY = 4
"""Blobs judged for each that is likely a hole: on a noisy sheet the faint ones are legion."""

SECTORS = 12
"""Directions in which the surroundings of a blob are looked at."""


@dataclass(frozen=True)
class Judged:
    """The blobs taken for holes: (n, 2) rough centres in px and (n,) confidence, 0 to 1."""

    positions_px: Floats
    confidence: Floats


def judge_blobs(
    padded: NDArray[np.float32],
    blobs: Blobs,
    sigma_px: float,
    radius_px: float,
    usual_strength: float,
) -> Judged:
    """The holes among the blobs, the strongest of which are `usual_strength` if they are holes."""
    likely = blobs.stronger_than(0.6 * usual_strength)
    blobs = blobs.stronger_than(FAINTEST_SHARE * usual_strength)
    blobs = blobs.strongest(JUDGED_PER_LIKELY * len(likely.strength) + 500)
    seeds = np.zeros(len(blobs.strength), dtype=bool)
    seeds[: len(likely.strength)] = explained_blobs(likely, sigma_px)
    for _ in range(2):
        confidence = 1 / (1 + np.exp(-measure(padded, blobs, seeds, radius_px) @ WEIGHTS))
        seeds = confidence > 0.9
    taken = confidence > 0.5
    return Judged(blobs.positions_px[taken], confidence[taken])


def padded(ink: NDArray[np.float32]) -> NDArray[np.float32]:
    """The picture with its edge pixels repeated `MARGIN_PX` times outwards."""
    return np.pad(ink, MARGIN_PX, mode="edge")


def patches(padded: NDArray[np.float32], positions_px: Floats, reach: int) -> NDArray[np.float32]:
    """(n, 2 reach + 1, 2 reach + 1) what lies round each position, to a fraction of a pixel."""
    side = 2 * reach + 2
    whole = np.floor(positions_px)
    right, down = (positions_px - whole).astype(np.float32).T[:, :, None, None]
    x, y = whole.astype(int).T + (MARGIN_PX - reach)
    raw = np.lib.stride_tricks.sliding_window_view(padded, (side, side))[y, x]
    rows = raw[:, :-1] + down * (raw[:, 1:] - raw[:, :-1])
    shifted: NDArray[np.float32] = rows[:, :, :-1] + right * (rows[:, :, 1:] - rows[:, :, :-1])
    return shifted


def mark_radius(padded: NDArray[np.float32], positions_px: Floats) -> tuple[float, bool]:
    """Where the ink of the holes falls to half, in px, and whether the mark is hollow."""
    reach = MARGIN_PX - 2
    typical = np.median(patches(padded, positions_px[:800], reach), axis=0)
    far = np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1])
    rings = np.rint(far).astype(int).ravel()
    profile = (np.bincount(rings, typical.ravel()) / np.bincount(rings))[: reach + 1]
    top = int(np.argmax(profile[: reach // 2]))
    end = top + int(np.argmin(profile[top:]))
    half = (profile[top] + profile[end]) / 2
    outside = max(top + int(np.argmax(profile[top:] < half)), 1)
    inner, outer = profile[outside - 1], profile[outside]
    radius_px = outside - 1 + float((inner - half) / max(inner - outer, 1e-9))
    return max(radius_px, 0.8), top > 0


def measure(
    padded: NDArray[np.float32], blobs: Blobs, seeds: NDArray[np.bool_], radius_px: float
) -> Floats:
    """(n, m) what the weights apply to."""
    reach = int(np.ceil(3 * radius_px))
    around = patches(padded, blobs.positions_px, reach)
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    far = np.hypot(across, down) / radius_px
    rim = around[:, (far > 1.5) & (far < 3)]
    rank = int(0.35 * rim.shape[1])
    sheet = np.partition(rim, rank, axis=1)[:, rank]
    depth = around[:, far < 0.8].mean(axis=1) - sheet
    seed_positions = blobs.positions_px[seeds]
    near = cKDTree(seed_positions).query(blobs.positions_px, min(15, len(seed_positions)))[1]
    near = near.reshape(len(depth), -1)
    usual_depth = np.maximum(np.median(depth[seeds][near], axis=1), 1e-3)
    usual_strength = np.median(blobs.strength[seeds][near], axis=1)
    ink = (around - sheet[:, None, None]) / usual_depth[:, None, None]
    model = np.median(ink[seeds][:2000], axis=0)

    core = far < 1.15
    core_ink, core_model = ink[:, core], model[core]
    amplitude = core_ink @ core_model / (core_model @ core_model)
    misfit = np.sqrt(((core_ink - amplitude[:, None] * core_model) ** 2).mean(axis=1))
    even = core_ink - core_ink.mean(axis=1)[:, None]
    even_model = core_model - core_model.mean()
    likeness = even @ even_model / np.sqrt((even**2).sum(axis=1) * (even_model**2).sum() + 1e-9)

    ring = (far >= 1.15) & (far < 1.9)
    sector = ((np.arctan2(down, across)[ring] / (2 * np.pi) + 1) * SECTORS).astype(int) % SECTORS
    excess = ink[:, ring] - model[ring]
    per_sector = np.stack([excess[:, sector == s].mean(axis=1) for s in np.unique(sector)], axis=1)

    gap = _gap(blobs.positions_px, seed_positions)
    return np.stack(
        [
            np.ones(len(depth)),
            np.minimum(blobs.strength / usual_strength, 1.2),
            np.minimum(amplitude, 1.0),
            np.maximum(amplitude - 1.0, 0),
            _unlike(misfit, seeds, 0.03),
            _unlike(-likeness, seeds, 0.03),
            (per_sector < 0.35).mean(axis=1),
            np.clip(per_sector.mean(axis=1), 0, 1),
            shared_offsets(blobs.positions_px, seed_positions),
            np.minimum(gap, 1.0),
            np.clip(gap - 1.0, 0, 4),
        ],
        axis=1,
    ).astype(np.float64)


def _unlike(values: Floats, seeds: NDArray[np.bool_], least: float) -> Floats:
    """How many deviations of the seeds a value lies above their middle, 0 to 8."""
    middle = np.median(values[seeds])
    spread = max(1.4826 * float(np.median(np.abs(values[seeds] - middle))), least)
    return np.clip((values - middle) / spread, 0, 8)


def _gap(positions_px: Floats, seed_positions: Floats) -> Floats:
    """Distance to the nearest seed other than itself, in units of the seeds' own median."""
    tree = cKDTree(seed_positions)
    distance = tree.query(positions_px, 2)[0]
    usual = np.median(tree.query(seed_positions, 2)[0][:, 1])
    own = distance[:, 0] < 1e-9
    return np.where(own, distance[:, 1], distance[:, 0]) / usual


WEIGHTS = np.array([-12.0, 6.0, 4.0, -3.0, -0.2, -0.1, 3.0, -2.0, 0.5, 5.0, -0.5])
