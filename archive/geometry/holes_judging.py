"""Every blob judged: does it look like this sheet's holes, and stand where one belongs?

The blobs that explain each other best show what a hole looks like here, be it a dot, a ring, a
cross or a pricked hole with a shining edge. All others are measured against that model: what a
line or a digit adds beside a hole is forgiven, what is missing of a hole is not.

Pictures come here as `ink`: turned so that holes are high, whatever their polarity, with a
margin all round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.holes_sighting import Blobs, explained_blobs, shared_offsets

Floats = NDArray[np.float64]
Ink = NDArray[np.float32]

MARGIN_PX = 26
"""Pixels added round the picture, so that every blob has its surroundings."""

LIKELY_SHARE = 0.6
"""Strength of a blob that is likely a hole, as a share of the usual hole's."""

FAINTEST_SHARE = 0.1
"""Strength of the faintest blob that is judged; 0.1 % of rendered holes are fainter."""

JUDGED_PER_LIKELY = 4
"""Blobs judged for each that is likely a hole: on a noisy sheet the faint ones are legion."""

NEAR_SEEDS = 15
"""Seeds round a blob that tell how dark and how strong a hole is in this part of the sheet."""

SECTORS = 12
"""Directions in which the surroundings of a blob are looked at."""

OPEN_BELOW = 0.35
"""Ink, as a share of a hole's, below which a direction counts as open."""

SURE = 0.9
"""Confidence from which a blob teaches what a hole looks like, in the second round."""

BIAS = -5.76
WEIGHTS = {
    "log of strength over the usual": 3.09,
    "ink missing in the mark, beyond the usual": -7.03,
    "misfit of the mark, beyond the usual": 1.68,
    "ink around, median of directions": -6.64,
    "ink on the clearest axis": 5.28,
    "share of open directions": 3.24,
    "shared offsets": 3.99,
    "gap to the nearest hole, up to the usual": 4.83,
    "gap beyond the usual": -0.82,
}
"""Log-odds for each measure, fitted by logistic regression on rendered scans: see
`benchmarks/weigh_holes.py`, which prints them anew."""


@dataclass(frozen=True)
class Judged:
    """The blobs taken for holes: (n, 2) rough centres in px and (n,) confidence, 0 to 1."""

    positions_px: Floats
    confidence: Floats


def judge_blobs(
    ink: Ink, blobs: Blobs, *, sigma_px: float, radius_px: float, usual_strength: float
) -> Judged:
    """The holes among the blobs.

    Args:
        ink: The picture with its margin.
        blobs: All blobs of the size of a hole, strongest first.
        sigma_px: Smoothing at which they were found.
        radius_px: Half the width of a mark.
        usual_strength: About how strong a hole is.
    """
    blobs = blobs.stronger_than(FAINTEST_SHARE * usual_strength).apart(radius_px)
    likely = blobs.stronger_than(LIKELY_SHARE * usual_strength)
    blobs = blobs.strongest(JUDGED_PER_LIKELY * len(likely.strength) + 500)
    seeds = np.zeros(len(blobs.strength), dtype=bool)
    seeds[: len(likely.strength)] = explained_blobs(likely, sigma_px)
    confidence = seeds.astype(np.float64)
    for _ in range(2):
        if not seeds.any():
            break
        log_odds = BIAS + measure(ink, blobs, seeds, radius_px) @ np.array([*WEIGHTS.values()])
        confidence = 1 / (1 + np.exp(-log_odds))
        seeds = confidence > SURE
    taken = confidence > 0.5
    return Judged(blobs.positions_px[taken], confidence[taken])


def with_margin(ink: Ink) -> Ink:
    """The picture with its edge pixels repeated `MARGIN_PX` times outwards."""
    return np.pad(ink, MARGIN_PX, mode="edge")


def patches(ink: Ink, positions_px: Floats, reach: int) -> Ink:
    """(n, 2 reach + 1, 2 reach + 1) what lies round each position, to a fraction of a pixel."""
    side = 2 * reach + 2
    whole = np.floor(positions_px)
    right, down = (positions_px - whole).astype(np.float32).T[:, :, None, None]
    x, y = whole.astype(int).T + (MARGIN_PX - reach)
    raw = np.lib.stride_tricks.sliding_window_view(ink, (side, side))[y, x]
    rows = raw[:, :-1] + down * (raw[:, 1:] - raw[:, :-1])
    shifted: Ink = rows[:, :, :-1] + right * (rows[:, :, 1:] - rows[:, :, :-1])
    return shifted


