"""Workers on other machines: a cluster of dask, taken on only when it is asked for.

Everything is sent by pickle, both ways: whoever rules the scheduler can run what they like here.
Give only the address of a cluster of your own, in a network that you trust.
"""

from __future__ import annotations

import asyncio
import contextlib
import pickle
import sys
from concurrent.futures import CancelledError, Executor, Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, Final, ParamSpec, TypeVar

import matchmaker
from matchmaker.ahead.crew import WorkersLostError
from matchmaker.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from distributed import Client

_Arguments = ParamSpec("_Arguments")
_Answer = TypeVar("_Answer")

PATIENCE: Final = 10.0
"""Seconds in which a scheduler must answer, and then one worker be there."""

INSTALL: Final = ".venv/bin/pip install -c .ci/constraints.txt '.[cluster]'"
BEGIN: Final = "dask worker ADDRESS --nthreads 1"


@contextlib.contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """What ``fan_out`` gives its tasks to, on the cluster whose scheduler has this address.

    A task whose worker dies is given to another one, as often as the scheduler's
    ``allowed-failures`` says (3 unless configured).

    Parameters
    ----------
    address
        As the scheduler prints it when it begins: ``tcp://192.168.1.20:8786``.

    Raises
    ------
    UsageError
        If dask is not installed, nobody answers at the address, no worker is there, or a worker
        is of another version or works in several threads.
    WorkersLostError
        If the cluster goes away, or a task has lost too many workers.
    """
    client = _connected(address)
    from distributed.scheduler import KilledWorker

    try:
        _check_workers(client, address)
        with _Cluster(client) as executor:
            yield executor
    except KilledWorker as error:
        raise WorkersLostError(
            "workers of the cluster ended again and again at the same part, mostly for lack of "
            "memory: begin fewer of them on each computer, and run it again"
        ) from error
    except CancelledError as error:
        raise WorkersLostError(
            f"the cluster at {address} has gone away: begin it again, or do without it"
        ) from error
    finally:
        client.close(timeout=1)


class _Cluster(Executor):
    """The cluster as an executor that sends each function once, not with every task.

    The function is itself the answer of a task, so that the scheduler hands it from worker to
    worker and makes it again if those that held it have died.
    """

    def __init__(self, client: Client) -> None:
        self._client = client
        self._executor = client.get_executor(pure=False)
        self._held: tuple[object, Any] | None = None

    def submit(
        self,
        fn: Callable[_Arguments, _Answer],
        /,
        *args: _Arguments.args,
        **kwargs: _Arguments.kwargs,
    ) -> Future[_Answer]:
        """Let the cluster answer ``fn(*args, **kwargs)``."""
        if self._held is None or self._held[0] is not fn:
            self._held = (fn, self._client.submit(pickle.loads, pickle.dumps(fn), pure=False))
        answer: Future[_Answer] = self._executor.submit(_applied, self._held[1], *args, **kwargs)
        return answer

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:  # noqa: FBT001, FBT002, ARG002  as in the base class
        """Forget what has not been answered; ``fan_out`` has waited for what it wants."""
        self._executor.shutdown(wait=False)


def _applied(
    work: Callable[_Arguments, _Answer], *args: _Arguments.args, **kwargs: _Arguments.kwargs
) -> _Answer:
    return work(*args, **kwargs)


def _connected(address: str) -> Client:
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError(
            "a cluster needs dask, which is not installed here: in the folder of matchmaker, "
            f"{INSTALL}"
        ) from error
    try:
        with ThreadPoolExecutor(1) as thread:  # this one may have an event loop of its own
            thread.submit(asyncio.run, _greeted(address)).result()
        return Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise UsageError(
            f'nobody answers as a cluster at "{address}": give the address that dask scheduler '
            "prints when it begins, such as tcp://192.168.1.20:8786"
        ) from error


async def _greeted(address: str) -> None:
    """Fail unless a scheduler answers in time: dask itself waits for ever for a silent listener."""
    from distributed.comm import connect

    async with asyncio.timeout(PATIENCE):
        pipe = await connect(address, timeout=PATIENCE)
        await pipe.close()


def _check_workers(client: Client, address: str) -> None:
    begin = BEGIN.replace("ADDRESS", address)
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError as error:
        raise UsageError(
            f"the cluster at {address} has no workers: begin some with {begin}"
        ) from error
    for worker, about in client.scheduler_info()["workers"].items():
        if about["nthreads"] != 1:
            raise UsageError(
                f"the worker at {worker} does several things at once, for which planning is not "
                f"made: begin each with {begin}"
            )
    fault = version_fault(client.run(versions, on_error="return"))
    if fault is not None:
        raise UsageError(fault)


def versions() -> tuple[str, str]:
    """Return the versions of the program and of Python.

    Examples
    --------
    >>> versions() == (matchmaker.__version__, f"{sys.version_info[0]}.{sys.version_info[1]}")
    True
    """
    return matchmaker.__version__, ".".join(map(str, sys.version_info[:2]))


def version_fault(found: Mapping[str, tuple[str, str] | Exception]) -> str | None:
    """Say which worker has other versions than this computer, if one has.

    Examples
    --------
    >>> version_fault({"tcp://192.168.1.21:40001": versions()}) is None
    True
    """
    here = versions()
    for worker, there in found.items():
        if there != here:
            return (
                f"the worker at {worker} has {_version_text(there)}, this computer "
                f"{_version_text(here)}: install the same on both, then begin the worker anew"
            )
    return None


def _version_text(found: tuple[str, str] | Exception) -> str:
    if isinstance(found, Exception):
        return "no matchmaker that can work on a cluster"
    return "matchmaker {} under Python {}".format(*found)
