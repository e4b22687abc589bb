"""Areas of a pricking: full net, honeycomb net and open figures.

Knows the grid of taken places. Honeycomb and kat stitch leave out one place in four, so that
six pins stand round each empty place; which of the two is worked does not show on the sheet.

Source: the count of three quarters and the six pins round each empty place follow from leaving
out every second place of every second column; checked on figure 791 of Th. de Dillmont,
Encyclopedia of Needlework (c. 1886).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from archive.geometry.neighbours import Points
from archive.geometry.occupancy import SIX_AROUND, Grid, count_around

Mask = NDArray[np.bool_]
Kind = Literal["full net", "honeycomb net", "open"]

TWO_STEPS = tuple((2 * column, 2 * half_row) for column, half_row in SIX_AROUND)
"""From one empty place of a honeycomb to the next ones."""

FEWEST_NET_PINS = 12
"""Pins of a full net worth naming."""

FEWEST_EMPTY = 3
"""Empty places with six pins round them that make a honeycomb net; fewer are rings or faults."""

FEWEST_OPEN = 4
"""Neighbouring empty places inside the lace that make an open figure; fewer are missing pins."""

CONNECTED = np.zeros((3, 5), dtype=bool)
CONNECTED[1, 2] = True
for _column, _half_row in SIX_AROUND:
    CONNECTED[1 + _column, 2 + _half_row] = True


@dataclass(frozen=True)
class Net:
    """One connected area.

    Attributes:
        cells: (columns, half rows) bool, its places in the grid.
        pins: pins in a net, pins round an open area.
        loops: (k, 2) positions of its borders, each closed by its first point; the outer
            border first, then those of the holes in it.
        area: its size, the lattice cells of all its places together.
    """

    kind: Kind
    cells: Mask
    pins: int
    loops: list[Points]
    area: float


@dataclass(frozen=True)
class Surface:
    """How the grid is filled.

    Attributes:
        nets: the areas, largest first.
        honeycomb_empty: (columns, half rows) bool, places a honeycomb leaves out.
        lone_empty: the same, other empty places with six pins round them.
        full: the same, pins of full nets, large or small.
    """

    nets: list[Net]
    honeycomb_empty: Mask
    lone_empty: Mask
    full: Mask


def read_surface(grid: Grid) -> Surface:
    """What the places of the grid make up."""
    taken, exists = grid.taken, grid.exists
    encircled = exists & ~taken & (count_around(grid, taken) == 6)
    near = np.sum([grid.around(encircled, step) for step in TWO_STEPS], axis=0)
    honeycomb_empty = _of_size(encircled & (near >= 1), FEWEST_EMPTY, _TWICE)
    in_honeycomb = taken & (count_around(grid, honeycomb_empty) > 0)

    neighbours = count_around(grid, taken)
    middle = taken & ~in_honeycomb & (neighbours >= 5)
    full = taken & ~in_honeycomb & (middle | (count_around(grid, middle) > 0))
    lone = encircled & ~honeycomb_empty
    inside = exists & ~taken & ~honeycomb_empty & ~lone & _within(taken)
    open_places = _of_size(inside & (count_around(grid, inside) >= 1), FEWEST_OPEN, CONNECTED)

    nets = _parts(grid, full, "full net", FEWEST_NET_PINS)
    nets += _parts(grid, in_honeycomb | honeycomb_empty, "honeycomb net", 1)
    nets += _parts(grid, open_places, "open", FEWEST_OPEN)
    nets.sort(key=lambda net: (-net.area, net.kind, net.loops[0][0].tolist()))
    return Surface(nets, honeycomb_empty, lone, full)


_TWICE = np.zeros((5, 9), dtype=bool)
_TWICE[2, 4] = True
for _column, _half_row in TWO_STEPS:
    _TWICE[2 + _column, 4 + _half_row] = True


def label_parts(cells: Mask, structure: Mask) -> tuple[NDArray[np.int64], int]:
    """Connected parts of cells whose neighbours lie further than one cell apart."""
    labels = np.zeros(cells.shape, dtype=np.int64)
    steps = np.argwhere(structure) - np.array(structure.shape) // 2
    number = 0
    for start in np.argwhere(cells):
        if labels[tuple(start)]:
            continue
        number += 1
        labels[tuple(start)] = number
        waiting = [start]
        while waiting:
            for at in waiting.pop() + steps:
                inside = (at >= 0).all() and (at < cells.shape).all()
                if inside and cells[tuple(at)] and not labels[tuple(at)]:
                    labels[tuple(at)] = number
                    waiting.append(at)
    return labels, number


def _of_size(cells: Mask, least: int, structure: Mask) -> Mask:
    """The cells whose connected part has at least so many of them."""
    labels, number = label_parts(cells, structure)
    sizes = ndimage.sum_labels(cells, labels, np.arange(number + 1))
    kept: Mask = cells & (sizes[labels] >= least)
    return kept


def _within(taken: Mask) -> Mask:
    """Places with pins on both sides of them, across the lace."""
    before = np.maximum.accumulate(taken, axis=0)
    after = np.maximum.accumulate(taken[::-1], axis=0)[::-1]
    # a row of the lattice fills two half rows: every second column belongs to the other
    for half in (before, after):
        half[:, 1:] |= half[:, :-1].copy()
    within: Mask = before & after
    return within


def _parts(grid: Grid, cells: Mask, kind: Kind, least: int) -> list[Net]:
    labels, number = label_parts(cells, CONNECTED)
    found = []
    for part in range(1, number + 1):
        mine = labels == part
        if mine.sum() < least:
            continue
        if kind == "open":
            pins = int((grid.taken & (count_around(grid, mine) > 0)).sum())
        else:
            pins = int((mine & grid.taken).sum())
        lattice = grid.lattice
        area = int(mine.sum()) * lattice.pitch * lattice.column
        found.append(Net(kind, mine, pins, borders(grid, mine), area))
    return found


def borders(grid: Grid, cells: Mask) -> list[Points]:
    """Borders of the union of the cells' rhombi, the one that encloses most first.

    A cell reaches from its place half a pitch up and down, one column to either side. Edges
    between two cells cancel, the rest chain into loops.

    Returns:
        A (k, 2) array of positions for each loop.
    """
    corners = ((0, -1), (1, 0), (0, 1), (-1, 0))
    following: dict[tuple[int, int], list[tuple[int, int]]] = {}
    edges: set[tuple[tuple[int, int], tuple[int, int]]] = set()
    for column, half_row in np.argwhere(cells).tolist():
        at = [(column + right, half_row + down) for right, down in corners]
        for start, end in zip(at, at[1:] + at[:1], strict=True):
            if (end, start) in edges:
                edges.remove((end, start))
            else:
                edges.add((start, end))
    for start, end in sorted(edges):
        following.setdefault(start, []).append(end)
    loops = []
    while following:
        start = min(following)
        loop = [start]
        while True:
            ends = following[loop[-1]]
            end = ends.pop()
            if not ends:
                del following[loop[-1]]
            if end == start:
                break
            loop.append(end)
        loops.append(np.array(loop))
    loops.sort(key=_enclosed, reverse=True)
    return [grid.position(loop) for loop in loops]


def _enclosed(loop: NDArray[np.int64]) -> float:
    x, y = loop.T
    return abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())) / 2
