"""A browser without a window, driven by its own protocol over a websocket: pages opened, keys pressed, values read."""

from __future__ import annotations

import base64
import json
import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Any

import websocket

NAMES = ("chromium", "chromium-browser", "google-chrome")
OPTIONS = ("--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--remote-debugging-port=0")
ANSWER_S = 20.0
# Keys by name, with the code that a page may look at.
CODES = {"ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40, "Home": 36, "End": 35, "PageDown": 34}


def installed() -> str | None:
    """Where a browser is installed that speaks the protocol; None without one."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Browser:
    """One browser with one page in it; `troubles` are what the page wrote as an error, `asked` what it fetched."""

    def __init__(self, program: str) -> None:
        """Start it with a profile of its own, and open an empty page."""
        self._folder = tempfile.TemporaryDirectory()
        command = [program, *OPTIONS, f"--user-data-dir={self._folder.name}", "about:blank"]
        quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        self._process = subprocess.Popen(command, **quiet)
        self.troubles: list[str] = []
        self.asked: list[str] = []
        self._events: list[tuple[str, dict[str, Any]]] = []
        self._last, self._session = 0, ""
        self._wire = websocket.create_connection(self._address(), timeout=ANSWER_S, suppress_origin=True)
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def _address(self) -> str:
        """Where it listens: it writes port and path into its profile once it does."""
        told, until = Path(self._folder.name) / "DevToolsActivePort", time.monotonic() + ANSWER_S
        while not (told.exists() and len(told.read_text().splitlines()) == 2):
            if time.monotonic() > until or self._process.poll() is not None:
                self._process.kill()
                self._process.wait()
                raise RuntimeError("the browser did not start")
            time.sleep(0.02)
        port, path = told.read_text().splitlines()
        return f"ws://127.0.0.1:{port}{path}"

    def __enter__(self) -> Browser:
        return self

    def __exit__(self, *_: type[BaseException] | BaseException | TracebackType | None) -> None:
        self._session = ""
        self.call("Browser.close")
        self._wire.close()
        self._process.wait(timeout=ANSWER_S)
        self._folder.cleanup()

    def call(self, method: str, **given: Any) -> dict[str, Any]:
        """One order and its answer. Raises RuntimeError where the browser refuses it."""
        self._last += 1
        session = {"sessionId": self._session} if self._session else {}
        self._wire.send(json.dumps({"id": self._last, "method": method, "params": given, **session}))
        while True:
            told = self._received()
            if told.get("id") == self._last:
                if "error" in told:
                    raise RuntimeError(f"{method}: {told['error']}")
                answer: dict[str, Any] = told["result"]
                return answer

    def _received(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(self._wire.recv())
        self._note(told.get("method", ""), told.get("params", {}))
        return told

    def _note(self, method: str, told: dict[str, Any]) -> None:
        self._events.append((method, told))
        if method == "Runtime.exceptionThrown":
            self.troubles.append(json.dumps(told["exceptionDetails"]))
        elif method == "Runtime.consoleAPICalled" and told["type"] in ("error", "assert", "warning"):
            self.troubles.append(json.dumps(told["args"]))
        elif method == "Log.entryAdded" and told["entry"]["level"] in ("error", "warning"):
            self.troubles.append(told["entry"]["text"])
        elif method == "Network.requestWillBeSent":
            self.asked.append(told["request"]["url"])

    def open(self, page: Path) -> None:
        """Open a page from the disk and wait until it is whole."""
        self.troubles.clear()
        self.asked.clear()
        self._events.clear()
        self.call("Page.navigate", url=page.as_uri())
        self.wait_for("Page.loadEventFired")

    def wait_for(self, method: str, **said: Any) -> None:
        """Until the browser has told of something since the page was opened, with these values in it."""
        while not any(name == method and said.items() <= told.items() for name, told in self._events):
            self._received()

    def asks(self, script: str) -> Any:
        """What an expression comes to in the page. Raises RuntimeError where it throws."""
        told = self.call("Runtime.evaluate", expression=script, returnByValue=True)
        if "exceptionDetails" in told:
            raise RuntimeError(f"{script}: {told['exceptionDetails']}")
        return told["result"].get("value")

    def press(self, key: str, times: int = 1) -> None:
        """Press a key, as a keyboard does."""
        given = {"key": key, "code": key, "windowsVirtualKeyCode": CODES[key]}
        for _ in range(times):
            self.call("Input.dispatchKeyEvent", type="rawKeyDown", **given)
            self.call("Input.dispatchKeyEvent", type="keyUp", **given)

    def type_into(self, wanted: str, text: str) -> None:
        """Put the caret into a box, found by its selector, and type."""
        self.asks(f"(box => {{ box.focus(); box.select(); }})(document.querySelector({json.dumps(wanted)}))")
        self.call("Input.insertText", text=text)

    def size(self, wide: int, high: int) -> None:
        """The size of the screen, in its own points."""
        self.call("Emulation.setDeviceMetricsOverride", width=wide, height=high, deviceScaleFactor=1, mobile=False)

    def seen_text(self) -> str:
        """All text that shows, also of a page whose scripts are off."""
        strings = self.call("DOMSnapshot.captureSnapshot", computedStyles=[])
        document, known = strings["documents"][0], strings["strings"]
        return " ".join(known[text] for text in document["layout"]["text"] if text >= 0)

    def printed(self) -> bytes:
        """The page as it prints, as PDF."""
        return base64.b64decode(self.call("Page.printToPDF", preferCSSPageSize=True)["data"])

    def picture(self) -> bytes:
        """What shows now, as PNG."""
        return base64.b64decode(self.call("Page.captureScreenshot")["data"])
