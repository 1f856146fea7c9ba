"""One process that makes inputs, tries them and grows its stock of those that show new ways."""

from __future__ import annotations

import hashlib
import json
import mmap
import random
import resource
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from tests.fuzz.arcs import Arcs
from tests.fuzz.targets import TARGETS, kept_inputs
from tests.fuzz.targets_words import ROOM as ROOM_OF_FILES
from tests.fuzz.trial import Broken, forget_readings, smallest, tried

if TYPE_CHECKING:
    from pathlib import Path

    from tests.fuzz.inputs import Outcome, Target

ROOM: Final = 1 << 20
"""Bytes of the note in which the present input stands, for whoever finds the process dead."""

MEMORY: Final = 6 << 30
"""Bytes of address space; a reader that wants more fails here and not the machine."""

FOLLOWED: Final = 0.35
"""Part of the time that may go into following inputs line by line."""

COMPARED: Final = 3000
"""About so many inputs of a stock are read again in two other processes."""

TWICE: Final = 50
"""Every so manieth input is read twice, to see whether it reads alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a process shall do."""

    seed: int
    inputs: int
    seconds: float
    targets: tuple[str, ...]
    room: Path


@dataclass(slots=True)
class Stock:
    """The inputs of one target that showed something new, and what has been seen of it."""

    inputs: list[bytes] = field(default_factory=list)
    looks: set[frozenset[str]] = field(default_factory=set)


@dataclass(slots=True)
class Worker:
    """The state of one process."""

    order: Order
    rng: random.Random
    note: mmap.mmap
    arcs: Arcs = field(default_factory=Arcs)
    stocks: dict[str, Stock] = field(default_factory=dict)
    done: Counter[str] = field(default_factory=Counter)
    spent: Counter[str] = field(default_factory=Counter)
    found: dict[str, str] = field(default_factory=dict)
    followed: float = 0.0

    def work(self) -> None:
        """Try inputs until their number or the time is used up."""
        self._try_kept()
        shares = [TARGETS[name].share for name in self.order.targets]
        start = told = time.monotonic()
        while sum(self.done.values()) < self.order.inputs:
            now = time.monotonic()
            if now - start > self.order.seconds:
                break
            if now - told > 5:
                told = now
                self.tell()
            for name in self.rng.choices(self.order.targets, shares, k=20):
                self.one(TARGETS[name])

    def _try_kept(self) -> None:
        for file, name in kept_inputs().items():
            if name in self.order.targets:
                self._tried(TARGETS[name], file.read_bytes())

    def one(self, target: Target) -> None:
        """Make one input and try it."""
        stock = self.stocks.setdefault(target.name, Stock())
        if not stock.inputs or self.rng.random() < 0.15:
            content = target.make(self.rng)
        else:
            newest = self.rng.random() < 0.3
            at = -1 - min(int(self.rng.expovariate(0.2)), len(stock.inputs) - 1)
            parent = stock.inputs[at] if newest else self.rng.choice(stock.inputs)
            content = target.mutate(self.rng, parent, stock.inputs)
        self._tried(target, content)

    def _tried(self, target: Target, content: bytes) -> None:
        self._write_down(target.name, content)
        start = time.perf_counter()
        share = self.followed / (sum(self.spent.values()) + 1e-9)
        outcome: Outcome | Broken
        new = 0
        if share < FOLLOWED:
            outcome, new = self._follow(target, content)
        else:
            outcome = tried(target, content)
        self.done[target.name] += 1
        if isinstance(outcome, Broken):
            self._broken(target, content, outcome)
        else:
            self._learn(target, content, outcome, new)
        self.spent[target.name] += time.perf_counter() - start  # type: ignore[assignment]

    def _follow(self, target: Target, content: bytes) -> tuple[Outcome | Broken, int]:
        held: list[Outcome | Broken] = []
        start = time.perf_counter()
        forget_readings()
        new = self.arcs.measured(lambda: held.append(tried(target, content, slack=20)))
        self.followed += time.perf_counter() - start
        return held[0], new

    def _learn(self, target: Target, content: bytes, outcome: Outcome, new: int) -> None:
        stock = self.stocks.setdefault(target.name, Stock())
        look = outcome[0]
        if new or (look not in stock.looks and len(look) <= 12):
            stock.looks.add(look)
            if len(content) < 8000 or new:
                stock.inputs.append(content)
        if new or not self.done[target.name] % TWICE:
            again = tried(target, content)
            if repr(again) != repr(outcome):
                told = f"{outcome!r:.2000}\nand then\n{again!r:.2000}"
                self._broken(target, content, Broken("reads otherwise the second time", told))

    def _broken(self, target: Target, content: bytes, broken: Broken) -> None:
        what = f"{target.name}: {broken.what}"
        if what in self.found:
            return
        content = smallest(target, content, broken)
        again = tried(target, content)
        story = again.story if isinstance(again, Broken) else broken.story
        digest = hashlib.sha256(content).hexdigest()[:10]
        file = self.order.room / f"{target.name}--{digest}.bin"
        file.write_bytes(content)
        self.found[what] = str(file)
        say({"found": what, "file": str(file), "input": repr(content)[:300], "story": story})

    def _write_down(self, name: str, content: bytes) -> None:
        text = f"{name}\n{len(content)}\n".encode() + content
        self.note[: min(len(text), ROOM)] = text[:ROOM]

    def tell(self) -> None:
        """Say how far the work is."""
        say(
            {
                "done": dict(self.done),
                "spent": {name: round(spent, 1) for name, spent in self.spent.items()},
                "stock": {name: len(stock.inputs) for name, stock in self.stocks.items()},
                "arcs": len(self.arcs.seen),
            }
        )

    def close(self) -> None:
        """Hand over what was reached, and the stock with a digest of what each input gives."""
        self.tell()
        say({"lines": {file: sorted(lines) for file, lines in self.arcs.lines().items()}})
        kept = self.order.room / f"stock-{self.order.seed}"
        kept.mkdir(exist_ok=True)
        for name, stock in self.stocks.items():
            for number, content in enumerate(stock.inputs):
                (kept / f"{name}--{number}.bin").write_bytes(content)


def say(words: object) -> None:
    """Hand one line to the process that ordered the work."""
    sys.stdout.write(json.dumps(words) + "\n")
    sys.stdout.flush()


def work(order: Order) -> None:
    """Carry out an order in this process."""
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    memory = MEMORY if most == resource.RLIM_INFINITY else min(MEMORY, most)
    resource.setrlimit(resource.RLIMIT_AS, (memory, most))
    note = order.room / f"note-{order.seed}"
    note.write_bytes(bytes(ROOM))
    with note.open("r+b") as stream, mmap.mmap(stream.fileno(), ROOM) as held:
        worker = Worker(order, random.Random(order.seed), held)  # noqa: S311
        try:
            worker.work()
        finally:
            worker.close()


def digests(folder: Path) -> dict[str, str]:
    """Return, for each input of a stock, a digest of what it gives in this process."""
    found = {}
    files = sorted(folder.glob("*--*.bin"))
    for file in files[:: 1 + len(files) // COMPARED]:
        outcome = tried(TARGETS[file.name.partition("--")[0]], file.read_bytes(), slack=5)
        found[file.name] = hashlib.sha256(_alike(outcome).encode("utf-8", "replace")).hexdigest()
    return found


def _alike(outcome: Outcome | Broken) -> str:
    if isinstance(outcome, Broken):
        return outcome.what
    said, value = outcome
    return f"{sorted(said)} {value!r}".replace(str(ROOM_OF_FILES), "")
