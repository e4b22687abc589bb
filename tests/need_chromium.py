"""Make sure that there is a browser for the tests, or say in one sentence what is missing."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
PLACES = (
    Path("/Applications/Chromium.app/Contents/MacOS/Chromium"),
    Path("/Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
    Path(r"C:\Program Files\Google\Chrome\Application\chrome.exe"),
    Path(r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe"),
)
MISSING = (
    "The tests need Chromium or Chrome, and none is installed here: "
    "install one (on Debian “apt install chromium”) and run “make test” again."
)


def find_chromium() -> str | None:
    """The path of an installed Chromium or Chrome, or None."""
    for name in NAMES:
        if found := shutil.which(name):
            return found
    return next((str(place) for place in PLACES if place.is_file()), None)


def install_debian(package: str) -> None:
    """Install a package if this is root's Debian; whether it worked is seen afterwards."""
    if shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        print(f"Installing Debian's {package} for the browser tests …", flush=True)
        quiet = {
            "stdout": subprocess.DEVNULL,
            "env": {**os.environ, "DEBIAN_FRONTEND": "noninteractive"},
        }
        subprocess.run(["apt-get", "update", "-qq"], check=False, **quiet)
        subprocess.run(["apt-get", "install", "-y", "-qq", package], check=False, **quiet)


def main() -> int:
    """Install Debian's chromium if this is root's Debian and there is no browser yet."""
    if not find_chromium():
        install_debian("chromium")
    if find_chromium():
        return 0
    print(MISSING, file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())
