"""What is refused of a cluster, in words, before any work is sent; and a cluster that goes away."""

from __future__ import annotations

import socket
import sys
from typing import TYPE_CHECKING

import pytest
from distributed import LocalCluster

from matchmaker.ahead import cluster as cluster_module
from matchmaker.ahead.cluster import cluster_executor, version_fault, versions
from matchmaker.ahead.crew import WorkersLostError
from matchmaker.ahead.fan_out import fan_out
from matchmaker.errors import UsageError
from tests import fan_tasks

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path


@pytest.fixture
def local() -> Iterator[Callable[[int, int], LocalCluster]]:
    """A cluster whose scheduler and workers are threads of this process."""
    made: list[LocalCluster] = []

    def make(workers: int, threads: int) -> LocalCluster:
        cluster = LocalCluster(
            n_workers=workers,
            threads_per_worker=threads,
            processes=False,
            protocol="tcp",
            host="127.0.0.1",
            dashboard_address=None,
            memory_limit=None,
        )
        made.append(cluster)
        return cluster

    yield make
    for cluster in made:
        cluster.close()


def refusal(address: str) -> str:
    with pytest.raises(UsageError) as caught, cluster_executor(address):
        pass
    return str(caught.value)


def test_without_dask_it_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert refusal("tcp://127.0.0.1:8786") == (
        "a cluster needs dask, which is not installed here: in the folder of matchmaker, "
        ".venv/bin/pip install -c .ci/constraints.txt '.[cluster]'"
    )


@pytest.mark.parametrize("address", ["nonsense://here:1", "tcp://127.0.0.1:99999", "tcp://", ""])
def test_what_is_no_address_is_refused(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    monkeypatch.setattr(cluster_module, "PATIENCE", 0.3)
    assert refusal(address).startswith(f'nobody answers as a cluster at "{address}": give')


@pytest.mark.parametrize("callers", [0, 5], ids=["nobody there", "somebody who says nothing"])
def test_an_address_without_a_scheduler_is_refused(
    monkeypatch: pytest.MonkeyPatch, callers: int
) -> None:
    monkeypatch.setattr(cluster_module, "PATIENCE", 0.3)
    with socket.socket() as here:
        here.bind(("127.0.0.1", 0))
        if callers:
            here.listen(callers)
        address = f"tcp://127.0.0.1:{here.getsockname()[1]}"
        assert f'nobody answers as a cluster at "{address}"' in refusal(address)


def test_a_cluster_without_workers_is_refused(
    monkeypatch: pytest.MonkeyPatch, local: Callable[[int, int], LocalCluster]
) -> None:
    address = local(0, 1).scheduler_address
    monkeypatch.setattr(cluster_module, "PATIENCE", 0.3)
    assert refusal(address) == (
        f"the cluster at {address} has no workers: begin some with dask worker {address} "
        "--nthreads 1"
    )


def test_workers_with_several_threads_are_refused(
    local: Callable[[int, int], LocalCluster],
) -> None:
    said = refusal(local(1, 2).scheduler_address)
    assert "does several things at once" in said
    assert said.endswith("--nthreads 1")


def test_other_versions_are_refused() -> None:
    assert version_fault({"tcp://a:1": versions(), "tcp://b:2": versions()}) is None
    fault = version_fault({"tcp://a:1": versions(), "tcp://b:2": ("0.0.1", "3.9")})
    assert fault is not None
    assert fault.startswith("the worker at tcp://b:2 has matchmaker 0.0.1 under Python 3.9, ")
    fault = version_fault({"tcp://a:1": ModuleNotFoundError("matchmaker.ahead")})
    assert fault is not None
    assert "has no matchmaker that can work on a cluster, this computer matchmaker" in fault


def test_a_cluster_that_goes_away_is_said_so(
    local: Callable[[int, int], LocalCluster], tmp_path: Path
) -> None:
    cluster = local(2, 1)
    with (
        pytest.raises(WorkersLostError, match=r"at tcp://127\.0\.0\.1:\d+ has gone away: begin it"),
        cluster_executor(cluster.scheduler_address) as executor,
    ):
        fan_out(
            fan_tasks.Slowly(tmp_path, 0.05),
            range(40),
            executor=executor,
            told=lambda _done, _tasks: cluster.close(),
        )
