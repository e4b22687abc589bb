"""Pinholes of a scan: where they are, and how surely."""
