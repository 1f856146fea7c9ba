"""What every target is: how its inputs are made, changed and given to the reader."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from tests.fuzz.ledger import BrokenLawError

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Iterable

    from matchmaker.errors import Fault

Outcome: TypeAlias = tuple[frozenset[str], object]
"""The kinds of what was said, which tell inputs apart at a glance; and all that came of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One reader: ``run`` gives it the bytes of an input; every law it breaks is an exception.

    ``share`` is how many of a thousand inputs are for it, ``seconds`` the processor time that an
    input may take, ``smaller`` yields inputs that may show the same in less.
    """

    name: str
    share: float
    make: Callable[[random.Random], bytes]
    mutate: Callable[[random.Random, bytes, list[bytes]], bytes]
    run: Callable[[bytes], Outcome]
    smaller: Callable[[bytes], Iterable[bytes]]
    seconds: float = 2.0


def kinds(findings: Iterable[Fault]) -> frozenset[str]:
    """Return the kinds of faults and doubts, each of which must say what and what to do."""
    found = set()
    for one in findings:
        if not (one.kind and one.problem.strip() and one.mend.strip()):
            raise BrokenLawError(f"a finding without words: {one!r:.300}")
        if one.row is not None and one.row < 1:
            raise BrokenLawError(f"a finding in row {one.row}: {one!r:.300}")
        found.add(one.kind)
    return frozenset(found)


def fewer_bytes(content: bytes) -> Iterable[bytes]:
    """Yield an input with pieces taken out, the largest first."""
    size = len(content) // 2
    while size:
        for at in range(0, len(content), size):
            yield content[:at] + content[at + size :]
        size //= 2
