"""A headless Chromium, spoken to over a pipe (Chrome DevTools Protocol): nothing else is needed."""

from __future__ import annotations

import fcntl
import json
import os
import select
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

CHROMIUM = os.environ.get("KNOBPACK_CHROMIUM") or shutil.which("chromium")
"""The browser, if there is one; ``KNOBPACK_CHROMIUM`` names another."""

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    "--remote-debugging-pipe",
)
PATIENCE = 120.0
"""Seconds that an answer may take."""


class Tab:
    """One page of the browser."""

    def __init__(self, to: int, back: int) -> None:
        self._to, self._back, self._rest, self._count = to, back, b"", 0
        self._session: str | None = None
        self.events: list[dict[str, Any]] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        found = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = found["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **given: Any) -> dict[str, Any]:
        """Ask, and wait for the answer, which is no error."""
        told = self.ask(method, **given)
        assert "error" not in told, told
        return dict(told["result"])

    def ask(self, method: str, **given: Any) -> dict[str, Any]:
        """Ask, and wait for the answer, an error or not."""
        self._count += 1
        asked = {"id": self._count, "method": method, "params": given}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._to, json.dumps(asked).encode() + b"\0")
        while True:
            told = self._next()
            if told.get("id") == self._count:
                return told
            self.events.append(told)

    def open(self, page: Path) -> None:
        """Go to a page and wait until it has loaded."""
        self._load("Page.navigate", url=page.as_uri())

    def reload(self) -> None:
        """Load the page that is open once more, and wait until it has loaded."""
        self._load("Page.reload")

    def _load(self, method: str, **given: Any) -> None:
        # The event of loading names no page: that of the page before may come after this one was
        # asked for. So the page that is left is marked, and the mark has to be gone.
        self.value("window.pageThatIsLeft = true")
        self.events.clear()
        self.call(method, **given)
        until = time.monotonic() + PATIENCE
        while not self._is_there():
            assert time.monotonic() < until, "the page does not load"
            time.sleep(0.01)
        # A page that was never painted does not hear what is touched.
        self.call("Page.captureScreenshot", format="jpeg", quality=1)

    def _is_there(self) -> bool:
        """Whether the page that was asked for has loaded."""
        there = "window.pageThatIsLeft === undefined && document.readyState === 'complete'"
        told = self.ask("Runtime.evaluate", expression=there, returnByValue=True)
        # While one page makes room for the next there is none to be asked.
        return bool(told.get("result", {}).get("result", {}).get("value"))

    def value(self, expression: str) -> Any:
        """What an expression is in the page."""
        found = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def size(self, width: int, height: int) -> None:
        """Make the page so large, in CSS pixels."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )

    @property
    def complaints(self) -> list[str]:
        """What the browser refused or found wrong since the page was opened."""
        found = []
        for each in self.events:
            match each.get("method"):
                case "Log.entryAdded":
                    found.append(str(each["params"]["entry"]["text"]))
                case "Runtime.exceptionThrown":
                    found.append(str(each["params"]))
        return found

    @property
    def fetched(self) -> list[str]:
        """The addresses that were asked for since the page was opened."""
        sent = [each for each in self.events if each.get("method") == "Network.requestWillBeSent"]
        return [each["params"]["request"]["url"] for each in sent]

    def _next(self) -> dict[str, Any]:
        until = time.monotonic() + PATIENCE
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._back], [], [], max(0, until - time.monotonic()))
            assert ready, "the browser does not answer"
            more = os.read(self._back, 1 << 20)
            assert more, "the browser has gone"
            self._rest += more
        told, self._rest = self._rest.split(b"\0", 1)
        return dict(json.loads(told))


def _high(descriptor: int) -> int:
    """The same file under a number of 10 or more."""
    found = fcntl.fcntl(descriptor, fcntl.F_DUPFD_CLOEXEC, 10)
    os.close(descriptor)
    return found


@contextmanager
def browser(folder: Path) -> Iterator[Tab]:
    """A browser that keeps what it keeps in ``folder``."""
    assert CHROMIUM
    # Above those that the browser is to find its own ones at.
    (there, to), (back, here) = (map(_high, os.pipe()) for _ in range(2))
    # Chromium reads what it is asked from 3 and writes its answers to 4.
    start = f'exec "$0" "$@" 3<&{there} 4>&{here} {there}<&- {here}>&-'
    told = [*FLAGS, f"--user-data-dir={folder}"]
    process = subprocess.Popen(  # noqa: S603 (the browser of this machine)
        ["/bin/bash", "-c", start, CHROMIUM, *told],
        pass_fds=(there, here),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(there)
    os.close(here)
    try:
        yield Tab(to, back)
    finally:
        os.close(to)
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        os.close(back)
