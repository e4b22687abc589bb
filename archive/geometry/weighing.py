"""How likely it is what a sheet shows of its places: pricked or bare, alike or altered.

Knows how often a place of the design is on the sheet, and how often it holds a pin there. Holes are
lost and strays added; now and then figures' own pins stand near a place. Likelihoods are logarithms
of probabilities, odds those of their ratio.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from archive.geometry.occupancy import SIX_AROUND, shifted

Counts = NDArray[np.int64]
Mask = NDArray[np.bool_]
Logs = NDArray[np.float64]

MISSED = 0.06
"""Share of pricked places that show no pin, as expected: worn and doubtful sheets."""

STRAY = 0.02
"""Share of empty places that show one."""

UNSURE = 0.002
"""Share of places, about, that show a pin as often as not: figures' own pins stand near them.
Without it chance, which fills such a place here and not there, would speak for many repeats as one;
with a larger share, few figures on much ground no longer tell their repeat."""

ALTERED = 0.02
"""Share of the places in an open figure or beside one, about, in which a design alters that is
otherwise alike: figures are drawn larger or smaller by a place."""

ALTERED_ALONE = 0.001
"""The same of places in the middle of a net: a hole that is missing there is likelier lost, as
what reads areas takes it to be. Of 4,200 drawn insertions, folded by their true repeat and lattice,
five were told a wrong symmetry with these two shares, which were chosen on half of them."""


def likelihood_of_places(exists: Counts, taken: Counts, share: Logs) -> Logs:
    """What is seen of each place: pricked by the design, or not, or unsure.

    Args:
        exists: how often the place is on the sheet.
        taken: how often it holds a pin.
        share: how likely it is pricked.
    """
    pricked, bare = _likelihoods(exists, taken)
    sure = np.logaddexp(np.log(share) + pricked, np.log(1 - share) + bare)
    likely: Logs = np.logaddexp(np.log(1 - UNSURE) + sure, np.log(UNSURE) + exists * np.log(0.5))
    return likely


def odds_of_alteration(exists: Counts, taken: Counts, share: Logs, beside_open: Mask) -> Logs:
    """(…,) odds that places meant to be alike are altered in some of them, for each set of k.

    Args:
        exists: (…, k) how often each place is on the sheet.
        taken: (…, k) how often it holds a pin.
        share: (…) how likely such a place is pricked. Where hardly any is, pins stand near places
            by chance, and nothing is altered.
        beside_open: (…) whether the place lies in an open figure or beside one.
    """
    pricked, bare = _likelihoods(exists, taken)
    alike = likelihood_of_places(exists.sum(axis=-1), taken.sum(axis=-1), share)
    any_way = np.logaddexp(pricked, bare).sum(axis=-1)
    one_way = np.logaddexp(pricked.sum(axis=-1), bare.sum(axis=-1))
    # all ways in which some of the places are pricked and others bare, each as likely
    mixed = any_way + np.log(-np.expm1(np.minimum(one_way - any_way, -1e-12)))
    altered = mixed - np.log(2 ** exists.shape[-1] - 2)
    prior = np.where(beside_open, ALTERED, ALTERED_ALONE) * share
    odds: Logs = np.logaddexp(np.log1p(-prior), np.log(prior) + altered - alike)
    return odds


def lies_beside_open(exists: Counts, taken: Counts) -> Mask:
    """(columns, half rows) places of one repeat with a bare place among their six neighbours.

    Args:
        exists: (columns, half rows) how often each place of the repeat is on the sheet.
        taken: the same shape, how often it holds a pin.
    """
    bare = (exists > 0) & (2 * taken <= exists)
    # the end of a repeat is the beginning of the next
    around = [
        shifted(np.roll(bare, half_row, axis=1), (column, 0)) for column, half_row in SIX_AROUND
    ]
    beside: Mask = np.any(around, axis=0)
    return beside


def _likelihoods(exists: Counts, taken: Counts) -> tuple[Logs, Logs]:
    """What is seen of places that the design pricks, and of places that it does not prick."""
    empty = exists - taken
    pricked = taken * np.log(1 - MISSED) + empty * np.log(MISSED)
    bare = taken * np.log(STRAY) + empty * np.log(1 - STRAY)
    return pricked, bare
