"""The size and polarity of a picture's holes: those whose blobs explain each other best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from archive.geometry.holes.agreement import explained_blobs
from archive.geometry.holes.blobs import Blobs, find_both_blobs, halved
from archive.geometry.holes.light import Floats, Grey, Light
from archive.geometry.holes.streaks import on_streaks

Polarity = Literal["dark", "light"]
POLARITIES: tuple[Polarity, Polarity] = ("dark", "light")

QUICK_PIXELS = 4_000_000
"""A picture is searched at the finest level that has at most this many pixels, and coarser ones."""

SMALLEST_SIDE_PX = 16
"""A picture below this has no room for a hole and its surroundings."""

FINE_SIGMAS_PX = (1.0, 1.4, 2.0)
"""Smoothings tried on the finest level searched; a dot of radius r answers most at r/√2, so these
see radii from 1 to 3 px."""

COARSE_SIGMAS_PX = (1.4, 2.0)
"""Smoothings tried on each coarser level, which together with the finer ones leave no gap."""

FAINTEST_SHARE = 0.1
"""Strength, as a share of the strongest blobs', below which none is tried."""

BAND_BLOBS = 2000
"""Explaining is tried on a band of the sheet with at most this many blobs."""

FEWEST_BLOBS = 16
MORE_BLOBS = 1.6
"""Explaining is tried on the 16 strongest blobs, then on 1.6 times as many, and so on."""

WORTH_TRYING = 0.2
"""Agreement, as a share of the other polarity's, from which a polarity is worth trying. On a scan
whose rings' middles agreed best, the rings had 0.3 of that."""

LEAST_ORDER = 0.3
"""Share of blobs that must be explained. In rendered scans it is 0.6 and more where the holes are
seen best, of letters on a page of words 0.28, in noise below 0.05."""

LEAST_BEYOND = 1.5
"""How far a mark differs at least from the sheet's own light, in units of its strength. In rendered
scans the holes' median is 2.1 and more, that of bare sheet inside or between rings 0.4 at most."""

FEWEST_OF_A_SIDE = 0.2
NEAR_LOG = 0.2
EMPTY_SHARE = 0.1
"""Where the reverse shows through, each side has at least a fifth of the blobs, and strengths
between the two are rare: within 0.2, in logarithms, of some strength lie less than a tenth as many
blobs as that near to either side's median. Drawn reverses of up to 0.4 of the front's ink are told
apart so; ink that fades to 0.2 from one end of a sheet to the other is not taken for two sides."""


@dataclass(frozen=True)
class Sighting:
    """The scale at which a picture shows its holes.

    Attributes:
        level: How often the picture is halved.
        sigma_px: Smoothing at that level.
        polarity: Whether holes are dark or light.
        examples: Explained blobs, in px of that level: all of them, or those in a band across the
            sheet.
        usual_strength: The median strength of the explained blobs; where two sheets are seen, one
            through the other, of the front one's.
        agreement: How much of the picture they explain.
    """

    level: int
    sigma_px: float
    polarity: Polarity
    examples: Blobs
    usual_strength: float
    agreement: float


def sight_holes(grey: Grey, light: Light) -> list[Sighting]:
    """The level and smoothing of each polarity whose blobs explain each other best, best first.

    Bare sheet inside rings and between them explains itself as well as the rings do, but does not
    stand out from the sheet. Where marks of both polarities do, such as pricked holes and their
    shining edges, what they look like tells which are holes, not this.
    """
    level, working = 0, grey
    while working.size > QUICK_PIXELS:
        level, working = level + 1, halved(working)
    best: dict[Polarity, Sighting] = {}
    sigmas_px: tuple[float, ...] = FINE_SIGMAS_PX
    while min(working.shape) >= SMALLEST_SIDE_PX:
        for sigma_px in sigmas_px:
            both = find_both_blobs(working, light.at_level(level), sigma_px)
            for polarity, blobs in zip(POLARITIES, both, strict=True):
                most = max((one.agreement for one in best.values()), default=0.0)
                own = best[polarity].agreement if polarity in best else 0.0
                to_beat = max(own, WORTH_TRYING * most)
                better = _better_sighting(blobs, level, sigma_px, polarity, to_beat)
                if better and _stands_out(grey, light, better):
                    best[polarity] = better
        level, working, sigmas_px = level + 1, halved(working), COARSE_SIGMAS_PX
    return sorted(best.values(), key=lambda one: -one.agreement)


