"""Firefox, driven by what it listens to itself: Marionette, W3C WebDriver's commands over a plain connection.

A message is its length in digits, a colon, and JSON: ``[0, number, command, parameters]`` there,
``[1, number, error, result]`` back (Firefox source documentation, "Marionette protocol").
"""

import itertools
import json
import shutil
import socket
import subprocess
import time

_ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
"""The key of an element (W3C WebDriver, 12.1)."""


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Firefox:
    """One Firefox without a window, with a profile of its own in ``folder``."""

    def __init__(self, folder):
        port = free_port()
        prefs = {"marionette.port": port, "app.update.disabledForTesting": True, "remote.prefs.recommended": True}
        lines = (f'user_pref("{name}", {json.dumps(value)});' for name, value in prefs.items())
        (folder / "user.js").write_text("\n".join(lines), encoding="utf-8")
        program = shutil.which("firefox-esr") or "firefox"
        self.process = subprocess.Popen(
            [program, "--headless", "--marionette", "--no-remote", "--profile", folder],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.numbers = itertools.count(1)
        self.connection = self._connected(port)
        self.stream = self.connection.makefile("rb")
        self._message()  # it says what it is
        self.send("WebDriver:NewSession", capabilities={})

    def _connected(self, port):
        end = time.monotonic() + 90
        while True:
            try:
                return socket.create_connection(("127.0.0.1", port), timeout=90)
            except ConnectionRefusedError:
                assert self.process.poll() is None, "Firefox ended"
                assert time.monotonic() < end, "Firefox does not listen"
                time.sleep(0.1)

    def _message(self):
        digits = b"".join(iter(lambda: self.stream.read(1), b":"))
        return json.loads(self.stream.read(int(digits)))

    def send(self, command, **parameters):
        data = json.dumps([0, next(self.numbers), command, parameters]).encode()
        self.connection.sendall(b"%d:%s" % (len(data), data))
        _, _, error, result = self._message()
        assert error is None, error
        return result

    def go(self, address):
        self.send("WebDriver:Navigate", url=address)

    def run(self, script):
        return self.send("WebDriver:ExecuteScript", script=f"return {script}", args=[])["value"]

    def find(self, selector):
        return self.send("WebDriver:FindElement", using="css selector", value=selector)["value"][_ELEMENT]

    def click(self, selector):
        self.send("WebDriver:ElementClick", id=self.find(selector))

    def press(self, selector, keys):
        self.send("WebDriver:ElementSendKeys", id=self.find(selector), text=keys)

    def until(self, expression, seconds=60):
        end = time.monotonic() + seconds
        while not self.run(expression):
            assert time.monotonic() < end, expression
            time.sleep(0.05)

    def screenshot(self):
        return self.send("WebDriver:TakeScreenshot", full=True)["value"]

    def close(self):
        self.connection.close()
        self.process.terminate()
        self.process.wait(30)
