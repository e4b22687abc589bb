"""The analyser: holes, drawings, lattices and what they tell. Usable alone as a library."""

from archive.geometry.documents import draw_page
from archive.geometry.drawings import Drawing
from archive.geometry.measuring import ANALYSER, measure, measure_points
from archive.geometry.overlay import draw_overlay
from archive.geometry.pixels import Scan
from archive.geometry.sheets import check_sheet, read_sheet

__all__ = [
    "ANALYSER",
    "Drawing",
    "Scan",
    "check_sheet",
    "draw_overlay",
    "draw_page",
    "measure",
    "measure_points",
    "read_sheet",
]
