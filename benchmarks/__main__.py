"""Runs every benchmark of this folder, each in a process of its own.

`python -m benchmarks` runs them all, `python -m benchmarks NAME …` those of that name, and
`python -m benchmarks --list` only says what each compares.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path


def benchmarks() -> dict[str, str]:
    """What each module with a `main` compares, in the first line of its own words."""
    found = {}
    for path in sorted(Path(__file__).parent.glob("[!_]*.py")):
        module = ast.parse(path.read_text(encoding="utf-8"))
        functions = {node.name for node in module.body if isinstance(node, ast.FunctionDef)}
        if "main" in functions:
            found[path.stem] = (ast.get_docstring(module) or "").partition("\n")[0]
    return found


def main(names: list[str]) -> int:
    """Run the benchmarks of these names, or all; the exit code is 0 if none failed."""
    known = benchmarks()
    if unknown := [name for name in names if name not in known]:
        print(f"There is no benchmark {', '.join(unknown)}; there are {', '.join(known)}.")
        return 2
    failed = False
    for name in names or known:
        print(f"\n{name}: {known[name]}\n", flush=True)
        failed |= subprocess.run([sys.executable, "-m", f"benchmarks.{name}"]).returncode != 0
    return int(failed)


if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        for name, compares in benchmarks().items():
            print(f"{name:<12}{compares}")
    else:
        sys.exit(main(sys.argv[1:]))
