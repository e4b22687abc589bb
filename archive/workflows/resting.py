"""Work on very many records at once, for which the search for garbage may rest."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_resting() -> Iterator[None]:
    """Let the search for garbage rest: records are many objects and hold no cycles.

    Otherwise a third of the time of a long list goes into it (benchmarks/importing.py), a fifth
    of that of a large site (benchmarks/publishing.py), and a seventh of that of importing what
    a command needs.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()
