"""Every blob judged: does it look like this sheet's holes, and stand where one belongs?

The blobs that explain each other best show what a hole looks like here, be it a dot, a ring, a
cross or a pricked hole with a shining edge. All others are measured against that model: what a
line or a digit adds beside a hole is forgiven, what is missing of a hole is not. A mark that is
like the sheet's own holes in every respect is a hole wherever it stands; the place decides about
those that look doubtful.

Pictures come here as `ink` (see `marks`): turned so that holes are high.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.holes.agreement import SHARED_FOR_SURE, explained_blobs, shared_offsets
from archive.geometry.holes.blobs import Blobs, first_of_near
from archive.geometry.holes.centring import centre_holes
from archive.geometry.holes.light import Floats
from archive.geometry.holes.lines import ink_of_lines
from archive.geometry.holes.marks import Ink, Mark, patches, without_margin
from archive.geometry.holes.streaks import on_streaks

LIKELY_SHARE = 0.6
"""Strength of a blob that is likely a hole, as a share of the usual hole's."""

FAINTEST_SHARE = 0.1
"""Strength of the faintest blob that is judged; 0.1 % of the holes in rendered scans are
fainter."""

SINGLE_RADII = 1.5
"""Blobs nearer to each other than this many radii are one mark: two holes would run together."""

JUDGED_PER_LIKELY = 4
"""Blobs judged for each that is likely a hole: on a noisy sheet the faint ones are legion."""

NEAR_SEEDS = 15
"""Seeds round a blob that tell how dark and how strong a hole is in this part of the sheet."""

SECTORS = 12
"""Directions in which the surroundings of a blob are looked at."""

OPEN_BELOW = 0.35
"""Ink, as a share of a hole's, below which a direction counts as open."""

CORE_RADII = 1.15
"""Radius, in radii of the mark, within which ink is the mark's own."""

DRAWN_ASIDE_FROM = 1.3
"""Darkness of a blob, as a share of a hole's, from which something darker than a hole lies there
and may have drawn it aside. On a photocopy with rings beside gimps this and the settling took the
misplaced from 66 of 1466 to 18; without the limit, dots on gimps lost more than rings won."""

MOST_MISFIT = 0.5
LOOSE_MISFIT = 1.5
SETTLING_GAIN = 0.7
"""Most that one pixel counts; misfit, as a share of the seeds' own, from which a better place is
looked for; share of the misfit that a better place may leave. Measured on the same rendered scans,
where a gain of 0.5 left most rings misplaced."""

WINDOW_RADII = 2.2
"""Radius, in radii of the mark, within which lines may touch it."""

SHEET_QUANTILE = 0.1
"""Where among the ink round a blob, from light to dark, the bare sheet lies: between rings near to
each other and a gimp hardly any is left. Of 0.35, 0.2 and 0.1 the last missed fewest."""

ALIKE = 3
LEAST_DEVIATION = 0.04
"""A blob is like the seeds within three of their own deviations, which count as 0.04 at least. Two
or four deviations, or 0.015 to 0.06, did no better on rendered scans."""

MOST_SHARED = 6
"""Shared offsets beyond this make nothing surer."""

MODEL_HOLES = 2000
"""Seeds that the model is made from, strongest first."""

ROUNDS = 4
"""Times all blobs are judged: a hole that is found vouches for its neighbours. In sheets without a
ground the third and fourth round still find some; more were not tried."""

TAKEN = 0.45
"""Confidence from which a blob is taken for a hole. Of 160,000 blobs on 76 rendered scans, judged
before closed directions had a weight, it misses 995 holes and takes 1258 too many, the fewest
errors together; 0.5 misses 1144 and takes 1129."""

SURE = 0.9
"""Confidence from which a blob teaches in the next round what a hole looks like."""

IMPOSSIBLE = 0.001
"""Confidence below which a blob is not judged again."""

BIAS = -5.06
WEIGHTS = {
    "log of strength over the usual": 3.43,
    "darkness beyond the usual": 0.25,
    "ink missing in the mark, beyond the usual": -5.48,
    "misfit of the mark, beyond the usual": -2.58,
    "share of open directions": -1.23,
    "shared offsets": 5.88,
    "gap to the nearest hole, up to the usual": 5.26,
    "gap beyond twice the usual": -6.10,
    "closed directions that no offsets vouch for": -6.00,
    "likeness": -2.80,
    "likeness by shared offsets": -2.18,
    "likeness by gap, up to the usual": -0.87,
    "likeness by gap beyond twice the usual": 4.42,
    "likeness by share of open directions": 10.04,
}
"""Log-odds for each measure, fitted by logistic regression on rendered scans: see
`benchmarks/weigh_holes.py`, which prints them anew. They are older than the filling of rings and
`SHEET_QUANTILE` at 0.1; weights fitted since then did worse on fresh scans. The one for closed
directions that no offsets vouch for came later, with the others kept: it is for ends of strokes,
of which it takes about a third away on scans with many."""


