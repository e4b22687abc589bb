"""The analyser: holes, drawings, lattices and what they tell. Usable alone as a library."""

from archive.geometry.measuring import measure, measure_points
from archive.geometry.overlay.drawing import draw_overlay
from archive.geometry.reading.documents import draw_page
from archive.geometry.reading.drawings import Drawing
from archive.geometry.reading.pixels import Scan
from archive.geometry.reading.sheets import check_sheet, read_sheet
from archive.geometry.telling import ANALYSER

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
