"""What all tests share: no deadlines, and in CI nothing skipped."""

import os
import subprocess
import sys
from dataclasses import dataclass

import hypothesis
import pytest

# Machines differ, so no example is timed; CI draws the same examples each run, so that a failure can be repeated.
hypothesis.settings.register_profile("quiet", deadline=None, derandomize=bool(os.environ.get("CI")))
hypothesis.settings.load_profile("quiet")


def pytest_sessionfinish(session):
    """In CI a skipped or expected-to-fail test is a failure: a check that does not run shows nothing."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    hidden = [] if reporter is None else [*reporter.stats.get("skipped", []), *reporter.stats.get("xfailed", [])]
    if os.environ.get("CI") and hidden and session.exitstatus == 0:
        session.exitstatus = 1


@dataclass(frozen=True)
class Result:
    code: int
    out: str
    err: str

    @property
    def line(self):
        """The one line on stderr, without its prefix; fails when there are more lines or a traceback."""
        assert self.err.endswith("\n")
        assert self.err.count("\n") == 1, self.err
        assert self.err.startswith("guidegen: ")
        assert "Traceback" not in self.err
        return self.err.removeprefix("guidegen: ").rstrip("\n")


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A home of its own and an empty current folder for each test."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    return work


@pytest.fixture
def cli(home, capfdbinary):
    """Run a command in this process: ``cli("size", "cobble")``."""
    from guidegen.cli.app import run

    def call(*arguments):
        capfdbinary.readouterr()
        code = run([str(argument) for argument in arguments])
        out, err = capfdbinary.readouterr()
        return Result(code, out.decode("utf-8", "surrogateescape"), err.decode())

    return call


@pytest.fixture
def cli_process(home):
    """Run a command in a process of its own."""

    def call(*arguments, **options):
        command = [sys.executable, "-m", "guidegen", *(str(argument) for argument in arguments)]
        environment = os.environ | options.pop("env", {})
        done = subprocess.run(command, capture_output=True, env=environment, check=False, timeout=120, **options)
        return Result(done.returncode, done.stdout.decode(), done.stderr.decode())

    return call