def mark_radius(ink: Ink, positions_px: Floats) -> tuple[float, bool]:
    """Where the ink of the holes falls to half, in px, and whether the mark is hollow."""
    reach = MARGIN_PX - 2
    typical = np.median(patches(ink, positions_px[:800], reach), axis=0)
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


def measure(ink: Ink, blobs: Blobs, seeds: NDArray[np.bool_], radius_px: float) -> Floats:
    """(n, 9) the measures of each blob that `WEIGHTS` apply to.

    Args:
        ink: The picture with its margin.
        blobs: The blobs to judge.
        seeds: (n,) which of them teach what a hole looks like; at least one.
        radius_px: Half the width of a mark.
    """
    nearest = (
        cKDTree(blobs.positions_px[seeds])
        .query(blobs.positions_px, min(NEAR_SEEDS, int(seeds.sum())))[1]
        .reshape(len(seeds), -1)
    )

    def usual(values: Floats) -> Floats:
        return np.median(values[seeds][nearest], axis=1)

    reach = int(np.ceil(3 * radius_px))
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    far = np.hypot(across, down) / radius_px
    around = patches(ink, blobs.positions_px, reach)
    rim = around[:, (far > 1.5) & (far < 3)]
    rank = int(0.35 * rim.shape[1])
    sheet = np.partition(rim, rank, axis=1)[:, rank]
    depth = usual(around[:, far < 0.8].mean(axis=1) - sheet)
    share = (around - sheet[:, None, None]) / np.maximum(depth, 1e-3)[:, None, None]
    model = np.median(share[seeds][:2000], axis=0)

    core = far < 1.15
    darkness = share[:, core] @ model[core] / (model[core] @ model[core])
    misfit = _root_mean_square(share[:, core] - darkness[:, None] * model[core])
    mark = (model > 0.5 * model.max()) & (far < 1.3)
    missing = _root_mean_square(np.maximum(model[mark] - share[:, mark], 0))
    extra = _ink_by_direction(cast(Ink, share - model), far, np.arctan2(down, across))
    opposite = np.maximum(extra[:, : SECTORS // 2], extra[:, SECTORS // 2 :])
    gap = _gap(blobs.positions_px, blobs.positions_px[seeds])
    return np.stack(
        [
            np.log(np.clip(blobs.strength / usual(blobs.strength), 0.1, 1.2)),
            np.clip(missing - np.median(missing[seeds]), 0, 1),
            np.clip(misfit - np.median(misfit[seeds]), 0, 1),
            np.clip(np.median(extra, axis=1), -0.2, 1),
            np.clip(opposite.min(axis=1), -0.2, 1),
            (extra < OPEN_BELOW).mean(axis=1),
            np.minimum(shared_offsets(blobs.positions_px, blobs.positions_px[seeds]), 6) / 6,
            np.minimum(gap, 1),
            np.clip(gap - 1, 0, 3),
        ],
        axis=1,
    ).astype(np.float64)


def _root_mean_square(values: Ink) -> Ink:
    """(n,) over the second axis."""
    return cast(Ink, np.sqrt((values**2).mean(axis=1)))


def _ink_by_direction(extra: Ink, far: Floats, angle: Floats) -> Ink:
    """(n, 12) mean ink beyond the model's, just outside the mark, in each direction."""
    ring = (far >= 1.15) & (far < 1.9)
    turn = (angle[ring] / (2 * np.pi)) % 1 * SECTORS
    values = extra[:, ring]
    # Pixels count the less the farther they are from a direction: none is empty, however small
    # the mark.
    middles = np.arange(SECTORS) + 0.5
    apart = np.abs((turn[:, None] - middles + SECTORS / 2) % SECTORS - SECTORS / 2)
    weight = np.exp(-8 * apart**2).astype(np.float32)
    by_direction: Ink = values @ (weight / weight.sum(axis=0))
    return by_direction


def _gap(positions_px: Floats, seeds_px: Floats) -> Floats:
    """(n,) distance to the nearest seed other than itself, in units of the seeds' own median."""
    if len(seeds_px) < 2:
        return np.ones(len(positions_px))
    tree = cKDTree(seeds_px)
    distance = np.asarray(tree.query(positions_px, 2)[0])
    own = distance[:, 0] < 1e-9
    usual = np.median(np.asarray(tree.query(seeds_px, 2)[0])[:, 1])
    return cast(Floats, np.where(own, distance[:, 1], distance[:, 0]) / usual)
