"""What is written from the code, kept current: the record's schema and the README's commands.

`python -m tests.documents --write` writes them, `--check` says what is not current.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from archive.cli.commands import COMMANDS
from archive.records.describing import record_schema

ROOT = Path(__file__).parent.parent
START, END = "<!-- commands -->\n", "<!-- end of commands -->"


def documents() -> dict[Path, str]:
    """Each file with a written part, and the whole text it should have."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    before, rest = readme.split(START)
    _, after = rest.split(END)
    table = ["| command | what it does |", "| --- | --- |"]
    table += [f"| `prickings {name}` | {line} |" for name, (_, line) in COMMANDS.items()]
    return {
        ROOT / "README.md": before + START + "\n".join(table) + "\n" + END + after,
        ROOT / "schema" / "record.schema.json": json.dumps(
            record_schema(), ensure_ascii=False, indent=2
        )
        + "\n",
    }


def stale() -> list[Path]:
    """The files that do not have the text they should have."""
    return [
        path
        for path, text in documents().items()
        if not path.exists() or path.read_text(encoding="utf-8") != text
    ]


def main(arguments: list[str]) -> int:
    if arguments == ["--write"]:
        for path, text in documents().items():
            path.write_text(text, encoding="utf-8", newline="\n")
        return 0
    for path in stale():
        print(f"{path.relative_to(ROOT)} is not current: run python -m tests.documents --write")
    return 1 if stale() else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
