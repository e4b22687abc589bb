"""The symmetry of a repeat: seven kinds of strip, on a lattice and without one."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry.friezes import Kind, find_bare_frieze, name_frieze
from archive.geometry.strips import read_strip
from archive.records.measurement import Frieze
from tests.strategies_geometry import SYMMETRIES, draw_insertion, ground_patch, turn

Points = NDArray[np.float64]

FRESH = 70_000
"""First of the seeds that no setting was tried on."""

LENGTH, WIDTH = 12.0, 9.0
FLIPS: dict[str, Points] = {
    "across": np.diag([1.0, -1.0]),
    "along": np.diag([-1.0, 1.0]),
    "turn": np.diag([-1.0, -1.0]),
    "glide": np.diag([-1.0, 1.0]),
}


def strip_of(group: Frieze, rng: np.random.Generator) -> Points:
    """Pins on no lattice: a motif, brought about by the moves of a group, five repeats of it."""
    motif = np.column_stack([rng.uniform(0.5, WIDTH / 2, 6), rng.uniform(0, LENGTH, 6)])
    if group in ("p1", "p1m1"):
        motif[:, 0] += rng.uniform(-WIDTH / 2, 0, 6)
    for kind in SYMMETRIES[group]:
        slide = np.array([0.0, LENGTH / 2 if kind == "glide" else 0.0])
        motif = np.concatenate([motif, motif @ FLIPS[kind] + slide])
    motif[:, 1] %= LENGTH
    repeats = [motif + np.array([0.0, LENGTH * number]) for number in range(5)]
    # both edges are straight, so that the middle line is known
    down = np.arange(5 * 8) * LENGTH / 8
    feet = [np.column_stack([np.full(40, side * WIDTH), down]) for side in (-1, 1)]
    return np.concatenate([*repeats, *feet])


@pytest.mark.parametrize("group", SYMMETRIES)
@pytest.mark.parametrize("turned", [0.0, 7.0])
def test_a_strip_without_a_ground_has_the_symmetry_it_was_made_with(
    group: Frieze, turned: float
) -> None:
    rng = np.random.default_rng(FRESH)
    points = strip_of(group, rng)
    points += rng.normal(0, 0.02, points.shape)
    step = turn(np.array([[0.0, LENGTH]]), turned)[0]
    assert find_bare_frieze(turn(points, turned), step, 0.0) == group


@pytest.mark.parametrize("group", SYMMETRIES)
def test_spoilt_insertions_keep_repeat_and_symmetry(group: Frieze) -> None:
    """0.1 mm jitter, 5 % missing, 3 % extra; no mirrored half repeat is taken for the repeat."""
    for seed in range(FRESH, FRESH + 3):
        design = draw_insertion(np.random.default_rng(seed), group)
        repeat = read_strip(design.points_mm).repeat
        assert repeat is not None, seed
        assert repeat.rows == design.repeat_rows, seed
        assert repeat.frieze == group, seed
        assert repeat.mirrored is (group in ("p1m1", "p11g", "p2mg", "p2mm")), seed


@pytest.mark.parametrize(("seed", "group"), [(610_004, "p2"), (610_514, "p11m"), (860_107, "p1m1")])
def test_a_hole_lost_from_every_repeat_in_a_net_breaks_no_symmetry(
    seed: int, group: Frieze
) -> None:
    """By chance: of three or four repeats none has the hole, and all have the one it mirrors."""
    design = draw_insertion(np.random.default_rng(seed), group)
    repeat = read_strip(design.points_mm).repeat
    assert repeat is not None
    assert repeat.frieze == group


def test_a_place_altered_beside_a_figure_breaks_a_symmetry() -> None:
    """A figure is larger by one place than its mirror image, in each of four repeats."""
    design = draw_insertion(np.random.default_rng(35_859), "p11m")
    repeat = read_strip(design.points_mm).repeat
    assert repeat is not None
    assert repeat.frieze == "p11m"


def test_a_footside_on_one_side_leaves_no_mirror_along_the_lace() -> None:
    ground = ground_patch(58, 2.0, 9, 30)
    foot = np.column_stack([np.full(30, -2.6), np.arange(30) * 2.0 + 1])
    other = np.column_stack([np.full(30, ground[:, 0].max() + 2.6), np.arange(30) * 2.0 + 1])
    for points, group in ((np.concatenate([ground, foot]), "p1m1"),
                          (np.concatenate([ground, foot, other]), "p2mm")):  # fmt: skip
        repeat = read_strip(points).repeat
        assert repeat is not None
        assert repeat.frieze == group


def test_picots_out_of_step_with_the_figures_break_the_symmetry() -> None:
    """The ground is its own mirror image about many lines, the picots about others."""
    ground = ground_patch(58, 2.0, 9, 32)
    foot = np.column_stack([np.full(32, -2.6), np.arange(32) * 2.0 + 1])
    for phase, group in ((0.0, "p1m1"), (0.3, "p1")):
        picots = np.arange(40) * 1.6 + phase
        head = np.column_stack([np.full(40, ground[:, 0].max() + 3.0), picots])
        repeat = read_strip(np.concatenate([ground, foot, head])).repeat
        assert repeat is not None
        assert (repeat.rows, repeat.frieze) == (4, group)


@pytest.mark.parametrize(
    ("kinds", "group"),
    [
        ((), "p1"),
        (("glide",), "p11g"),
        (("across",), "p1m1"),
        (("along",), "p11m"),
        (("turn",), "p2"),
        (("across", "glide", "turn"), "p2mg"),
        (("across", "along", "turn"), "p2mm"),
    ],
)
def test_the_seven_groups_are_named_as_in_the_international_tables(
    kinds: tuple[Kind, ...], group: Frieze
) -> None:
    """Source: International Tables for Crystallography, volume E, frieze groups 1 to 7."""
    assert name_frieze(kinds) == group
