"""Which of a flock's loci are worked out together, because they lie near each other."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from matchmaker.errors import Fault
from matchmaker.genetics.loci.locus import recombination_between
from matchmaker.tables.folder import SETTINGS_FILE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.genetics.loci.locus import Locus

UNLINKED = 0.5
"""Recombination of loci that pass on independently."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkedPairs:
    """Pairs of loci that are worked out together, and linked pairs that are not.

    No locus is in two of the ``pairs``; ``left`` are links that are known but had to be taken as
    absent, because one of the two loci is in a tighter pair.
    """

    pairs: tuple[tuple[str, str], ...]
    left: tuple[tuple[str, str], ...]


def linked_pairs(loci: Mapping[str, Locus]) -> LinkedPairs:
    """Pair off the loci of a flock that are linked, tightest first.

    Links without a figure, of one half, or between a Z-linked and an autosomal locus (a fault:
    ``link_faults``) count as none.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> three = {symbol: replace(catalogue()[symbol], linkages=()) for symbol in ("O", "P", "R")}
    >>> three["O"] = replace(three["O"], linked_to="P", recombination=0.04)
    >>> three["R"] = replace(three["R"], linked_to="P", recombination=0.2)
    >>> linked_pairs(three)
    LinkedPairs(pairs=(('O', 'P'),), left=(('P', 'R'),))
    """
    found = []
    for one, two in combinations(sorted(loci), 2):
        recombination = recombination_between(loci[one], loci[two])
        near = recombination is not None and recombination < UNLINKED
        if near and loci[one].z_linked == loci[two].z_linked:
            found.append((recombination, one, two))
    pairs: list[tuple[str, str]] = []
    left: list[tuple[str, str]] = []
    for _, one, two in sorted(found):
        taken = {symbol for pair in pairs for symbol in pair}
        (left if taken & {one, two} else pairs).append((one, two))
    return LinkedPairs(pairs=tuple(pairs), left=tuple(left))


def link_faults(loci: Mapping[str, Locus]) -> list[Fault]:
    """Return a fault for each locus that the settings link to one on another kind of chromosome.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> pea = replace(catalogue()["P"], linked_to="S", recombination=0.1)
    >>> [(f.kind, f.column) for f in link_faults({"P": pea, "S": catalogue()["S"]})]
    [('impossible-link', 'loci.P')]
    """
    linked = [(locus, loci.get(locus.linked_to or "")) for locus in loci.values()]
    return [
        _impossible_link(locus, other)
        for locus, other in linked
        if other is not None and other.z_linked != locus.z_linked
    ]


def _impossible_link(locus: Locus, other: Locus) -> Fault:
    return Fault(
        kind="impossible-link",
        file=SETTINGS_FILE,
        column=f"loci.{locus.symbol}",
        value=other.symbol,
        problem=f"{locus.symbol} is said to be linked to {other.symbol}, but {_where(locus)} and "
        f"{_where(other)}",
        mend="leave linked_to out, or correct the inheritance of one of them",
    )


def _where(locus: Locus) -> str:
    return f"{locus.symbol} is {'on the Z' if locus.z_linked else 'not on the Z'}"
