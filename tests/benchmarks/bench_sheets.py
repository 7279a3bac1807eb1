"""A class of names in one PDF: memory flat, time linear, both processors used. Ratios of runs in one session.

Each run is a process of its own, which reports its own peak memory and that of its workers. Names are made of
syllables of the harbour's own invention, so that the hand's whole lowercase comes up soon.
"""

from __future__ import annotations

import itertools
import json
import subprocess
import sys

import pytest

pytestmark = pytest.mark.benchmark

RUN = """
import json, resource, sys, time
from guidegen.writers.names_pdf import names_pdf
from guidegen.sheets.name_sheets import NameSheets
from guidegen.hands.library import list_papers, load_hand, load_marker
from guidegen.sheets.parts.frame import Setup
from guidegen.lettering.lettering import Lettering
from guidegen.sheets.practice import Practice
from guidegen.sheets.worksheet import Dress
names, processes = json.loads(sys.argv[1]), int(sys.argv[2])
papers = list_papers()
practice = Practice(Lettering(load_marker("pebble"), load_hand("joined"), 6.9), (), by_letter=True)
sheets = NameSheets((practice,), Setup(papers["a4"], papers=tuple(papers.values())), Dress())
began = time.perf_counter()
data, _ = names_pdf(names, sheets, processes=processes)
seconds = time.perf_counter() - began
use = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
share = use[1].ru_utime / (use[0].ru_utime + use[1].ru_utime)
found = {"seconds": seconds, "bytes": len(data), "share": share, "own": use[0].ru_maxrss, "worker": use[1].ru_maxrss}
print(json.dumps(found))
"""


def made_names(count):
    letters = itertools.product("bdfghjklmnpqrstvwxz", "aeiouy", "ntlkrbdfghjmpqsvwxz", "oaeiuy")
    every = ["".join(name) for name in letters]
    return every[:: len(every) // count][:count]


def run(count, processes=2):
    command = [sys.executable, "-c", RUN, json.dumps(made_names(count)), str(processes)]
    done = subprocess.run(command, capture_output=True, check=True, text=True)
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def hundred():
    run(16, 1)  # fills the disk cache
    return run(100)


@pytest.fixture(scope="module")
def thousand():
    return run(1000)


def test_memory_is_flat(hundred, thousand):
    own, worker = (thousand[who] / hundred[who] for who in ("own", "worker"))
    print(f"\npeak memory of 1000 names over 100: {own:.2f} x (writer), {worker:.2f} x (worker); at most 1.2")
    assert max(own, worker) <= 1.2


def test_time_is_linear(hundred, thousand):
    per_name = thousand["seconds"] / 1000 / (hundred["seconds"] / 100)
    print(f"\ntime a name, 1000 names over 100: {per_name:.2f} x; {1000 / thousand['seconds']:.1f} pages a second")
    assert per_name <= 1.2  # letters are drawn once, so more names cost less each


def test_a_page_costs_little_in_the_file(hundred, thousand):
    page = (thousand["bytes"] - hundred["bytes"]) / 900
    print(f"\nbytes a page beyond the first hundred: {page:.0f}; letters are stored once")
    assert page < 4000


def test_both_processors_take_part():
    rounds = [(run(400, 1), run(400, 2)) for _ in range(3)]
    found = min(one["seconds"] for one, _ in rounds) / min(two["seconds"] for _, two in rounds)
    share = rounds[0][1]["share"]
    print(f"\ntwo workers over one process, best of three: {found:.2f} x as fast; {share:.0%} of the work is theirs")
    assert found > 1.0
    assert share > 0.6
