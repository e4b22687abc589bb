"""The analyser: holes, drawings, lattices and what they tell. Usable alone as a library."""

from archive.geometry.drawings import Drawing, read_drawing
from archive.geometry.measuring import ANALYSER, measure, measure_points
from archive.geometry.overlay import draw_overlay

__all__ = [
    "ANALYSER",
    "Drawing",
    "draw_overlay",
    "measure",
    "measure_points",
    "read_drawing",
]
