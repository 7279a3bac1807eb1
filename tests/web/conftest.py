"""One server for all tests of the page, in a process of its own, and one way to ask it."""

import http.client
import os
import shutil
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest


@dataclass(frozen=True)
class Answer:
    status: int
    headers: dict
    body: bytes

    @property
    def text(self):
        return self.body.decode("utf-8")


class AsItStands(http.client.HTTPConnection):
    """A connection that sends any path, also one that is none."""

    def _validate_path(self, url):
        pass

    def _encode_request(self, request):
        return request.encode("latin-1")


class Running:
    """A server: where it answers, what it logs, and the folder it would write to."""

    def __init__(self, folder, *options, **environment):
        self.folder = folder
        self.log = []
        home = {"XDG_CONFIG_HOME": str(folder / "config"), "HOME": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "guidegen", "serve", "--port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=folder,
            env=os.environ | home | environment,
        )
        self.address = self.process.stdout.readline().strip()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        self.log.extend(self.process.stderr)

    @property
    def port(self):
        return urlsplit(self.address).port

    def ask(self, path, method="GET", body=None, **headers):
        """Ask for a path as it stands; ``Host_`` and the like are headers."""
        connection = AsItStands("127.0.0.1", self.port, timeout=60)
        try:
            names = {name.rstrip("_").replace("_", "-"): value for name, value in headers.items()}
            connection.putrequest(method, path, skip_host="Host" in names, skip_accept_encoding=True)
            if body is not None:
                names.setdefault("Content-Length", str(len(body)))
                names.setdefault("Content-Type", "application/x-www-form-urlencoded")
            for name, value in names.items():
                connection.putheader(name, value)
            connection.endheaders(body)
            answer = connection.getresponse()
            return Answer(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        finally:
            connection.close()

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        try:
            return self.process.wait(20)
        finally:
            self.process.kill()
            self.process.stdout.close()
            self.process.stderr.close()


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    running = Running(tmp_path_factory.mktemp("served"))
    yield running
    assert running.stop() == 0
    assert not [line for line in running.log if "defect" in line or "Traceback" in line], running.log


@pytest.fixture(scope="session")
def public(tmp_path_factory):
    running = Running(tmp_path_factory.mktemp("public"), "--public", "--host", "letters.school.example")
    yield running
    assert running.stop() == 0


@pytest.fixture(scope="session")
def chromium():
    """One browser for all tests: Debian's Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield found
        found.close()


@dataclass
class Watched:
    """A page in the browser, and what it asked for and complained of."""

    page: object
    asked: list
    complaints: list


@pytest.fixture
def watch(chromium):
    """Open a page: ``watch(address, width=360)``; afterwards nothing has come from elsewhere and nothing complained."""
    opened = []

    def start(address, *, width=1280, height=900, **how):
        context = chromium.new_context(viewport={"width": width, "height": height}, **how)
        page = context.new_page()
        page.set_default_timeout(60_000)
        found = Watched(page, [], [])
        page.on("request", lambda request: found.asked.append(request.url))
        page.on("console", lambda message: found.complaints.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: found.complaints.append(str(error)))
        page.goto(address)
        opened.append((context, found, address))
        return found

    yield start
    for context, found, address in opened:
        context.close()
        host = urlsplit(address).netloc
        assert {urlsplit(url).netloc for url in found.asked} == {host}
        assert found.complaints == []


@pytest.fixture(scope="session")
def axe():
    """Run axe-core on a page and return what it found."""
    import axe_playwright_python

    source = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text()

    rules = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]

    def run(page):
        page.evaluate(source)
        return page.evaluate("rules => axe.run(document, {runOnly: rules})", rules)

    return run
