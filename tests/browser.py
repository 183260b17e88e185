"""Drives a headless Chromium over its debugging protocol, through a pair of pipes: no library needed."""

import base64
import contextlib
import json
import os
import shutil
import subprocess
import time

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--force-prefers-reduced-motion",
    "--remote-debugging-pipe",
]


def chromium():
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """One window with one page; keeps what the page says on its console."""

    def __init__(self, folder, width=1440, height=860):
        to_browser, self.write_end = os.pipe()
        self.read_end, from_browser = os.pipe()
        # Chromium reads file descriptor 3 and writes 4.
        line = f'exec "$@" 3<&{to_browser} 4>&{from_browser}'
        command = ["bash", "-c", line, "bash", chromium(), *FLAGS, f"--user-data-dir={folder}"]
        self.process = subprocess.Popen(
            [*command, f"--window-size={width},{height}", "about:blank"],
            pass_fds=(to_browser, from_browser),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(from_browser)
        self.number, self.rest, self.session, self.events = 0, b"", None, []
        pages = self.ask("Target.getTargets")["targetInfos"]
        target = next(page["targetId"] for page in pages if page["type"] == "page")
        self.session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def ask(self, method, **parameters):
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.write_end, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.events.append(answer)

    def _next(self):
        while b"\0" not in self.rest:
            piece = os.read(self.read_end, 1 << 20)
            if not piece:
                raise RuntimeError("the browser has ended")
            self.rest += piece
        message, self.rest = self.rest.split(b"\0", 1)
        return json.loads(message)

    def open(self, url):
        self.ask("Page.navigate", url=url)
        self.until("document.readyState === 'complete'")

    def run(self, code):
        result = self.ask("Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in result:
            raise RuntimeError(result["exceptionDetails"].get("exception", {}).get("description", code))
        return result["result"].get("value")

    def until(self, code, seconds=10.0):
        end = time.monotonic() + seconds
        while not self.run(code):
            if time.monotonic() > end:
                raise TimeoutError(code)
            time.sleep(0.02)

    def click(self, selector):
        self.run(f"document.querySelector({json.dumps(selector)}).click()")

    def press(self, key, modifiers=0):
        code = {"key": key, "modifiers": modifiers, "text": key if len(key) == 1 else ""}
        self.ask("Input.dispatchKeyEvent", type="keyDown", **code)
        self.ask("Input.dispatchKeyEvent", type="keyUp", **code)

    def mouse(self, kind, x, y, **more):
        self.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, **more)

    def drag(self, start, end):
        held = {"button": "left", "buttons": 1, "clickCount": 1}
        self.mouse("mousePressed", *start, **held)
        for share in (0.25, 0.5, 0.75, 1.0):
            self.mouse("mouseMoved", *(a + share * (b - a) for a, b in zip(start, end, strict=True)), **held)
        self.mouse("mouseReleased", *end, **held)

    def picture(self, selector=None):
        clip = {}
        if selector:
            code = "(({x, y, width, height}) => ({x, y, width, height, scale: 1}))"
            code += f"(document.querySelector({json.dumps(selector)}).getBoundingClientRect())"
            clip = {"clip": self.run(code)}
        return base64.b64decode(self.ask("Page.captureScreenshot", format="png", **clip)["data"])

    def complaints(self):
        """Return console errors and warnings, uncaught errors, and failed requests."""
        bad = []
        for event in self.events:
            what = event.get("params", {})
            if event["method"] == "Runtime.exceptionThrown":
                bad.append(what["exceptionDetails"].get("exception", {}).get("description", "error"))
            if event["method"] == "Runtime.consoleAPICalled" and what["type"] in {
                "error",
                "warning",
                "assert",
            }:
                bad.append(str(what["args"]))
            if event["method"] == "Log.entryAdded" and what["entry"]["level"] in {"error", "warning"}:
                bad.append(what["entry"]["text"])
        return bad

    def requests(self):
        """Return the addresses that were asked for."""
        sent = [
            e["params"]["request"]["url"] for e in self.events if e["method"] == "Network.requestWillBeSent"
        ]
        return [url for url in sent if not url.startswith(("data:", "about:"))]

    def close(self):
        self.session = None
        with contextlib.suppress(RuntimeError, OSError):
            self.ask("Browser.close")
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self.write_end)
        os.close(self.read_end)
