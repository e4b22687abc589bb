"""Holes found in scans beside general blob finders.

Fresh A4 scans with known holes, half of them spoilt by `augraphy` (see `benchmarks/scans.py`), two
of them at 600 dpi. The peers are OpenCV's SimpleBlobDetector, trackpy, photutils' DAOStarFinder
and scikit-image's blob_log and blob_dog; each is told what ours must find out for itself: how
large a hole is and whether it is dark or light. Their thresholds were set on three other scans.
Matched within 0.25 mm, each hole once. The processor's seconds are those of one A4 sheet.
Goals: F1 at least 0.985, root mean square error at most 19 µm, at most 1.5 s at 300 dpi and
4 s at 600 dpi.
Needs: pip install augraphy opencv-python-headless trackpy photutils scikit-image
Run: python -m benchmarks.holes [--scans N] [--seed S] [--ours]
"""

from __future__ import annotations

import argparse
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes import find_holes
from benchmarks.scans import KnownScan, known_scan
from tests.rendering import matched

Points = NDArray[np.float64]
Grey = NDArray[np.float32]

MATCH_MM = 0.25
FINE = (3, 10)
"""Of sixteen scans, those at 600 dpi: one as it was scanned and one spoilt."""


@dataclass
class Tally:
    """What one finder reached on all scans so far."""

    hits: int = 0
    found: int = 0
    holes: int = 0
    squares_um: list[Points] = field(default_factory=list)
    seconds: dict[float, list[float]] = field(default_factory=dict)

    @property
    def f1(self) -> float:
        """Twice the hits over all found and all true holes."""
        return 2 * self.hits / max(self.found + self.holes, 1)

    @property
    def rms_um(self) -> float:
        """Root of the mean squared distance of the matched."""
        squares_um = np.concatenate(self.squares_um)
        return float(np.sqrt(squares_um.mean())) if len(squares_um) else 0.0

    def add(self, positions_px: Points, scan: KnownScan, seconds: float, dpi: float) -> None:
        """Count what was found in one scan."""
        truth_px, px_per_mm = scan.rendered.positions_px, scan.rendered.px_per_mm
        pairs = matched(positions_px, truth_px, MATCH_MM * px_per_mm)
        apart_um = (positions_px[pairs[:, 0]] - truth_px[pairs[:, 1]]) * 1000 / px_per_mm
        self.hits += len(pairs)
        self.found += len(positions_px)
        self.holes += len(truth_px)
        self.squares_um.append((apart_um**2).sum(axis=1))
        self.seconds.setdefault(dpi, []).append(seconds)


def ours(grey: Grey, _radius_px: float) -> Points:
    """The project's finder, which is told nothing."""
    return find_holes(grey).positions_px


def by_opencv(grey: Grey, radius_px: float) -> Points:
    """OpenCV's SimpleBlobDetector."""
    import cv2

    setting = cv2.SimpleBlobDetector_Params()
    setting.minThreshold, setting.maxThreshold, setting.thresholdStep = 20, 230, 10
    setting.filterByArea, setting.filterByColor = True, True
    setting.blobColor = 0
    setting.minArea, setting.maxArea = (np.pi * (k * radius_px) ** 2 for k in (0.5, 1.7))
    setting.filterByCircularity, setting.minCircularity = True, 0.6
    setting.filterByConvexity, setting.filterByInertia = True, True
    setting.minDistBetweenBlobs = 2 * radius_px
    found = cv2.SimpleBlobDetector_create(setting).detect((grey * 255).astype(np.uint8))
    return np.array([one.pt for one in found]).reshape(-1, 2)


def by_trackpy(grey: Grey, radius_px: float) -> Points:
    """The trackpy package's locate."""
    import trackpy

    diameter = 2 * round(1.3 * radius_px) + 1
    dark = (255 * (1 - grey)).astype(np.uint8)
    trackpy.quiet()
    found = trackpy.locate(dark, diameter, separation=3 * radius_px, percentile=90, topn=9000)
    found = found[found.mass > 0.4 * found.mass.median()]
    return found[["x", "y"]].to_numpy()


def by_photutils(grey: Grey, radius_px: float) -> Points:
    """The photutils package's DAOStarFinder."""
    from photutils.detection import DAOStarFinder

    finder = DAOStarFinder(0.15, 1.7 * radius_px, sharpness_range=(0.2, 1.0))
    found = finder(1 - grey - np.median(1 - grey))
    if found is None:
        return np.empty((0, 2))
    return np.stack([found["x_centroid"], found["y_centroid"]], axis=1)


def by_scikit_log(grey: Grey, radius_px: float) -> Points:
    """Peaks of the Laplacian of Gaussians."""
    from skimage.feature import blob_log

    sigma_px = radius_px / np.sqrt(2)
    found = blob_log(1 - grey, min_sigma=0.8 * sigma_px, max_sigma=1.2 * sigma_px, num_sigma=3)
    return found[:, 1::-1]


def by_scikit_dog(grey: Grey, radius_px: float) -> Points:
    """Peaks of differences of Gaussians."""
    from skimage.feature import blob_dog

    sigma_px = radius_px / np.sqrt(2)
    found = blob_dog(1 - grey, min_sigma=0.8 * sigma_px, max_sigma=1.4 * sigma_px, threshold=0.1)
    return found[:, 1::-1]


OURS: dict[str, Callable[[Grey, float], Points]] = {"prickings": ours}
PEERS: dict[str, Callable[[Grey, float], Points]] = {
    "OpenCV SimpleBlobDetector": by_opencv,
    "trackpy": by_trackpy,
    "photutils DAOStarFinder": by_photutils,
    "scikit-image blob_log": by_scikit_log,
    "scikit-image blob_dog": by_scikit_dog,
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scans", type=int, default=16)
    parser.add_argument("--seed", type=int, default=secrets.randbelow(10**6) + 10_000)
    parser.add_argument("--ours", action="store_true", help="leave out the peers")
    options = parser.parse_args()
    finders = OURS | ({} if options.ours else PEERS)
    tallies = {name: Tally() for name in finders}
    print(f"seed {options.seed}")
    for number in range(options.scans):
        dpi = 600.0 if number % 16 in FINE else 300.0
        scan = known_scan(options.seed + number, dpi=dpi, spoilt=number % 2 == 1)
        grey = scan.rendered.grey
        radius_px = scan.look.radius_mm * scan.rendered.px_per_mm
        for name, finder in finders.items():
            told = 1 - grey if name in PEERS and scan.look.paper < 0.5 else grey
            began = time.process_time()
            positions_px = finder(told, radius_px)
            tallies[name].add(positions_px, scan, time.process_time() - began, dpi)
            if name in OURS:
                this = Tally()
                this.add(positions_px, scan, 0, dpi)
                effects = ", ".join(scan.effects) or "not spoilt"
                print(
                    f"{scan.name}, pitch {scan.pitch_mm:.2f} mm, {effects}: F1 {this.f1:.4f},"
                    f" {this.rms_um:.1f} µm, {this.holes} holes",
                    flush=True,
                )
    print(f"\n{'':<28}recall  precision     F1  RMS µm   s at 300 / 600 dpi")
    for name, tally in tallies.items():
        recall, precision = tally.hits / tally.holes, tally.hits / max(tally.found, 1)
        seconds = " / ".join(
            f"{np.median(tally.seconds[dpi]):.2f}" for dpi in sorted(tally.seconds)
        )
        print(
            f"{name:<28}{recall:6.4f}     {precision:6.4f} {tally.f1:6.4f}  {tally.rms_um:6.1f}"
            f"   {seconds}"
        )


if __name__ == "__main__":
    main()