@dataclass(frozen=True)
class Judged:
    """The blobs taken for holes: (n, 2) centres in px and (n,) confidence, 0 to 1.

    `alike` is how like those that are sure are to each other: the median cosine between the ink of
    one and that of a typical one; 0 where none is sure.
    """

    positions_px: Floats
    confidence: Floats
    alike: float


def judge_blobs(ink: Ink, blobs: Blobs, mark: Mark, *, usual_strength: float) -> Judged:
    """The holes among the blobs.

    Args:
        ink: The picture with its margin.
        blobs: All blobs of the size of the mark, strongest first.
        mark: What a hole looks like.
        usual_strength: About how strong a hole is.
    """
    blobs, seeds = candidates(ink, blobs, mark, usual_strength=usual_strength)
    confidence = np.zeros(len(blobs))
    for _ in range(ROUNDS):
        if not seeds.any():
            break
        log_odds = BIAS + measure(ink, blobs, seeds, mark.radius_px) @ np.array([*WEIGHTS.values()])
        confidence = 1 / (1 + np.exp(-log_odds))
        possible = confidence > IMPOSSIBLE
        blobs, confidence = blobs.only(possible), confidence[possible]
        seeds = confidence > SURE
    taken = confidence > TAKEN
    alike = _alike(surroundings(ink, blobs, seeds, mark.radius_px), seeds) if seeds.any() else 0.0
    return Judged(blobs.positions_px[taken], confidence[taken], alike)


def _alike(seen: Surroundings, seeds: NDArray[np.bool_]) -> float:
    core = seen.far < CORE_RADII
    share, model = seen.share[seeds][:, core], seen.model[core]
    length = np.linalg.norm(share, axis=1) * np.linalg.norm(model)
    return float(np.median(share @ model / np.maximum(length, 1e-9)))


def candidates(
    ink: Ink, blobs: Blobs, mark: Mark, *, usual_strength: float
) -> tuple[Blobs, NDArray[np.bool_]]:
    """The blobs worth judging, well placed, and (n,) which of them teach what a hole looks like."""
    blobs, seeds = _first_seeds(blobs, mark, usual_strength=usual_strength)
    if seeds.any():
        blobs, seeds = _settled(ink, blobs, seeds, mark.radius_px)
    if seeds.any():
        lines = _lines(surroundings(ink, blobs, seeds, mark.radius_px), seeds, mark.radius_px)
        centres_px = centre_holes(ink, blobs.positions_px, mark, seeds, lines)
        blobs = Blobs(_inside(ink, centres_px), blobs.strength)
    return blobs, seeds


def _lines(seen: Surroundings, seeds: NDArray[np.bool_], radius_px: float) -> Ink:
    """(n, side, side) the ink of lines, where a blob fits worse than seeds do; 0 elsewhere."""
    window = seen.far <= WINDOW_RADII
    apart = np.abs(seen.share[:, window] - seen.model[window])
    misfit = np.minimum(apart, MOST_MISFIT).mean(axis=1)
    loose = np.flatnonzero(misfit > LOOSE_MISFIT * np.median(misfit[seeds]))
    lines = np.zeros_like(seen.share)
    lines[loose] = ink_of_lines(seen.share[loose], radius_px)
    return lines


def _first_seeds(
    blobs: Blobs, mark: Mark, *, usual_strength: float
) -> tuple[Blobs, NDArray[np.bool_]]:
    """The blobs worth judging, and (n,) which of them are strong and well explained."""
    blobs = blobs.stronger_than(FAINTEST_SHARE * usual_strength).apart(
        SINGLE_RADII * mark.radius_px
    )
    likely = blobs.stronger_than(LIKELY_SHARE * usual_strength)
    blobs = blobs.strongest(JUDGED_PER_LIKELY * len(likely) + 500)
    seeds = np.zeros(len(blobs), dtype=bool)
    seeds[: len(likely)] = explained_blobs(likely, mark.sigma_px)
    positions_px = blobs.positions_px
    alone = shared_offsets(positions_px, positions_px[seeds]) < SHARED_FOR_SURE
    streaks = on_streaks(positions_px, alone=alone)
    kept = ~streaks
    beside = shared_offsets(positions_px[streaks], positions_px[seeds & kept])
    kept[streaks] = beside >= SHARED_FOR_SURE
    return blobs.only(kept), seeds[kept]


