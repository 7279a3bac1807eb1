"""A real scheduler and two real workers: a lost worker's tasks are done again, a deadly one alone fails."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from guidegen.batch.cluster import Cluster
from guidegen.errors import GuidegenError
from guidegen.jobs import WorkerLost

distributed = pytest.importorskip("distributed")


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory):
    """Start a scheduler and two workers under nannies, as a person would; yields the address."""
    folder, port = tmp_path_factory.mktemp("dask"), free_port()
    address = f"tcp://127.0.0.1:{port}"
    environment = os.environ | {"DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1", "PYTHONWARNINGS": "ignore"}
    environment["PYTHONPATH"] = str(Path(__file__).parent)
    options = {"cwd": folder, "env": environment, "stderr": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
    commands = [
        ["dask_scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"],
        ["dask_worker", address, "--nworkers", "2", "--nthreads", "1", "--no-dashboard"],
    ]
    started = [
        subprocess.Popen([sys.executable, "-m", f"distributed.cli.{words[0]}", *words[1:]], **options)
        for words in commands
    ]
    yield address
    for process in reversed(started):
        process.send_signal(signal.SIGINT)
    for process in started:
        try:
            process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def connected(address):
    """Connect once the two workers have come."""
    for _ in range(120):
        try:
            cluster = Cluster(address)
        except GuidegenError:
            time.sleep(0.25)
            continue
        if len(cluster._client.nthreads()) == 2:
            return cluster
        cluster.close()
        time.sleep(0.25)
    raise AssertionError("no two workers")


def work(task):
    """Double a number; ``kill`` ends the worker it is on, and ``once`` where it finds no mark of having done so."""
    kind, value = task
    if kind == "kill":
        os.kill(os.getpid(), signal.SIGKILL)
    if kind == "once" and not Path(value).exists():
        Path(value).write_text("x", encoding="utf-8")
        os.kill(os.getpid(), signal.SIGKILL)
    return value * 2


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_does_the_work(scheduler, tmp_path):
    cluster = connected(scheduler)
    try:
        found = dict(cluster.run(work, (("n", k) for k in range(60))))
        assert found == {("n", k): k * 2 for k in range(60)}

        mark = str(tmp_path / "mark")
        tasks = [("n", k) for k in range(20)] + [("once", mark)]
        assert dict(cluster.run(work, tasks)) == {task: task[1] * 2 for task in tasks}

        tasks = [("n", k) for k in range(6)] + [("kill", 0)]
        found = dict(cluster.run(work, tasks))
        assert isinstance(found.pop(("kill", 0)), WorkerLost)
        assert found == {("n", k): k * 2 for k in range(6)}
    finally:
        cluster.close()


def test_nobody_answers(monkeypatch):
    monkeypatch.setattr("guidegen.batch.cluster._CONNECT_S", 1)
    with pytest.raises(GuidegenError, match="no scheduler answers"):
        Cluster(f"tcp://127.0.0.1:{free_port()}")
