"""The work done by a real cluster: a scheduler and workers that are processes of their own."""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from matchmaker.ahead.cluster import cluster_executor
from matchmaker.ahead.crew import WorkersLostError
from matchmaker.ahead.fan_out import fan_out
from tests import fan_tasks
from tests.cli.run import LIMIT, environment

if TYPE_CHECKING:
    from collections.abc import Iterator

MODULE = "distributed.cli.dask_"
WORKER = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--memory-limit", "0")
SCHEDULER = ("--host", "127.0.0.1", "--port", "0", "--dashboard-address", "127.0.0.1:0")


@dataclass(frozen=True)
class Cluster:
    """A scheduler and its workers, on this machine."""

    address: str
    scheduler: subprocess.Popen[bytes]
    workers: tuple[subprocess.Popen[bytes], ...]


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[Cluster]:
    """A cluster that gives a task up when two workers have died of it."""
    file = tmp_path / "scheduler.json"
    more = {
        "PYTHONPATH": str(Path(__file__).parents[2]),
        "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "1",
    }
    with contextlib.ExitStack() as stack:

        def begun(kind: str, *options: str) -> subprocess.Popen[bytes]:
            process = subprocess.Popen(
                [sys.executable, "-m", MODULE + kind, "--scheduler-file", file, *options],
                cwd=tmp_path,
                env=environment(**more),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            stack.callback(process.wait)
            stack.callback(process.kill)
            return process

        scheduler = begun("scheduler", *SCHEDULER, "--no-show")
        workers = tuple(begun("worker", *WORKER) for _ in range(3))
        yield Cluster(address_in(file), scheduler, workers)


def address_in(file: Path) -> str:
    """Return the address that the scheduler has written down."""
    until = time.monotonic() + LIMIT
    while time.monotonic() < until:
        with contextlib.suppress(FileNotFoundError, json.JSONDecodeError):
            return str(json.loads(file.read_text(encoding="utf-8"))["address"])
        time.sleep(0.02)
    raise TimeoutError(file)


@pytest.mark.slow
def test_a_cluster_whose_workers_are_killed(cluster: Cluster, tmp_path: Path) -> None:
    """First one while it works; then all but the scheduler by a task; then the scheduler."""
    begun = tmp_path / "begun"
    begun.mkdir()
    work, numbers = fan_tasks.Slowly(begun, 0.1), range(30)
    killed: list[int] = []

    def told(_done: int, _tasks: int) -> None:
        """Kill the first worker that is known to have begun something, once."""
        if not killed:
            killed.extend(int(file.name.partition("-")[2]) for file in begun.iterdir())
            victim(killed[0]).kill()

    def victim(pid: int) -> subprocess.Popen[bytes]:
        return next(worker for worker in cluster.workers if worker.pid == pid)

    with cluster_executor(cluster.address) as executor:
        assert fan_out(work, numbers, executor=executor, told=told) == fan_out(
            fan_tasks.squared, numbers, workers=1
        )
        with pytest.raises(ValueError, match="has no root"):
            fan_out(fan_tasks.root, [4, -1, 9], executor=executor)
    assert victim(killed[0]).wait(LIMIT) == -signal.SIGKILL

    with (
        pytest.raises(WorkersLostError, match="at the same part, mostly for lack of memory"),
        cluster_executor(cluster.address) as executor,
    ):
        fan_out(fan_tasks.deadly, [2], executor=executor)
