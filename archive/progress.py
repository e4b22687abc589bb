"""How long work tells how far it is. Knows nobody."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[int, int], None]
"""Told how much is done, of how much."""


def untold(_done: int, _of: int) -> None:
    """Tell nobody."""
