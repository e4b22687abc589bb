"""What the two sides of a corner have alike, however the sheet is stretched.

They are each other's mirror image, and in a sense that no stretch touches: what takes the net of
one to the net of the other is a reflection, seen through the stretch. A slant breaks that, and so
two sides tell it far better than their own pins do.

Knows the pins of both sides and the places on which they stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.geometry.neighbours import Points


@dataclass(frozen=True)
class Sides:
    """The two sides of a corner in a design.

    Attributes:
        ends: where in the design the columns of each side end; its last two are its net's.
        ways: (2, 2, 2) for each side what makes of its steps down to the right and to the left
            the one along the side away from the corner and the one across it to the cloth.
    """

    ends: tuple[int, int]
    ways: NDArray[np.float64]

    def unlikeness(self, solved: Points) -> Points:
        """(2,) trace and logarithm of the area of what takes one net to the other.

        Both are 0 for a reflection, and stay so whatever stretch or shear is put upon both nets.

        Args:
            solved: (m, 2) how much each part of the design counts.
        """
        one, other = (
            way @ solved[end - 2 : end] for way, end in zip(self.ways, self.ends, strict=True)
        )
        taking = np.linalg.solve(one, other)
        return np.array([np.trace(taking), np.log(np.abs(np.linalg.det(taking)))])

    def pull(
        self, design: Points, flat: Points, moves: NDArray[np.float64]
    ) -> tuple[Points, Points]:
        """(2, 2) normal matrix and (2,) right side by which the sides want to be alike.

        Args:
            design: (n, m) what each flat position is made of, weighed.
            flat: (n, 2) the flat positions, weighed.
            moves: (n, 2, 2) by how much each is moved by the slant, weighed.
        """
        inverse = np.asarray(np.linalg.pinv(design), dtype=np.float64)
        solved = inverse @ flat
        errors = np.einsum("umx,mn->unx", self.slopes(solved), inverse)
        surely = np.linalg.inv(np.einsum("unx,vnx->uv", errors, errors))
        turned = np.einsum("unx,nxk->uk", errors, moves)
        return turned.T @ surely @ turned, -turned.T @ surely @ self.unlikeness(solved)

    def slopes(self, solved: Points) -> NDArray[np.float64]:
        """(2, m, 2) by how much each number in `solved` changes the unlikeness."""
        slopes = np.zeros((2, *solved.shape))
        for row in [end - back for end in self.ends for back in (2, 1)]:
            for axis in (0, 1):
                step = np.zeros(solved.shape)
                step[row, axis] = 1e-5 * np.abs(solved[row]).max()
                change = self.unlikeness(solved + step) - self.unlikeness(solved - step)
                slopes[:, row, axis] = change / (2 * step[row, axis])
        return slopes


def find_sides(numbered: Sequence[tuple[Points, Points]]) -> Sides:
    """The sides of a corner from the pins of each and what their flat positions are made of."""
    apart = numbered[0][0].mean(axis=0) - numbered[1][0].mean(axis=0)
    ways = []
    for (pins, design), away in zip(numbered, (apart, -apart), strict=True):
        right, left = np.linalg.lstsq(design, pins, rcond=None)[0][-2:]
        along = np.array([1.0, 1.0]) * np.sign((right + left) @ away)
        across = np.array([-1.0, 1.0]) * np.sign((right - left) @ away)
        ways.append(np.array([along, across]))
    first = numbered[0][1].shape[1]
    return Sides((first, first + numbered[1][1].shape[1]), np.array(ways))
