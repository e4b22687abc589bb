"""Catalogue, archive, search, geometry and publishing of bobbin lace prickings."""

__version__ = "0.1.0"
