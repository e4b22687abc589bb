"""Scans with known holes for the benchmarks: invented sheets, half of them spoilt by `augraphy`.

The sheets and their looks are those of `tests/rendering.py`; the spoiling is somebody else's
idea of what happens to paper, so that the hole finder is not only tested on ours. Only effects
that leave the geometry alone are used, because the truth must stay true.

Needs the packages `augraphy` and `opencv-python-headless`.
"""

from __future__ import annotations

import random
import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.designs import sheet
from tests.rendering import Look, Rendered, draw, random_look

INK_EFFECTS = ("InkBleed", "LowInkRandomLines", "InkMottling", "BleedThrough")
PAPER_EFFECTS = ("NoiseTexturize", "BrightnessTexturize", "Stains")
SCANNER_EFFECTS = (
    "Brightness",
    "DirtyScreen",
    "Gamma",
    "Jpeg",
    "LightingGradient",
    "LowLightNoise",
    "NoisyLines",
    "ShadowCast",
    "SubtleNoise",
)
WHITE_PAPER_INK_EFFECTS = (*INK_EFFECTS, "LowInkPeriodicLines")
WHITE_PAPER_SCANNER_EFFECTS = (*SCANNER_EFFECTS, "BadPhotoCopy")
"""Faults of printers and photocopiers make parts white, which is meant for white paper.

Left out is what moves the picture (the tessellations, Faxify), what wipes out or buries more
than one hole in a hundred, so that there is no truth (Letterpress, Hollow, ReflectedLight,
DirtyDrum), and what belongs to photographs of screens (Moire, LensFlare).
"""


@dataclass(frozen=True)
class KnownScan:
    """One scan, its truth and how it came about."""

    name: str
    rendered: Rendered
    look: Look
    pitch_mm: float
    effects: tuple[str, ...]


A4_MM = (210.0, 297.0)


def known_scan(
    seed: int,
    *,
    dpi: float = 300.0,
    spoilt: bool = False,
    size_mm: tuple[float, float] = A4_MM,
) -> KnownScan:
    """The scan that belongs to this seed."""
    rng = np.random.default_rng(seed)
    pitch_mm = float(rng.uniform(1.25, 3.96))
    angle_deg = float(rng.choice([45.0, 45.0, rng.uniform(52, 65)]))
    drawing = sheet(rng, pitch_mm, angle_deg, size_mm)
    look = random_look(rng, dpi, pitch_mm)
    rendered = draw(drawing, look, rng)
    effects = random_effects(rng, look) if spoilt else ()
    if effects:
        grey = spoil(rendered.grey, effects, seed)
        rendered = Rendered(grey, rendered.positions_px, rendered.px_per_mm)
    ground = "light on dark" if look.paper < 0.5 else "card" if look.paper < 0.7 else "paper"
    bilevel = ", photocopy" if look.bilevel else ""
    name = f"{seed}: {dpi:.0f} dpi, {look.mark}, {ground}{bilevel}"
    return KnownScan(name, rendered, look, pitch_mm, effects)


def random_effects(rng: np.random.Generator, look: Look) -> tuple[str, ...]:
    """An ink effect, perhaps one of the paper, and two of the scanner."""
    white = look.paper > 0.8
    ink = rng.choice(WHITE_PAPER_INK_EFFECTS if white else INK_EFFECTS)
    paper = rng.choice(PAPER_EFFECTS, int(rng.integers(2)))
    scanner = rng.choice(
        WHITE_PAPER_SCANNER_EFFECTS if white else SCANNER_EFFECTS, 2, replace=False
    )
    return (str(ink), *map(str, paper), *map(str, scanner))


def spoil(grey: NDArray[np.float32], effects: tuple[str, ...], seed: int) -> NDArray[np.float32]:
    """The picture after the named effects of `augraphy`, in this order."""
    import augraphy

    random.seed(seed)
    np.random.seed(seed % 2**32)  # the library draws from the global generators
    page = np.repeat((grey * 255).round().astype(np.uint8)[:, :, None], 3, axis=2)
    for effect in effects:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            result = getattr(augraphy, effect)(p=1)(page.copy())
        result = np.asarray(result[0] if isinstance(result, (tuple, list)) else result)
        if result.ndim == 2:
            result = np.repeat(result[:, :, None], 3, axis=2)
        assert result.shape == page.shape, effect
        page = np.clip(result, 0, 255).astype(np.uint8)
    return page.mean(axis=2, dtype=np.float32) / np.float32(255)