@dataclass(frozen=True)
class Surroundings:
    """What lies round each blob, as a share of the ink of the holes near by.

    Attributes:
        share: (n, side, side) ink beyond the bare sheet's; a hole's middle has about 1.
        model: (side, side) the same of a typical hole.
        far: (side, side) distance from the middle in radii of a mark.
    """

    share: Ink
    model: Ink
    far: Floats


def surroundings(
    ink: Ink, blobs: Blobs, seeds: NDArray[np.bool_], radius_px: float
) -> Surroundings:
    """What lies within three radii of each blob."""
    reach = int(np.ceil(3 * radius_px))
    far = np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1]) / radius_px
    share = patches(ink, blobs.positions_px, reach)
    rim = share[:, (far > 1.5) & (far < 3)]
    rank = int(SHEET_QUANTILE * rim.shape[1])
    share -= np.partition(rim, rank, axis=1)[:, rank, None, None]
    depth = usual_near(blobs, seeds, share[:, far < 0.8].mean(axis=1))
    share /= np.maximum(depth, 1e-3).astype(np.float32)[:, None, None]
    return Surroundings(share, np.median(share[seeds][:MODEL_HOLES], axis=0), far)


def usual_near(blobs: Blobs, seeds: NDArray[np.bool_], values: Floats | Ink) -> Floats:
    """(n,) the median of the values of the seeds nearest to each blob."""
    count = min(NEAR_SEEDS, int(seeds.sum()))
    nearest = cKDTree(blobs.positions_px[seeds]).query(blobs.positions_px, count)[1]
    return np.median(values[seeds][nearest.reshape(len(blobs), count)], axis=1)


def _settled(
    ink: Ink, blobs: Blobs, seeds: NDArray[np.bool_], radius_px: float
) -> tuple[Blobs, NDArray[np.bool_]]:
    """The blobs moved to where a hole would explain the ink best, and (n,) which are seeds.

    A line darker than a hole draws the blob of a hole that touches it towards itself. Each blob
    that is too dark and fits worse than seeds do is tried at all places less than a radius away.
    The misfit of a pixel counts up to `MOST_MISFIT` only, so that what touches the hole counts
    little wherever it lies.
    """
    seen = surroundings(ink, blobs, seeds, radius_px)
    reach = len(seen.model) // 2
    core = min(int(CORE_RADII * radius_px), reach - int(radius_px))
    disc = np.hypot(*np.mgrid[-core : core + 1, -core : core + 1]) <= CORE_RADII * radius_px
    middle = slice(reach - core, reach + core + 1)
    model = seen.model[middle, middle][disc]

    def misfit(share: Ink, across: int, down: int) -> Ink:
        top, left = reach - core + down, reach - core + across
        window = share[:, top : top + 2 * core + 1, left : left + 2 * core + 1][:, disc]
        apart: Ink = np.minimum(np.abs(window - model), MOST_MISFIT).mean(axis=1)
        return apart

    here = misfit(seen.share, 0, 0)
    dark = seen.share[:, seen.far < 0.6].mean(axis=1)
    dark /= max(float(np.median(dark[seeds])), 1e-3)
    loose = np.flatnonzero(
        (here > LOOSE_MISFIT * np.median(here[seeds])) & (dark > DRAWN_ASIDE_FROM)
    )
    share, least = seen.share[loose], SETTLING_GAIN * here[loose]
    moved_px = np.zeros((len(loose), 2))
    step = max(1, round(radius_px / 4))
    farthest = int(radius_px) // step * step
    for across, down in product(range(-farthest, farthest + 1, step), repeat=2):
        there = misfit(share, across, down)
        better = there < least
        least[better] = there[better]
        moved_px[better] = across, down
    positions_px = blobs.positions_px.copy()
    positions_px[loose] += moved_px
    positions_px = _inside(ink, positions_px)
    # Of two blobs that come to lie in one place, the one that stood there is kept.
    stood = np.ones(len(blobs), dtype=bool)
    stood[loose] = ~moved_px.any(axis=1)
    order = np.argsort(~stood, kind="stable")
    kept = np.sort(order[first_of_near(positions_px[order], SINGLE_RADII * radius_px)])
    return Blobs(positions_px, blobs.strength).only(kept), (seeds & stood)[kept]


