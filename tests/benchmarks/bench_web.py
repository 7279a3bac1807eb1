"""The page under load, on the loopback address: a slider, many clients, memory, answers kept.

``pytest -m benchmark -s tests/benchmarks/bench_web.py``; ``GUIDEGEN_LOAD_S`` is how long each run lasts (60). The load
is made by locust in a process of its own; ratios are against the same work done by hand on the same machine, one after
the other.
"""

import csv
import itertools
import os
import statistics
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from urllib.parse import urlencode

import psutil
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "web"))
from running import Running  # the server the tests use

pytestmark = pytest.mark.benchmark
SECONDS = float(os.environ.get("GUIDEGEN_LOAD_S", "60"))
LOCUST = Path(__file__).with_name("load_web.py")


def marker_query(number, **more):
    """Return the address of a marker that no other number has."""
    down = 2.0 + (number * 0.6180339887) % 3
    hair = down * (0.1 + 0.2 * ((number * 0.7548776662) % 1))
    return urlencode({"tip": "brush", "down": f"{down:.5f}", "hair": f"{hair:.5f}", "label": "Tide", **more})


@pytest.fixture
def running(tmp_path):
    server = Running(tmp_path)
    for number in range(4):
        server.ask("/live?" + marker_query(10_000 + number))
    yield server
    assert server.stop() == 0
    print(*server.log[:5])


def alone(query):
    """Do the same work in this process: the letter and its numbers."""
    from urllib.parse import parse_qsl

    from guidegen.hands.library import load_marker
    from guidegen.web.address import read_address
    from guidegen.web.work import do

    return do("sample", read_address(parse_qsl(query), (), load_marker("cobble"), "My marker"))


def test_a_slider_is_followed_at_once(running):
    """At most 60 ms of server time at the median for a marker never seen, and not much more than the work alone."""
    asked, by_hand = [], []
    for number in range(60):
        begun = time.perf_counter()
        assert running.ask("/live?" + marker_query(number)).status == 200
        asked.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        alone(marker_query(20_000 + number))
        by_hand.append(time.perf_counter() - begun)
    served, worked = (1000 * statistics.median(times[5:]) for times in (asked, by_hand))
    print(f"\nslider: {served:.1f} ms served, {worked:.1f} ms by hand, ratio {served / worked:.2f}")
    assert served / worked < 2


def held(server):
    """Return the memory of the server and all its processes, in MB (shared pages counted once)."""
    family = [psutil.Process(server.process.pid), *psutil.Process(server.process.pid).children(recursive=True)]
    return sum(one.memory_full_info().pss for one in family) / 1e6


def table(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def load(server, clients, seconds, folder, mix):
    """Let locust ask for ``seconds``; return requests, errors but 503, 503s, median in ms."""
    out = folder / f"load-{clients}-{mix}"
    environment = os.environ | {"GUIDEGEN_MIX": mix}
    subprocess.run(
        [sys.executable, "-m", "locust", "-f", str(LOCUST), "--headless", "-u", str(clients), "-r", str(clients),
         "-t", f"{seconds:g}s", "-H", server.address.rstrip("/"), "--csv", str(out), "--only-summary"],
        check=False, env=environment, capture_output=True, timeout=seconds + 120,
    )  # fmt: skip
    total = table(out.with_name(out.name + "_stats.csv"))[-1]
    failures = table(out.with_name(out.name + "_failures.csv"))
    busy = sum(int(row["Occurrences"]) for row in failures if "503" in row["Error"])
    others = [(row["Name"], row["Error"]) for row in failures if "503" not in row["Error"]]
    return int(total["Request Count"]), others, busy, float(total["Median Response Time"])


def test_many_clients(running, tmp_path):
    """No error but 503; memory flat; at 4 clients the median within 4 times the idle one, at most 1 % of 503."""
    _, _, _, idle = load(running, 1, SECONDS / 4, tmp_path, "mixed")
    count, others, busy, median = load(running, 4, SECONDS / 2, tmp_path, "mixed")
    print(f"\n1 client: median {idle:.0f} ms; 4 clients: {count} requests, median {median:.0f} ms")
    print(f"  {median / idle:.2f} times as long; {busy} of 503, {busy / count:.2%}; other errors {len(others)}")
    assert others == []
    assert busy <= 0.01 * count
    assert median <= 4 * idle
    few = held(running)
    count, others, busy, median = load(running, 64, SECONDS, tmp_path, "mixed")
    many = held(running)
    print(f"64 clients: {count} requests in {SECONDS:g} s, median {median:.0f} ms, {busy} of 503")
    print(f"  other errors {len(others)}; memory {few:.0f} MB before, {many:.0f} MB after: {many / few:.2f} times")
    assert others == []
    assert many <= 1.2 * few


def test_requests_a_second(running, tmp_path):
    """Uncached: at least 0.7 of the same work in processes of one's own. Kept answers and 304s stand apart."""
    processes = len(os.sched_getaffinity(0))
    with ProcessPoolExecutor(processes) as pool:
        list(pool.map(alone, [marker_query(30_000 + n) for n in range(8)]))
        begun = time.perf_counter()
        done = sum(1 for _ in pool.map(alone, [marker_query(40_000 + n) for n in range(300)], chunksize=5))
        by_hand = done / (time.perf_counter() - begun)
    count, others, busy, _ = load(running, 8, SECONDS / 3, tmp_path, "new")
    assert others == []
    served = (count - busy) / (SECONDS / 3)
    kept = load(running, 8, SECONDS / 6, tmp_path, "kept")[0] / (SECONDS / 6)
    same = load(running, 8, SECONDS / 6, tmp_path, "same")[0] / (SECONDS / 6)
    print(f"\nnew {served:.0f}/s, by hand {by_hand:.0f}/s, ratio {served / by_hand:.2f}")
    print(f"kept {kept:.0f}/s; 304 {same:.0f}/s")
    assert served >= 0.7 * by_hand


def test_numbers_do_not_come_again():
    assert len({marker_query(n) for n in itertools.chain(range(500), range(10_000, 10_500))}) == 1_000
