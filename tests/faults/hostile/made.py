"""How a hostile file is written down."""

from __future__ import annotations

from collections.abc import Callable

Made = tuple[Callable[[], bytes], str | None]
"""Its bytes, and what is in the reason for which it is refused; None where it may also be read
honestly."""
