"""One server for all tests of the page, one browser, and what watches it."""

import shutil
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from running import Running


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
