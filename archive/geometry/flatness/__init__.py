"""Whether a sheet is flat, and how it is made flat: slants, cockles, the two sides of a corner."""
