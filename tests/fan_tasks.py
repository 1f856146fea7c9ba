"""Work for other processes, which must find it by name: plain, slow, failing and deadly."""

from __future__ import annotations

import os
import signal
import threading
import time
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from matchmaker.errors import Fault, InputError

if TYPE_CHECKING:
    from pathlib import Path

FAULTS = tuple(
    Fault(kind="x", file="birds.csv", row=row, problem="odd", mend="mend it") for row in (2, 7)
)


def squared(number: int) -> int:
    return number * number


def process(_task: int) -> int:
    time.sleep(0.05)
    return os.getpid()


def threads_and_signals(_task: int) -> tuple[dict[str, str], bool]:
    """Limits on threads as numpy found them, and whether Ctrl-C means nothing here."""
    limits = {key: value for key, value in os.environ.items() if key.endswith("_THREADS")}
    return limits, signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def digest_of_inverse(size: int) -> str:
    """Digest of all bits of the inverse of a matrix."""
    import numpy as np

    matrix = np.random.default_rng(1).normal(size=(size, size)) + size * np.eye(size)
    return sha256(np.linalg.inv(matrix).tobytes()).hexdigest()


def root(number: int) -> float:
    """Refuse with a plain error of Python."""
    if number < 0:
        raise ValueError(number, "has no root")
    return float(number**0.5)


def faulty(_task: int) -> int:
    """Refuse with an error whose class takes something else than its words."""
    raise InputError(FAULTS)


def leaving(_task: int) -> int:
    raise SystemExit(4)


def unsendable(_task: int) -> object:
    return threading.Lock()


class LockedError(Exception):
    """An error that cannot be pickled."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self.lock = threading.Lock()


def locked(_task: int) -> int:
    raise LockedError("the henhouse is locked")


def deadly(number: int) -> int:
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


@dataclass(frozen=True)
class Slowly:
    """A square after some time; what is begun, and by which process, is written down."""

    folder: Path
    seconds: float

    def __call__(self, number: int) -> int:
        (self.folder / f"{number}-{os.getpid()}").touch()
        time.sleep(self.seconds)
        return number * number


@dataclass(frozen=True)
class DeadlyOnce:
    """A square, but whoever is first given one of some numbers is killed."""

    folder: Path
    numbers: frozenset[int]

    def __call__(self, number: int) -> int:
        marker = self.folder / str(number)
        if number in self.numbers and not marker.exists():
            marker.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return number * number


class Unpacked:
    """Work that writes down each time it is unpacked."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __setstate__(self, state: dict[str, Any]) -> None:
        self.__dict__.update(state)
        (self.folder / f"{os.getpid()}-{time.monotonic_ns()}").touch()

    def __call__(self, _task: int) -> int:
        time.sleep(0.02)
        return os.getpid()


class Unfound:
    """Work that cannot be unpacked."""

    def __setstate__(self, state: dict[str, Any]) -> None:
        raise ModuleNotFoundError("No module named 'aviary'")

    def __getstate__(self) -> dict[str, Any]:
        return {"what": "anything"}

    def __call__(self, number: int) -> int:
        return number
