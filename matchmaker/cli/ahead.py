"""The ahead command: check what is asked for, simulate, show; nothing is written to the tables."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.ahead.policies import NAMES, PLAN
from matchmaker.cli.interrupt import last_word
from matchmaker.cli.options import refuse_beside
from matchmaker.cli.simulating import progress_bar
from matchmaker.cli.streams import note
from matchmaker.errors import UsageError
from matchmaker.report.ahead import print_ahead
from matchmaker.report.ahead_document import ahead_document, ahead_sheet
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.write import refuse_target

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence
    from concurrent.futures import Executor
    from contextlib import AbstractContextManager
    from pathlib import Path

    from matchmaker.ahead.outlook import Ahead
    from matchmaker.cli.output import Output
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked for."""

    seasons: int
    replicates: int
    seed: int
    ready: float
    compare: bool
    policies: tuple[str, ...]
    workers: int | None
    cluster: str

    @property
    def beside(self) -> tuple[str, ...]:
        """The policies to set beside the plan: those named, else all if any are wanted.

        Raises
        ------
        UsageError
            If there is no policy of a name; those there are are listed.
        """
        for name in self.policies:
            if name not in NAMES:
                raise UsageError(_unknown(name))
        named = self.policies or (tuple(NAMES) if self.compare else ())
        return tuple(name for name in dict.fromkeys(named) if name != PLAN)


def run_ahead(folder: Path, asked: Asked, output: Output) -> None:
    """Simulate the coming seasons of a folder's flock and show them.

    Raises
    ------
    UsageError
        If a policy is not known, options do not go together, or a cluster does not answer.
    WouldOverwriteError
        If the CSV file exists and is not to be replaced: before the work, not after it.
    """
    if asked.cluster:
        refuse_beside("--cluster", {"--workers": asked.workers is not None})
    beside = asked.beside
    if output.csv is not None:
        refuse_target(output.csv, overwrite=output.force)
    table = verbs.pairs(folder)
    ahead = _simulated(table, asked, beside)
    output.show(
        lambda console: print_ahead(console, ahead, table),
        lambda: ahead_document(ahead, table),
        lambda: ahead_sheet(ahead),
    )
    if left_out := without(asked.policies, [one.policy for one in ahead.outlooks]):
        note(left_out)
    note("Nothing is written to your tables: this is what may come, and yours to weigh.")


def without(named: Sequence[str], played: Collection[str]) -> str:
    """What is said of policies that were named but that this flock cannot have; else nothing.

    Examples
    --------
    >>> without(["by-eye", "one-line-fewer"], ["plan", "by-eye"])
    'Left out, as this flock has no such plan to begin with: one-line-fewer.'
    >>> without(["by-eye", "plan"], ["plan", "by-eye"])
    ''
    """
    missing = [name for name in dict.fromkeys(named) if name not in played]
    if not missing:
        return ""
    return f"Left out, as this flock has no such plan to begin with: {', '.join(missing)}."


def _simulated(table: PairTable, asked: Asked, beside: tuple[str, ...]) -> Ahead:
    with (
        cluster_at(asked.cluster) as executor,
        progress_bar("Simulating") as shown,
        last_word(Reached(shown)) as reached,
    ):
        return verbs.ahead(
            table,
            verbs.Horizon(
                seasons=asked.seasons,
                replicates=asked.replicates,
                seed=asked.seed,
                ready=asked.ready,
            ),
            compare=beside,
            hands=verbs.Hands(workers=asked.workers, executor=executor, told=reached.tell),
        )


def cluster_at(address: str) -> AbstractContextManager[Executor | None]:
    """The workers of a cluster, or nobody where no address is given."""
    if not address:
        return contextlib.nullcontext()
    from matchmaker.ahead.cluster import cluster_executor

    return cluster_executor(address)


class Reached:
    """How far the work is: told to whoever looks on, and said last if it is interrupted."""

    def __init__(self, shown: Callable[[int, int], None]) -> None:
        self._shown = shown
        self._parts = (0, 0)

    def tell(self, done: int, parts: int) -> None:
        """Take down how many parts are done, and pass it on."""
        self._parts = (done, parts)
        self._shown(done, parts)

    def __call__(self) -> str:
        """How far the work is, in a sentence."""
        done, parts = self._parts
        reached = f"{done} of {parts} parts of the simulation were done" if parts else ""
        return f"{reached or 'The simulation had only begun'}; nothing is kept of it."


def _unknown(name: str) -> str:
    near = close_matches(name, NAMES)
    hint = f" Did you mean {near[0]}?" if near else ""
    return f"there is no policy {name!r}.{hint} --policy takes one of: {', '.join(NAMES)}"
