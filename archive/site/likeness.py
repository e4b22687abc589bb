"""Which patterns are like one another: by their techniques and pairs, and by their measured net."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from archive.site.shelved import Shelved
from archive.vocabulary import techniques

MOST = 4
"""Patterns named as like another: a row of cards."""
CONSIDERED = 24
"""Patterns nearest by techniques among which the pairs decide."""
LEAST_LIKENESS = 0.35
"""Below this two patterns share too little to be called alike; chosen by looking."""
PAIRS_WEIGHT = 0.1
"""What equal pairs add to a likeness of techniques between 0 and 1; chosen by looking."""
SHELF_WEIGHT = 2e-7
"""What a place later on the shelf takes away, so that equals are chosen in shelf order; a
little more than a float32 can tell apart at 1."""
ANGLE_DEG, PITCH_PART, WIDTH_PART, REPEAT_PART = 2.0, 0.08, 0.5, 0.5
"""How far two sheets measured alike may differ: their grounds' angle in degrees, the distance of
their footside pins, their widths and repeats in parts. Within the first two a maker's habit and
thread go over from one to the other; common practice, no source. Chosen by looking."""
BLOCK = 32
STRETCHES = 4 * CONSIDERED
NOBODY = -1

Places = NDArray[np.int32]


class Likeness:
    """The patterns like each pattern of a collection.

    Args:
        patterns: in shelf order.

    Attributes:
        made_from: a digest of everything that the likeness depends on.
    """

    def __init__(self, patterns: Sequence[Shelved]) -> None:
        order = {technique.id: place for place, technique in enumerate(techniques())}
        self._uses = np.zeros((len(patterns), len(order)), dtype=bool)
        for row, pattern in enumerate(patterns):
            self._uses[row, [order[one] for one in pattern.technique_ids]] = True
        self._pairs = np.array([pattern.best_pairs or 0 for pattern in patterns], dtype=np.int32)
        digest = hashlib.sha256(np.packbits(self._uses, axis=1).tobytes())
        digest.update(self._pairs.tobytes())
        self._measured, self._figures = _figures(patterns)
        digest.update(self._measured.tobytes() + self._figures.tobytes())
        self.made_from = digest.hexdigest()

    def find_alike(self) -> Places:
        """For each pattern the places of up to four others, the most alike first.

        The likeness is the cosine of two patterns' techniques, each weighted by how rare it is
        in the collection, and a little more where the pairs are nearly as many.

        Returns:
            Places in shelf order, shape (patterns, 4); rows are filled up with -1.
        """
        count = len(self._pairs)
        alike = np.full((count, MOST), NOBODY, dtype=np.int32)
        rarity = np.log(1 + count / np.maximum(1, self._uses.sum(axis=0)))
        width = -(-count // STRETCHES) * STRETCHES  # whole stretches, the last filled with nobody
        table = np.zeros((width, len(rarity)), dtype=np.float32)
        table[:count] = self._uses * rarity
        lengths = np.linalg.norm(table, axis=1, keepdims=True)
        table /= np.where(lengths > 0, lengths, 1)
        columns = np.ascontiguousarray(table.T)
        shelf = SHELF_WEIGHT * np.arange(width, dtype=np.float32)
        for start in range(0, count, BLOCK):
            near = np.tile(-shelf, (min(BLOCK, count - start), 1))
            for row, weights in enumerate(table[start : start + len(near)]):
                own = np.flatnonzero(weights)  # few of all techniques, which makes this quick
                near[row] += weights[own] @ columns[own]
            found = np.flatnonzero(near >= _least_kept(near)[:, None])
            rows, others = np.divmod(found, width)
            likeness = (near[rows, others] + shelf[others]).astype(np.float64).round(4)
            # Places count as a last resort, so that equals stand in shelf order.
            nearest = np.lexsort((others, -near[rows, others], rows))
            rows, others, likeness = rows[nearest], others[nearest], likeness[nearest]
            kept = (_ranks(rows) < CONSIDERED) & (others != rows + start)
            kept &= likeness > LEAST_LIKENESS
            rows, others, likeness = rows[kept], others[kept], likeness[kept]
            likeness += PAIRS_WEIGHT * self._nearness(rows + start, others)
            best = np.lexsort((others, -likeness, rows))
            rows, others = rows[best], others[best]
            ranks = _ranks(rows)
            kept = ranks < MOST
            alike[rows[kept] + start, ranks[kept]] = others[kept]
        return alike

    def find_measured_alike(self) -> Places:
        """For each pattern the places of up to four whose sheets measure nearly the same.

        Angle, footside pins and width must lie within their limits; the sum of the differences,
        each in parts of its limit, decides. A repeat that is not known counts as one that just
        differs too much.

        Returns:
            Places in shelf order, shape (patterns, 4); rows are filled up with -1.
        """
        alike = np.full((len(self._pairs), MOST), NOBODY, dtype=np.int32)
        by_pins = np.argsort(self._figures[:, 1], kind="stable")
        places, figures = self._measured[by_pins], self._figures[by_pins]
        for start in range(0, len(places), BLOCK):
            own = figures[start : start + BLOCK]
            first = np.searchsorted(figures[:, 1], own[0, 1] - 1, side="left")
            last = np.searchsorted(figures[:, 1], own[-1, 1] + 1, side="right")
            far = _apart(own, figures[first:last])
            far += 1e-9 * places[first:last]  # equals are taken in shelf order
            far[np.arange(len(own)), start - first + np.arange(len(own))] = np.inf
            kept = min(MOST, last - first)
            nearest = np.argpartition(far, kept - 1, axis=1)[:, :kept]
            order = np.argsort(np.take_along_axis(far, nearest, axis=1), axis=1)
            nearest = np.take_along_axis(nearest, order, axis=1)
            found = np.isfinite(np.take_along_axis(far, nearest, axis=1))
            alike[places[start : start + BLOCK], :kept] = np.where(
                found, places[first + nearest], NOBODY
            )
        return alike

    def _nearness(self, rows: NDArray[np.int64], others: NDArray[np.int64]) -> NDArray[np.float64]:
        """1 where two patterns need as many pairs, half for twice as many; 0 if unknown."""
        mine, theirs = self._pairs[rows], self._pairs[others]
        most = np.maximum(np.maximum(mine, theirs), 1)
        return np.asarray(np.minimum(mine, theirs) / most, dtype=np.float64)


def _figures(patterns: Sequence[Shelved]) -> tuple[NDArray[np.int32], NDArray[np.float64]]:
    """The places of patterns whose net is measured, and its figures in parts of their limits.

    Returns:
        Places, shape (sheets,), and figures, shape (sheets, 4): angle, distance of the footside
        pins, width and repeat, so that 1 between two of them is as far as they may differ; an
        unknown repeat is nan.
    """
    places, rows = [], []
    for place, pattern in enumerate(patterns):
        found = pattern.measured
        if found and found.ground_angle_deg and found.foot_pitch_mm and found.width_mm:
            places.append(place)
            repeat = found.repeat_mm or np.nan
            rows.append((found.ground_angle_deg, found.foot_pitch_mm, found.width_mm, repeat))
    figures = np.array(rows, dtype=np.float64).reshape(-1, 4)
    figures[:, 0] /= ANGLE_DEG
    figures[:, 1:] = np.log(figures[:, 1:]) / np.log1p([PITCH_PART, WIDTH_PART, REPEAT_PART])
    return np.array(places, dtype=np.int32), figures


def _apart(own: NDArray[np.float64], others: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far sheets are from others, shape (own, others); infinite beyond a limit."""
    repeats = np.abs(own[:, 3, None] - others[None, :, 3])
    total = np.nan_to_num(repeats, copy=False, nan=1.0).clip(max=1.0)
    for figure in range(3):
        apart = np.abs(own[:, figure, None] - others[None, :, figure])
        apart[apart > 1] = np.inf
        total += apart
    return np.asarray(total)


def _least_kept(near: NDArray[np.float32]) -> NDArray[np.float32]:
    """For each row a value that at least `CONSIDERED` of its values reach, and few others.

    The greatest values of as many stretches of the row reach it, which is quick to see.
    """
    greatest = near.reshape(len(near), STRETCHES, -1).max(axis=2)
    least: NDArray[np.float32] = np.partition(greatest, -CONSIDERED, axis=1)[:, -CONSIDERED]
    return least


def _ranks(rows: NDArray[np.int64]) -> NDArray[np.int64]:
    """For sorted row numbers, which of its row each one is, from 0."""
    places = np.arange(len(rows))
    first = np.concatenate(([True], rows[1:] != rows[:-1])) if len(rows) else np.empty(0, bool)
    return places - np.maximum.accumulate(np.where(first, places, 0)) if len(rows) else places
