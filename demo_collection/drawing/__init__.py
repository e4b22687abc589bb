"""Draws the demo guild's prickings from the recipes beside it.

    recipes    what a recipe may say                       (knows nobody)
    lattice    where the pins of a net lie                 (knows nobody)
    canvas     pins, lines and marks of one drawing        (knows nobody)
    curves     gimp lines, offsets, evenly spaced points   -> lattice
    figures    which lattice points a figure takes         -> lattice, recipes
    pairs      the path of every pair, and their number    -> lattice
    net        point ground and torchon                    -> all of the above
    plaited    plaits and leaves                           -> canvas, curves, pairs, recipes
    tape       braids                                      -> canvas, curves, recipes
    sheet      paper round a drawing, and planted faults   -> canvas, recipes
    svg, scan  the sheet as a vector drawing or as a scan  -> sheet
    records    the truth about a sheet, the index          -> sheet, recipes

`python -m demo_collection.drawing` draws everything anew; the same recipes give the same
bytes. Lengths are millimetres, x to the right, y down the sheet.
"""
