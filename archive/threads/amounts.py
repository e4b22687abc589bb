"""The one rule that every amount here must keep. Knows nobody but the errors."""

from __future__ import annotations

import math

from archive.errors import InputError


def require_positive(what: str, value: float) -> None:
    """Refuse an amount that is not a number above zero.

    Raises:
        InputError: If it is not; names it as `what`.
    """
    if not (math.isfinite(value) and value > 0):
        raise InputError(
            f"A {what} must be above zero, not {value}.",
            "Correct the number, or leave it out where it is not known.",
        )
