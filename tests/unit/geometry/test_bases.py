"""Are the steps of a net reduced to its shortest ones?"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
import spglib
from hypothesis import assume, given, reject
from hypothesis import strategies as st

from archive.geometry.bases import cross, reduced

spglib.error.OLD_ERROR_HANDLING = False
"""It raises what goes wrong; the old way warns at every call."""


@given(
    angle=st.floats(45, 75),
    turned=st.floats(0, 360),
    pitch=st.floats(0.9, 80),
    first=st.integers(-3, 3),
    second=st.integers(-3, 3),
)
def test_a_reduced_basis_holds_the_shortest_steps_of_its_net(
    angle: float, turned: float, pitch: float, first: int, second: int
) -> None:
    """Against all small combinations of the same two steps, tried one by one."""
    column = pitch * np.tan(np.deg2rad(angle)) / 2
    turn = np.deg2rad(turned)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    along, slant = np.array([[0, pitch], [column, pitch / 2]]) @ rotation.T
    u, v = along, slant
    v = v + first * u
    u = u + second * v
    steps = [a * along + b * slant for a, b in product(range(-4, 5), repeat=2)]
    lengths = sorted(float(np.hypot(*step)) for step in steps)
    short, long = reduced(u, v)
    # every step comes with its opposite: the first two of the list are one step
    assert np.hypot(*short) == pytest.approx(lengths[1], rel=1e-9)
    assert np.hypot(*long) == pytest.approx(lengths[3], rel=1e-9)
    assert abs(np.linalg.det([short, long])) == pytest.approx(pitch * column, rel=1e-6)


@given(
    first=st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
    second=st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
)
def test_a_reduced_basis_is_as_short_as_that_of_crystallographers(
    first: tuple[float, float], second: tuple[float, float]
) -> None:
    """Oracle: spglib's Niggli cell of the net, with a third step that is far longer."""
    u, v = np.array(first), np.array(second)
    assume(abs(cross(u, v)) > 1)
    crystal = np.zeros((3, 3))
    crystal[:2, :2] = u, v
    crystal[2, 2] = np.copysign(1000, cross(u, v))
    try:
        cell = spglib.niggli_reduce(crystal)
    except spglib.SpglibError:
        reject()  # the oracle gives up where one step is a thousandth of the other
    assert cell is not None
    assert np.abs(cell[2]) == pytest.approx([0, 0, 1000])
    expected = sorted(np.hypot(*cell[:2, :2].T))
    assert np.hypot(*reduced(u, v).T) == pytest.approx(expected, rel=1e-5)


def test_a_tie_between_two_steps_ends() -> None:
    """u·v is half of u·u but for rounding, as in every ground: one net in 300 went round for ever.

    The two are such nets, found by trying.
    """
    for u, v in (
        ((-34.78746011940188, -26.73843610257991), (-46.4209079320097, 24.395959715194856)),
        ((11.408686412435252, -1.4161993695767556), (4.164050309950283, -13.116464646896466)),
    ):
        for sign in (1, -1):
            short, long = reduced(np.array(u), sign * np.array(v))
            assert np.hypot(*short) == pytest.approx(np.hypot(*u))
            assert np.hypot(*long) == pytest.approx(np.hypot(*v))
