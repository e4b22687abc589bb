"""Fetch what some tests ask beside Chromium: Firefox, axe-core and the Nu HTML checker.

Firefox comes from Debian, the two checkers from npm's registry, at pinned versions, into the
environment's own folder; nothing else is asked. A test whose means cannot be had is skipped with
the reason that stands here.
"""

from __future__ import annotations

import shutil
import subprocess
from contextlib import suppress
from pathlib import Path

from tests.need_chromium import install_debian

CHECKERS = Path(__file__).parents[1] / ".venv" / "checkers"
PACKAGES = ("axe-core@4.14.1", "vnu-jar@26.9.27")
AXE = CHECKERS / "node_modules" / "axe-core" / "axe.min.js"
NU = CHECKERS / "node_modules" / "vnu-jar" / "build" / "dist" / "vnu.jar"

NO_FIREFOX = "Firefox is not installed here (on Debian: apt install firefox-esr)"
NO_AXE = "axe-core is not here: “make test” fetches it where there is npm and a network"
NO_NU = "the Nu HTML checker needs Java, and npm and a network to be fetched by “make test”"

_FIREFOX_NAMES = ("firefox-esr", "firefox")
_FIREFOX_PLACES = (
    Path("/Applications/Firefox.app/Contents/MacOS/firefox"),
    Path(r"C:\Program Files\Mozilla Firefox\firefox.exe"),
)


def find_firefox() -> str | None:
    """The path of an installed Firefox, or None."""
    for name in _FIREFOX_NAMES:
        if found := shutil.which(name):
            return found
    return next((str(place) for place in _FIREFOX_PLACES if place.is_file()), None)


def find_java() -> str | None:
    """The path of a Java that runs, or None."""
    found = shutil.which("java")
    if found is None:
        return None
    runs = subprocess.run([found, "-version"], check=False, capture_output=True)
    return found if runs.returncode == 0 else None


def main() -> None:
    """Fetch what is missing and can be had; say in a sentence what cannot."""
    if not find_firefox():
        install_debian("firefox-esr")
    npm = shutil.which("npm")
    if npm and not (AXE.is_file() and NU.is_file()):
        print("Fetching axe-core and the Nu HTML checker for the tests …", flush=True)
        with suppress(subprocess.TimeoutExpired):  # a network that does not answer
            subprocess.run(
                [npm, "install", "--no-save", "--ignore-scripts", "--no-audit", "--no-fund",
                 "--loglevel=error", f"--prefix={CHECKERS}", *PACKAGES],
                check=False, stdout=subprocess.DEVNULL, timeout=300,
            )  # fmt: skip
    for missing, reason in (
        (not find_firefox(), NO_FIREFOX),
        (not AXE.is_file(), NO_AXE),
        (not NU.is_file() or not find_java(), NO_NU),
    ):
        if missing:
            print(f"Some tests will be skipped: {reason}.", flush=True)


if __name__ == "__main__":
    main()