def measure(ink: Ink, blobs: Blobs, seeds: NDArray[np.bool_], radius_px: float) -> Floats:
    """(n, 14) the measures of each blob that `WEIGHTS` apply to.

    Args:
        ink: The picture with its margin.
        blobs: The blobs to judge.
        seeds: (n,) which of them teach what a hole looks like; at least one.
        radius_px: Half the width of a mark.
    """
    seen = surroundings(ink, blobs, seeds, radius_px)
    share, model, far = seen.share, seen.model, seen.far
    core = far < CORE_RADII
    darkness = share[:, core] @ model[core] / (model[core] @ model[core])
    misfit = _root_mean_square(share[:, core] - darkness[:, None] * model[core])
    mark = (model > 0.5 * model.max()) & (far < 1.3)
    missing = _root_mean_square(np.maximum(model[mark] - share[:, mark], 0))
    open_share = (_ink_by_direction(share - model, far) < OPEN_BELOW).mean(axis=1)
    unlike = [_beyond_usual(value, seeds) for value in (darkness, misfit, missing)]
    likeness = np.exp(-(unlike[0] ** 2 + sum(np.maximum(one, 0) ** 2 for one in unlike[1:])) / 2)

    gap = _gap(cKDTree(blobs.positions_px[seeds]), blobs.positions_px)
    gap_near = gap / np.maximum(usual_near(blobs, seeds, gap), 1e-9)
    gap_all = gap / np.maximum(np.median(gap[seeds]), 1e-9)
    shared = shared_offsets(blobs.positions_px, blobs.positions_px[seeds])
    place = [
        np.minimum(shared, MOST_SHARED) / MOST_SHARED,
        np.minimum(np.minimum(gap_near, gap_all), 1),
        np.clip(gap_near - 2, 0, 1),
    ]
    unvouched = (1 - open_share) * (1 - place[0])
    strength = blobs.strength / usual_near(blobs, seeds, blobs.strength)
    looks = [
        np.log(np.clip(strength, 0.1, 1.2)),
        np.clip(darkness - 1, 0, 1),
        np.clip(missing - np.median(missing[seeds]), 0, 1),
        np.clip(misfit - np.median(misfit[seeds]), 0, 1),
        open_share,
    ]
    alike = [likeness, *(likeness * one for one in (*place, open_share))]
    return np.stack([*looks, *place, unvouched, *alike], axis=1, dtype=np.float64)


def _inside(ink: Ink, positions_px: Floats) -> Floats:
    """(n, 2) the positions, those outside the picture moved to its edge."""
    return np.clip(positions_px, 0, np.array(without_margin(ink).shape[::-1]) - 1)


def _beyond_usual(values: Ink, seeds: NDArray[np.bool_]) -> Floats:
    """(n,) how far each value lies from the seeds' middle, in units of `ALIKE` deviations."""
    apart = values - np.median(values[seeds])
    deviation = 1.4826 * np.median(np.abs(apart[seeds]))
    return np.asarray(apart / (ALIKE * max(deviation, LEAST_DEVIATION)), dtype=np.float64)


def _root_mean_square(values: Ink | Floats) -> Ink:
    """(n,) over the second axis."""
    root: Ink = np.sqrt((values**2).mean(axis=1))
    return root


def _ink_by_direction(extra: Ink, far: Floats) -> Ink:
    """(n, 12) mean ink beyond the model's, just outside the mark, in each direction."""
    reach = len(far) // 2
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    ring = (far >= CORE_RADII) & (far < 1.9)
    turn = (np.arctan2(down, across)[ring] / (2 * np.pi)) % 1 * SECTORS
    middles = np.arange(SECTORS) + 0.5
    apart = np.abs((turn[:, None] - middles + SECTORS / 2) % SECTORS - SECTORS / 2)
    # Pixels count the less the farther they are from a direction: none is empty, however small
    # the mark.
    weight = np.exp(-8 * apart**2).astype(np.float32)
    by_direction: Ink = extra[:, ring] @ (weight / weight.sum(axis=0))
    return by_direction


def _gap(seed_tree: cKDTree, positions_px: Floats) -> Floats:
    """(n,) distance in px to the nearest seed other than itself; 1 if there is but one."""
    if seed_tree.n < 2:
        return np.ones(len(positions_px))
    distance = np.asarray(seed_tree.query(positions_px, 2)[0])
    own = distance[:, 0] < 1e-9
    return np.where(own, distance[:, 1], distance[:, 0])
