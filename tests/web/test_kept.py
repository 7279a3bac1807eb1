"""Answers that are kept: the same question is worked on once, and what is kept has a bound."""

import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from guidegen.web.kept import Kept


def test_many_who_ask_at_once_wait_for_one_answer():
    kept, made, started = Kept(1_000), [], threading.Event()

    def make():
        started.set()
        time.sleep(0.2)
        made.append(1)
        return b"tide"

    with ThreadPoolExecutor(8) as threads:
        waits = [threads.submit(kept.get, "question", make, len) for _ in range(8)]
        assert [wait.result() for wait in waits] == [b"tide"] * 8
    assert started.is_set()
    assert len(made) == 1


def test_what_goes_wrong_is_told_to_all_and_not_kept():
    kept, tries = Kept(1_000), []

    def make():
        tries.append(1)
        raise ValueError("ebb")

    for _ in range(2):
        with pytest.raises(ValueError, match="ebb"):
            kept.get("question", make, len)
    assert len(tries) == 2


def test_the_longest_unasked_goes_first_and_what_is_too_large_is_not_kept():
    kept, made = Kept(100), []

    def ask(key, size=25):
        return kept.get(key, lambda: made.append(key) or bytes(size), len)

    for key in "abcd":
        ask(key)
    ask("a")
    ask("e")  # b goes
    for key in "acde":
        ask(key)
    assert made == list("abcde")
    ask("b")
    ask("large", 60)
    ask("large", 60)
    assert made == [*"abcdeb", "large", "large"]
