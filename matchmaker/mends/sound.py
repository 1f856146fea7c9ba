"""Which mends are safe and lead to no new finding: those that can be written unasked."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.mends.bench import Bench, Left, Why

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.checking import Check
    from matchmaker.errors import Fault

SEEN_LATE: Final = frozenset({"contradiction", "impossible-pedigree"})
"""Kinds of faults that are only looked for once no other fault is left."""


TRIES: Final = 60
"""Times that mends are tried to find those among them that lead to new faults."""


def safe_mends(
    bench: Bench, before: Check, *, tries: int = TRIES
) -> tuple[tuple[Fault, ...], tuple[Left, ...]]:
    """Part the findings whose mends are safe and can all be written from those left.

    What would lead to a fault that was not there before is left as well.
    """
    found = [one for one in (*before.faults, *before.doubts) if one.mends]
    unsafe = tuple(Left(fault=one, why=Why.NOT_SAFE) for one in found if not one.safe)
    chosen, left = bench.sorted_out(one for one in found if one.safe)
    trial = _Trial(bench=bench, before=before, tries=tries)
    kept = trial.sound((), chosen)
    parted = tuple(Left(fault=one, why=why) for one, why in trial.left.items())
    return kept, (*left, *parted, *unsafe)


@dataclass(slots=True, kw_only=True)
class _Trial:
    """Mends tried on a copy, so many times at most; ``left`` are those that are not to be kept."""

    bench: Bench
    before: Check
    tries: int
    left: dict[Fault, Why] = field(default_factory=dict)

    def sound(self, base: Sequence[Fault], more: Sequence[Fault]) -> tuple[Fault, ...]:
        """Add those of ``more`` to what is mended that lead to no new fault, halving what does."""
        together = (*base, *more)
        if not more:
            return together
        if not self.tries:
            self.left |= dict.fromkeys(more, Why.UNTRIED)
            return tuple(base)
        self.tries -= 1
        if not worse(self.before, self.bench.check(self.bench.texts(together))):
            return together
        if len(more) == 1:
            self.left[more[0]] = Why.WORSE
            return tuple(base)
        half = len(more) // 2
        return self.sound(self.sound(base, more[:half]), more[half:])


def worse(before: Check, after: Check) -> bool:
    """Whether there is a fault that was not there before, or not one finding less than before.

    Only what was looked for before counts: some things are not while faults stand in the way. Rows
    may have moved, so a fault is known by all but its row.
    """
    if (before.table is None) is (after.table is None) and _number(after) >= _number(before):
        return True
    told = {_gist(fault) for fault in before.faults}
    late = SEEN_LATE if before.faults else frozenset()
    return any(_gist(fault) not in told and fault.kind not in late for fault in after.faults)


def _number(found: Check) -> int:
    """How many findings hold for a copy too, which no other program has open."""
    return sum(one.kind != "open-elsewhere" for one in (*found.faults, *found.doubts))


def _gist(fault: Fault) -> tuple[str, str, str | None, str]:
    return (fault.kind, fault.file.partition(".")[0], fault.column, fault.value)
