"""What a thread is: its number, its thickness, its label, and what a stitch does to four of it."""

from archive.threads.labels import Doubt, ThreadLabel, read_label
from archive.threads.numbering import (
    Fibre,
    NumberingSystem,
    convert,
    fibres,
    get_system,
    linear_density_tex,
    systems,
)
from archive.threads.stitches import (
    HalfStitch,
    pairs_stay_together,
    read_stitch,
    thread_order,
    times_until_as_before,
)
from archive.threads.thickness import (
    Estimate,
    diameter_mm,
    enlargement_percent,
    estimate_wraps_per_cm,
    rescaling_factor_from_counts,
    rescaling_factor_from_tex,
    rescaling_factor_from_wraps,
)

__all__ = [
    "Doubt",
    "Estimate",
    "Fibre",
    "HalfStitch",
    "NumberingSystem",
    "ThreadLabel",
    "convert",
    "diameter_mm",
    "enlargement_percent",
    "estimate_wraps_per_cm",
    "fibres",
    "get_system",
    "linear_density_tex",
    "pairs_stay_together",
    "read_label",
    "read_stitch",
    "rescaling_factor_from_counts",
    "rescaling_factor_from_tex",
    "rescaling_factor_from_wraps",
    "systems",
    "thread_order",
    "times_until_as_before",
]