def _stands_out(grey: Grey, light: Light, sighting: Sighting) -> bool:
    """Whether the examples are ink or holes and not bare sheet that marks surround.

    Looked at are places from the middle of each example to where its blob is steepest.
    """
    centres_px = (sighting.examples.positions_px + 0.5) * 2**sighting.level - 0.5
    turns = np.linspace(0, 2 * np.pi, 8, endpoint=False)
    radii_px = np.arange(4) / 3 * sighting.sigma_px * 2**sighting.level
    round_px = np.multiply.outer(radii_px, np.stack([np.cos(turns), np.sin(turns)], axis=1))
    places_px = centres_px[:, None] + round_px.reshape(-1, 2)
    across, down = places_px.transpose(2, 0, 1)
    seen = ndimage.map_coordinates(grey, [down, across], output=np.float64, order=1, mode="nearest")
    beyond = (seen.mean(axis=1) - light.bare_at(centres_px)) / light.at(centres_px)
    if sighting.polarity == "dark":
        beyond = -beyond
    return bool(np.median(beyond / sighting.examples.strength) > LEAST_BEYOND)


def _better_sighting(
    blobs: Blobs, level: int, sigma_px: float, polarity: Polarity, to_beat: float
) -> Sighting | None:
    """What those of the blobs show that agree best, if they agree better than `to_beat`.

    The measure is the summed weight of the explained blobs, times the third power of the share
    of blobs that they are: hatching, screens and paper fibres agree by the thousand, but are
    faint or do not mostly agree. The weight grows with strength and size, because the sides of a
    ring and the nooks of a cross agree as well as the mark itself. Thresholds whose blobs are too
    weak to be better are not tried.
    """
    in_band, share = _band(blobs, sigma_px)
    weight = (in_band.strength * np.sqrt(sigma_px * 2**level)) ** 1.5
    possible = np.cumsum(weight) / share
    count = float(FEWEST_BLOBS)
    best: Sighting | None = None
    while count < MORE_BLOBS * len(in_band):
        some = in_band.strongest(int(count))
        count *= MORE_BLOBS
        if possible[len(some) - 1] <= to_beat:
            continue
        explained = explained_blobs(some, sigma_px)
        streaks = on_streaks(some.positions_px, alone=~explained)
        explained &= ~streaks
        order = float(explained.sum() / max((~streaks).sum(), 1))
        agreement = float(weight[: len(some)][explained].sum()) * order**3 / share
        if agreement > to_beat and order >= LEAST_ORDER:
            examples = some.only(explained)
            usual = _usual_strength(examples.strength)
            best = Sighting(level, sigma_px, polarity, examples, usual, agreement)
            to_beat = agreement
    return best


def _usual_strength(strength: Floats) -> float:
    """The median strength of explained blobs, of the stronger kind where there are two.

    The holes of one side differ in strength without a gap, however faded some are. Those of the
    reverse, where it shows through, are in good order too, but fainter, and few lie between.

    Args:
        strength: (n,) strongest first; at least one.
    """
    log = np.log(strength[::-1])
    fewest = int(FEWEST_OF_A_SIDE * len(log))
    cuts = log[fewest : len(log) - fewest]
    nearby = _within(log, cuts)
    cut = cuts[np.argmin(nearby)]
    reverse, front = log[log < cut], log[log >= cut]
    if len(reverse):
        usual = np.array([np.median(reverse), np.median(front)])
        if nearby.min() < EMPTY_SHARE * _within(log, usual).min():
            return float(np.exp(usual[1]))
    return float(np.median(strength))


def _within(ordered: Floats, middles: Floats) -> NDArray[np.intp]:
    """How many of the values, ascending, lie within `NEAR_LOG` of each middle."""
    low, high = (np.searchsorted(ordered, middles + way * NEAR_LOG) for way in (-1, 1))
    return np.asarray(high - low)


def _band(blobs: Blobs, sigma_px: float) -> tuple[Blobs, float]:
    """The blobs in a band across the middle of all of them, and which share of all they are."""
    if not len(blobs):
        return blobs, 1.0
    strong = blobs.strength[min(len(blobs) // 10, 50)]
    blobs = blobs.stronger_than(FAINTEST_SHARE * strong)
    share = min(1.0, BAND_BLOBS / len(blobs))
    y = blobs.positions_px[:, 1]
    low, high = np.quantile(y, [0.5 - share / 2, 0.5 + share / 2])
    inside = (y >= low) & (y <= high)
    return Blobs(blobs.positions_px[inside], blobs.strength[inside]).apart(sigma_px), share
