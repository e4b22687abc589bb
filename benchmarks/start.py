"""How long `prickings --help` takes beside importing click alone, as whole processes.

Goal: at most twice as long. Run: python -m benchmarks.start
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROUNDS = 21
PYTHON = sys.executable
COMMAND = str(Path(PYTHON).with_name("prickings"))


def seconds(command: list[str]) -> float:
    """The wall time of one run."""
    begun = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def main() -> None:
    """Measure both in turns and print the medians."""
    click_times, help_times = [], []
    for _ in range(ROUNDS):
        click_times.append(seconds([PYTHON, "-c", "import click"]))
        help_times.append(seconds([COMMAND, "--help"]))
    click_ms = 1000 * statistics.median(click_times)
    help_ms = 1000 * statistics.median(help_times)
    print(f"import click        {click_ms:6.1f} ms")
    print(
        f"prickings --help    {help_ms:6.1f} ms    ratio {help_ms / click_ms:.2f} (goal: at most 2)"
    )


if __name__ == "__main__":
    main()
