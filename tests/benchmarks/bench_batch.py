"""Batches: what processes, a cluster and a second run gain; what a long run holds; kills and full disks by the dozen.

``pytest -m benchmark -s tests/benchmarks/bench_batch.py``; ``BATCH_SHEETS`` sets how many sheets (5,000; 100,000 for
the long run).
"""

from __future__ import annotations

import os
import random
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark
SHEETS = int(os.environ.get("BATCH_SHEETS", "5000"))
COMMAND = [sys.executable, "-m", "guidegen", "batch", "many.toml"]


def write_manifest(folder, count):
    """Write a list of ``count`` sheets that all differ."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = "\n".join(f"quay {k}" for k in range(count))
    (folder / "many.csv").write_text("name\n" + lines + "\n")
    (folder / "many.toml").write_text(
        '[[job]]\ncommand = "sheet"\nmarker = "cobble"\ncredit = { csv = "many.csv", column = "name" }\n'
        'out = "{credit}.svg"\n'
    )


def timed(folder, *words):
    """Run the batch and return its seconds and the greatest memory of it and its processes, in MB."""
    started, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    done = subprocess.run([*COMMAND, *words], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    after = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return time.perf_counter() - started, max(before, after) / 1000, done.stdout.strip()


def test_processes_and_again(tmp_path):
    write_manifest(tmp_path, SHEETS)
    one, _, _ = timed(tmp_path, "--folder", "one", "--processes", "1")
    two, memory, told = timed(tmp_path, "--folder", "two", "--processes", "2")
    again, _, kept = timed(tmp_path, "--folder", "two", "--processes", "2")
    print(f"\n{SHEETS} sheets: one process {SHEETS / one:.0f} a second, two {one / two:.2f} x (at least 1.7), ", end="")
    print(f"again {two / again:.1f} x as fast (at least 20), {memory:.0f} MB; {told}; {kept}")
    assert one / two >= 1.7
    assert two / again >= 20


def test_memory_does_not_grow_with_the_list(tmp_path):
    found = []
    for count in (SHEETS // 10, SHEETS):
        folder = tmp_path / str(count)
        write_manifest(folder, count)
        script = (
            "import resource, sys; from guidegen.cli.app import run; code = run(sys.argv[1:]); "
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000, "
            "resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1000); sys.exit(code)"
        )
        done = subprocess.run([sys.executable, "-c", script, "batch", "many.toml"], cwd=folder, capture_output=True,
                              text=True, check=True)  # fmt: skip
        found.append([int(part) for part in done.stdout.split("\n")[-2].split()])
    print(f"\nMB of the first process and of the largest worker, {SHEETS // 10} and {SHEETS} sheets: {found}")
    assert found[1][0] <= 1.5 * found[0][0]
    assert found[1][1] <= 1.2 * found[0][1]


def test_a_cluster(tmp_path):
    """Two workers of one thread against two processes."""
    write_manifest(tmp_path, SHEETS)
    port = 28786
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": tmp_path}
    python = [sys.executable, "-m"]
    address = f"tcp://127.0.0.1:{port}"
    started = [
        subprocess.Popen([*python, "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", str(port),
                          "--no-dashboard"], **quiet),
        subprocess.Popen([*python, "distributed.cli.dask_worker", address, "--nworkers", "2", "--nthreads", "1",
                          "--no-dashboard"], start_new_session=True, **quiet),
    ]  # fmt: skip
    try:
        time.sleep(8)
        two, _, _ = timed(tmp_path, "--folder", "two", "--processes", "2")
        cluster, _, _ = timed(tmp_path, "--folder", "cluster", "--scheduler", address)
        print(f"\nthe cluster does {two / cluster:.2f} of what two processes do (at least 0.7)")
        running = subprocess.Popen([*COMMAND, "--folder", "lost", "--scheduler", address], cwd=tmp_path,
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)  # fmt: skip
        time.sleep(cluster / 3)
        workers = subprocess.run(["pgrep", "-f", "spawn_main.*"], capture_output=True, text=True, check=False)
        victim = int(workers.stdout.split()[-1])
        os.kill(victim, signal.SIGKILL)
        out, err = running.communicate()
        assert running.returncode == 0, err[-2000:]
        print(f"a worker killed in the middle: {out.strip()}")
        assert two / cluster >= 0.7
        same = {path.name: path.read_bytes() for path in (tmp_path / "two").glob("*.svg")}
        assert {path.name: path.read_bytes() for path in (tmp_path / "lost").glob("*.svg")} == same
    finally:
        for process in started:
            process.send_signal(signal.SIGINT)
        for process in started:
            process.wait(30)


def test_fifty_kills(tmp_path):
    write_manifest(tmp_path, 1500)
    moments = random.Random(11)
    for _ in range(50):
        process = subprocess.Popen(COMMAND, cwd=tmp_path, start_new_session=True, stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL)  # fmt: skip
        time.sleep(moments.uniform(0.05, 3.0))
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        made = (tmp_path / "output").glob("*.svg")
        assert [path for path in made if not path.read_bytes().rstrip().endswith(b"</svg>")] == []
    done = subprocess.run(COMMAND, cwd=tmp_path, capture_output=True, text=True, check=True)
    print(f"\nafter 50 kills: {done.stdout.strip()}")
    assert len(list((tmp_path / "output").glob("*.svg"))) == 1500
    assert subprocess.run([*COMMAND, "--check"], cwd=tmp_path, check=False).returncode == 0


def test_full_disks(tmp_path):
    """Disks of twenty sizes: a line and exit code 2, nothing half, and with room again the run goes on."""
    write_manifest(tmp_path, 40)
    disk = tmp_path / "disk"
    disk.mkdir()
    whole = None
    for size in range(100, 2100, 100):
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}k", "none", disk], check=True)
        try:
            options = {"cwd": tmp_path, "capture_output": True, "text": True}
            done = subprocess.run([*COMMAND, "--folder", disk], check=False, **options)
            if done.returncode:
                assert done.returncode == 2, done.stderr
                assert "full" in done.stderr.splitlines()[-1], done.stderr
                assert "Traceback" not in done.stderr
            assert all(path.read_bytes().rstrip().endswith(b"</svg>") for path in disk.glob("*.svg"))
            subprocess.run(["mount", "-o", "remount,size=100m", disk], check=True)
            subprocess.run([*COMMAND, "--folder", disk], cwd=tmp_path, check=True, capture_output=True)
            made = {path.name: path.read_bytes() for path in Path(disk).glob("*.svg")}
            whole = whole or made
            assert len(made) == 40
            assert made == whole
        finally:
            subprocess.run(["umount", disk], check=True)
