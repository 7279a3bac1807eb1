"""Bars: shown on a terminal once a second has passed, never elsewhere."""

from __future__ import annotations

import io

import pytest

from guidegen.cli import progress


class Terminal(io.StringIO):
    def __init__(self, watched):
        super().__init__()
        self.watched = watched

    def isatty(self):
        return self.watched


@pytest.mark.parametrize(("watched", "seconds", "seen"), [(True, 2.0, True), (False, 2.0, False), (True, 0.5, False)])
def test_a_bar_shows_when_it_takes_long_and_somebody_watches(monkeypatch, watched, seconds, seen):
    terminal, clock = Terminal(watched), iter([0.0, seconds / 2, seconds, seconds, seconds])
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(clock))
    with progress.bar("writing names", 30) as bar:
        for _ in range(3):
            bar.advance(10)
        monkeypatch.undo()
    assert ("writing names" in terminal.getvalue()) == seen


def test_items_pass_through_unchanged():
    with progress.shown(["a", "b"], "sizing") as items:
        assert list(items) == ["a", "b"]


@pytest.mark.parametrize(("watched", "wait", "seen"), [(True, 0.01, True), (False, 0.01, False), (True, 5.0, False)])
def test_who_waits_is_told_on_a_terminal_and_the_line_is_taken_away(monkeypatch, watched, wait, seen):
    terminal = Terminal(watched)
    monkeypatch.setattr("sys.stderr", terminal)
    monkeypatch.setattr(progress, "WAIT_S", wait)
    with progress.waiting("making pages"):
        progress.time.sleep(0.05)
    shown = terminal.getvalue()
    assert ("making pages" in shown) == seen
    assert shown == "" or (shown.endswith("\r") and shown.split("\r")[-2].strip() == "")
