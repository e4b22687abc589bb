"""Fits the weights by which blobs are judged to be holes, on scans with known holes.

Prints `BIAS` and `WEIGHTS` for `archive/geometry/holes/judging.py`. A logistic regression with a
mild ridge, each scan counting the same; because the judge's first round teaches its second, the
fit is repeated with its own weights. The seeds are apart from those of `benchmarks/holes.py`.
Run: python -m benchmarks.weigh_holes          (half an hour; packages: see `benchmarks/scans.py`)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from archive.geometry.holes import judging
from archive.geometry.holes.blobs import Blobs, find_bright_blobs
from archive.geometry.holes.judging import FAINTEST_SHARE, SURE, WEIGHTS, candidates, measure
from archive.geometry.holes.light import light_of
from archive.geometry.holes.marks import Ink, Mark, ink_of, seen_mark, without_margin
from archive.geometry.holes.sighting import sight_holes
from benchmarks.scans import known_scan
from tests.rendering import matched

SEEDS = range(1000, 1064)
DPI = (300, 300, 200, 300, 150, 300, 400, 300, 600)
SIZE_MM = (148.0, 210.0)
REPEATS = 3
RIDGE = 1.0
MATCH_MM = 0.25

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Lesson:
    """The blobs of one scan, and which of them are holes."""

    ink: Ink
    blobs: Blobs
    seeds: NDArray[np.bool_]
    mark: Mark
    true: NDArray[np.bool_]


def lesson(number: int, seed: int) -> Lesson | None:
    """What one scan teaches; None where its holes were not even sighted."""
    scan = known_scan(seed, dpi=DPI[number % len(DPI)], spoilt=number % 4 == 1, size_mm=SIZE_MM)
    grey = scan.rendered.grey
    light = light_of(grey)
    sightings = sight_holes(grey, light)
    if not sightings:
        return None
    sighting = sightings[0]
    mark = seen_mark(grey, sighting)
    ink = ink_of(grey, mark.level, sighting.polarity)
    found = find_bright_blobs(
        mark.filled(without_margin(ink)),
        light.at_level(mark.level),
        mark.sigma_px,
        faintest=FAINTEST_SHARE * sighting.usual_strength,
    )
    blobs, seeds = candidates(ink, found, mark, usual_strength=sighting.usual_strength)
    positions_px = (blobs.positions_px + 0.5) * 2**mark.level - 0.5
    within_px = MATCH_MM * scan.rendered.px_per_mm
    true = np.zeros(len(blobs), dtype=bool)
    true[matched(positions_px, scan.rendered.positions_px, within_px)[:, 0]] = True
    share = true.sum() / len(scan.rendered.positions_px)
    spoilt = ", ".join(scan.effects) or "clean"
    print(f"{scan.name}, {spoilt}: {share:.4f} of holes among blobs", flush=True)
    return Lesson(ink, blobs, seeds, mark, true) if share > 0.5 and seeds.any() else None


def fitted(lessons: list[Lesson], bias: float, weights: Floats) -> tuple[float, Floats]:
    """The weights that judge best after a first round with the given ones."""
    tables, answers, counts = [], [], []
    for one in lessons:
        first = bias + measure(one.ink, one.blobs, one.seeds, one.mark.radius_px) @ weights
        seeds = 1 / (1 + np.exp(-first)) > SURE
        if not seeds.any():
            continue
        tables.append(measure(one.ink, one.blobs, seeds, one.mark.radius_px))
        answers.append(one.true)
        counts.append(np.full(len(one.true), 1000 / one.true.sum()))
    table, answer, count = np.concatenate(tables), np.concatenate(answers), np.concatenate(counts)
    middle, spread = table.mean(axis=0), table.std(axis=0)
    design = np.column_stack([np.ones(len(table)), (table - middle) / spread])
    sign = np.where(answer, 1.0, -1.0)

    def loss(parameters: Floats) -> tuple[float, Floats]:
        margin = sign * (design @ parameters)
        wrong = 1 / (1 + np.exp(np.clip(margin, -50, 50)))
        slope = -design.T @ (count * sign * wrong)
        slope[1:] += RIDGE * parameters[1:]
        ridge = RIDGE / 2 * (parameters[1:] ** 2).sum()
        return float((count * np.logaddexp(0, -margin)).sum() + ridge), slope

    best = minimize(loss, np.zeros(design.shape[1]), jac=True, method="L-BFGS-B").x
    new = best[1:] / spread
    return float(best[0] - new @ middle), new


def main() -> None:
    lessons = [one for n, seed in enumerate(SEEDS) if (one := lesson(n, seed)) is not None]
    bias, weights = judging.BIAS, np.array([*WEIGHTS.values()])
    for _ in range(REPEATS):
        bias, weights = fitted(lessons, bias, weights)
        print(f"\nBIAS = {bias:.2f}")
        for name, weight in zip(WEIGHTS, weights, strict=True):
            print(f'    "{name}": {weight:.2f},')


if __name__ == "__main__":
    main()
