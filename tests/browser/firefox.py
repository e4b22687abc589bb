"""Firefox on pages opened from the disk, driven over its own remote protocol.

Source: W3C, WebDriver BiDi. Firefox speaks it without a driver beside it.
"""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from websockets.sync.client import ClientConnection, connect

ANSWER_SECONDS = 60


@contextmanager
def running_firefox(path: str, profile: Path) -> Iterator[Firefox]:
    """A Firefox without a window, with an empty profile of its own."""
    process = subprocess.Popen(
        [path, "--headless", "--no-remote", "--profile", str(profile),
         "--remote-debugging-port", "0", "about:blank"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        with connect(f"{_address(profile)}/session", max_size=None) as socket:
            yield Firefox(socket)
    finally:
        process.terminate()
        process.wait(ANSWER_SECONDS)


def _address(profile: Path) -> str:
    """Where Firefox listens, which it writes into its profile."""
    told = profile / "WebDriverBiDiServer.json"
    until = time.monotonic() + ANSWER_SECONDS
    while time.monotonic() < until:
        try:
            server = json.loads(told.read_text(encoding="utf-8"))
        except (OSError, ValueError):  # not written, or not to its end
            time.sleep(0.1)
        else:
            return f"ws://{server['ws_host']}:{server['ws_port']}"
    raise TimeoutError("Firefox did not say where it listens")


class Firefox:
    """A tab of a running Firefox.

    Attributes:
        messages: what pages wrote to the console, and their errors.
        addresses: every address that was asked for over a network.
    """

    def __init__(self, socket: ClientConnection) -> None:
        self.messages: list[str] = []
        self.addresses: list[str] = []
        self._socket = socket
        self._calls = 0
        self._call("session.new", capabilities={})
        self._call("session.subscribe", events=["log.entryAdded", "network.beforeRequestSent"])
        # A window starts without the focus when it has no screen, and its buttons then take no
        # keys; a tab that is opened in it has the focus.
        self._tab = self._call("browsingContext.create", type="tab")["context"]

    def _call(self, method: str, **params: Any) -> Any:
        self._calls += 1
        self._socket.send(json.dumps({"id": self._calls, "method": method, "params": params}))
        while True:
            told = json.loads(self._socket.recv(timeout=ANSWER_SECONDS))
            if told.get("id") == self._calls:
                assert told["type"] == "success", told
                return told["result"]
            if told.get("method") == "log.entryAdded":
                self.messages.append(f"{told['params']['level']}: {told['params']['text']}")
            elif told.get("method") == "network.beforeRequestSent":
                url = told["params"]["request"]["url"]
                if not url.startswith(("data:", "file:", "about:")):
                    self.addresses.append(url)

    def go(self, address: str) -> None:
        """Open a page and wait until it has loaded."""
        self._call("browsingContext.navigate", context=self._tab, url=address, wait="complete")

    def ask(self, expression: str) -> Any:
        """What a JavaScript expression gives in the page, as plain data."""
        told = self._call(
            "script.evaluate",
            expression=f"JSON.stringify({expression}) ?? null",
            target={"context": self._tab},
            awaitPromise=True,
        )
        assert told["type"] == "success", told
        return json.loads(told["result"].get("value", "null"))

    def wait_for(self, expression: str) -> None:
        """Wait until an expression is true in the page."""
        until = time.monotonic() + ANSWER_SECONDS
        while not self.ask(f"Boolean({expression})"):
            assert time.monotonic() < until, f"never true: {expression}"
            time.sleep(0.05)

    def go_back(self) -> None:
        """Go to the page before this one, as the key for it would."""
        self._call("browsingContext.traverseHistory", context=self._tab, delta=-1)

    def press(self, keys: str) -> None:
        """Press keys one after another, by their WebDriver values."""
        actions = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
        self._call(
            "input.performActions",
            context=self._tab,
            actions=[{"type": "key", "id": "keys", "actions": actions}],
        )
