"""The rules of the house: layers, documented commands, written documents that are current."""

import subprocess
import sys
from pathlib import Path

import click
import pytest

from archive.cli import prickings
from archive.cli.commands import COMMANDS
from tests import documents

ROOT = Path(__file__).parent.parent


def test_an_arrow_only_ever_points_down() -> None:
    lint_imports = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run(
        [lint_imports, "--no-cache"], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )
    assert run.returncode == 0, run.stdout


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_and_its_options_do(name: str) -> None:
    command = prickings.get_command(click.Context(prickings), name)
    assert command is not None
    assert command.help
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, f"{name}: {parameter.name} lacks help"


def test_a_command_of_that_name_is_called_so() -> None:
    for name in COMMANDS:
        command = prickings.get_command(click.Context(prickings), name)
        assert command is not None
        assert command.name == name


def test_the_start_of_the_command_imports_nothing_heavy() -> None:
    """`prickings --help` may cost at most twice what click costs; figures: benchmarks/start.py."""
    probe = (
        "import sys; from archive.cli import prickings;"
        "prickings.main(['--help'], standalone_mode=False);"
        "print([name for name in ('numpy', 'sqlmodel', 'pydantic', 'PIL', 'whoosh', 'yaml', "
        "'jinja2', 'scipy') if name in sys.modules], file=sys.stderr)"
    )
    run = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, encoding="utf-8", check=True, cwd=ROOT
    )
    assert run.stderr.strip() == "[]"


def test_what_is_written_from_the_code_is_current() -> None:
    assert documents.stale() == []


def test_the_readme_opens_with_one_paragraph_on_the_job() -> None:
    heading, paragraph, *_ = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert heading == "# prickings"
    assert paragraph.startswith("`prickings` keeps")
