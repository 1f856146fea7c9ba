"""How the benchmarks take time and memory, and how they hold results against each other."""

from __future__ import annotations

import math
import os
import resource
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    Clock = Callable[[], float]
    Found = TypeVar("Found")

ONCE: Final = 10.0
"""Seconds beyond which a run is not repeated."""

STATUS: Final = Path("/proc/self/status")


class DisagreementError(Exception):
    """Ours and the peer's results are not the same: what was measured is worth nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Seconds of a run: of the clock, and of the processors, those of ended children with it."""

    wall: float
    processor: float


def processors() -> float:
    """Seconds of processors that this process and its ended children have taken so far."""
    return sum(os.times()[:4])


def timed(work: Callable[[], Found], clock: Clock = time.perf_counter) -> tuple[float, Found]:
    """Seconds of one run, and what it found."""
    begun = clock()
    found = work()
    return clock() - begun, found


def least(
    work: Callable[[], Found], times: int, clock: Clock = time.perf_counter
) -> tuple[float, Found]:
    """The least seconds of several runs, and what the last one found."""
    seconds, found = in_turn({"": work}, times, clock)
    return seconds[""], found[""]


def least_spent(work: Callable[[], object], times: int) -> Spent:
    """The least of the clock and the least of the processors, of several runs."""
    walls, used = [], []
    for _ in range(times):
        before = processors()
        walls.append(timed(work)[0])
        used.append(processors() - before)
        if walls[-1] > ONCE:
            break
    return Spent(wall=min(walls), processor=min(used))


def in_turn(
    works: Mapping[str, Callable[[], Found]], times: int, clock: Clock = time.perf_counter
) -> tuple[dict[str, float], dict[str, Found]]:
    """The least seconds of each, run one after the other and again; a long one is run once."""
    seconds = dict.fromkeys(works, math.inf)
    found: dict[str, Found] = {}
    for _ in range(times):
        for name, work in works.items():
            if name in found and seconds[name] > ONCE:
                continue
            spent, found[name] = timed(work, clock)
            seconds[name] = min(seconds[name], spent)
    return seconds, found


def peak_memory() -> float:
    """The most memory that this process has held so far, MB.

    What the kernel tells of the process itself comes first: the other figure begins with what the
    process held that started this one.
    """
    if STATUS.exists():
        for told in STATUS.read_text(encoding="ascii").splitlines():
            if told.startswith("VmHWM:"):
                return int(told.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def peak_of_children() -> float:
    """The most memory that one ended child has held, MB; or what this process held, if more."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def agreed(differences: Iterable[float], within: float) -> str:
    """Say how far results differ; an error where they differ by more than they may.

    >>> agreed([0.0, 0.0], 1e-9)
    'results equal'
    >>> agreed([0.0, 2e-12], 1e-9)
    'results differ by 2e-12 at most'
    """
    found = list(differences)
    largest = max(found, default=0.0)
    if not all(one <= within for one in found):  # what is no number is no agreement
        raise DisagreementError(f"results differ by {largest:.3g}, more than {within:.0e}")
    return f"results differ by {largest:.0e} at most" if largest else "results equal"
