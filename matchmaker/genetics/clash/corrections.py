"""What would explain records that cannot all be true: the smallest sets of mistakes."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, TypeAlias

from matchmaker.genetics.clash.contradiction import conflict
from matchmaker.genetics.clash.exchange import exchangeable, exchanged
from matchmaker.genetics.clash.suppositions import (
    Case,
    ParentRight,
    RecordRight,
    Supposition,
    case_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus

Conflict: TypeAlias = frozenset[Supposition]
Correction: TypeAlias = tuple[Supposition, ...]

MISTAKES_MAX: Final = 3
"""Most independent mistakes that are looked for; more are reported as such."""

FEW: Final = 30
"""Sets that are sooner tried one by one than by what the failure of another would teach."""

CORRECTIONS_MAX: Final = 60
"""Most corrections of several mistakes that are worked out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Records that cannot all be true, and what would explain them.

    ``records`` is an irreducible set of them, empty if the pedigree and the founders' frequencies
    alone are impossible. ``corrections`` are the smallest sets of suppositions that need only be
    wrong for everything to be possible, the likelier mistakes first; ``unlisted`` if there are
    more of that size. ``mistakes_min`` is their size, or, where none is listed, the number that
    at least must be wrong. ``exchanges`` are pairs of birds, in order of their bands, whose
    exchange at hatching would explain everything.
    """

    records: tuple[Evidence, ...]
    corrections: tuple[Correction, ...]
    exchanges: tuple[tuple[str, str], ...]
    mistakes_min: int
    unlisted: bool = False


def find_clash(
    pedigree: Pedigree,
    locus: Locus,
    evidence: Sequence[Evidence],
    recurrent: str,
    together: Iterable[frozenset[str]] = (),
) -> Clash | None:
    """Return what cannot all be true at one locus and what would explain it; ``None`` if all can.

    Doubted are every record, the sexes and parents written, and the purity of the founders'
    breeds. ``together`` are the sets of birds whose bands may have been exchanged: those that
    hatched on one day, or were in one pen.

    Raises
    ------
    TooTangledError
        If exact work on everything that was seen would need too much memory.

    Notes
    -----
    A correction must share a supposition with every conflict. Conflicts are found one by one and
    the smallest sets that meet them all are tried until one resolves everything (minimal
    diagnoses from conflict sets: Reiter 1987, Artif Intell 32:57, from memory).

    Examples
    --------
    A lavender chick (two copies) of two black birds, both without a copy by their breed:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.evidence import read_evidence
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import BirdRecord, Sex
    >>> flock = pedigree_of(
    ...     "A cock langshan langshan",
    ...     "B hen langshan langshan",
    ...     "C hen A B",
    ... )
    >>> seen = [BirdRecord(row=4, bird="C", sex=Sex.HEN, seen={"lav": "lavender"})]
    >>> told = read_evidence(seen, [], catalogue()["lav"]).evidence
    >>> clash = find_clash(flock, catalogue()["lav"], told, "langshan")
    >>> [type(one).__name__ for (one,) in clash.corrections]
    ['RecordRight', 'PoolPure']
    """
    case = case_of(pedigree, locus, evidence, recurrent)
    if case.possible(case.evidence):
        return None
    search = _Search(case=case, conflicts=[conflict(case, frozenset())])
    first = search.conflicts[0]
    corrections = search.corrections()
    size = len(corrections[0]) if corrections else MISTAKES_MAX + 1
    return Clash(
        records=tuple(one for one in case.evidence if RecordRight(one) in first),
        corrections=corrections,
        exchanges=_exchanges(case, search.conflicts, together),
        mistakes_min=size if first else 0,
        unlisted=len(corrections) >= CORRECTIONS_MAX,
    )


def fits_exchanged(case: Case, pair: tuple[str, str]) -> bool:
    """Whether everything is possible once the bands of two birds are exchanged.

    Examples
    --------
    A lavender chick of two birds without a copy, and a black one of carriers:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.evidence import read_evidence
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import BirdRecord
    >>> flock = pedigree_of(
    ...     "A cock orpington orpington",
    ...     "B hen langshan langshan",
    ...     "X ? A orpington",
    ...     "Y ? langshan B",
    ... )
    >>> seen = [BirdRecord(row=5, bird="Y", seen={"lav": "lavender"})]
    >>> told = read_evidence(seen, [], catalogue()["lav"]).evidence
    >>> fits_exchanged(case_of(flock, catalogue()["lav"], told, "langshan"), ("X", "Y"))
    True
    """
    pedigree = exchanged(case.pedigree, pair)
    return pedigree is not None and replace(case, pedigree=pedigree).surely()


@dataclass(slots=True)
class _Search:
    """The conflicts known so far, and the sets of suppositions tried."""

    case: Case
    conflicts: list[Conflict]
    tried: set[Conflict] = field(default_factory=set)
    failed: list[Conflict] = field(default_factory=list)
    """Sets tried in vain of which nothing was learnt yet."""

    def corrections(self) -> tuple[Correction, ...]:
        """Return all corrections of the smallest size that has any."""
        for size in range(1, MISTAKES_MAX + 1):
            found = list(itertools.islice(self._of_size(size), CORRECTIONS_MAX))
            if found:
                return tuple(found)
            for doubted in self.failed:
                self._learn(doubted)
            self.failed.clear()
        return ()

    def _of_size(self, size: int) -> Iterator[Correction]:
        """Yield the corrections of a size, likelier ones first; learn from every set that fails.

        A new conflict costs many trials, so the last few sets are rather tried one by one.
        """
        while untried := set(meeting(self.conflicts, size)) - self.tried:
            doubted = min(untried, key=_plausibility)
            self.tried.add(doubted)
            if self.case.surely(doubted):
                yield _sorted(doubted)
            elif len(untried) > FEW:
                self._learn(doubted)
            else:
                self.failed.append(doubted)

    def _learn(self, doubted: Conflict) -> None:
        """Add a conflict that lasts in spite of ``doubted``, unless one is known.

        One that shares nothing with those known, if there is one, teaches most.
        """
        if not all(doubted & known for known in self.conflicts):
            return
        for wide in (doubted.union(*self.conflicts), doubted):
            if not self.case.possibly(self.case.evidence, wide):
                self.conflicts.append(conflict(self.case, wide))
                return


def meeting(conflicts: Sequence[Conflict], size: int) -> Iterator[Conflict]:
    """Yield the sets of at most ``size`` suppositions that share one with every conflict.

    Only those of just that size matter to a caller who has tried the smaller ones.

    Examples
    --------
    >>> from matchmaker.genetics.clash.suppositions import SexRight
    >>> one, two, three = (SexRight(band) for band in "ABC")
    >>> found = meeting([frozenset({one, two}), frozenset({two, three})], 1)
    >>> [[each.bird for each in doubted] for doubted in found]
    [['B']]
    """
    if not conflicts:
        yield frozenset()
    elif size > 0:
        for one in conflicts[0]:
            left = [other for other in conflicts[1:] if one not in other]
            for others in meeting(left, size - 1):
                yield others | {one}


def _exchanges(
    case: Case, conflicts: Sequence[Conflict], together: Iterable[frozenset[str]]
) -> tuple[tuple[str, str], ...]:
    """Exchanges that explain everything, in order of the bands.

    A conflict lasts unless the parents of one of the two have a part in it.
    """
    parts = [{one.bird for one in each if isinstance(one, ParentRight)} for each in conflicts]
    if not parts:
        return ()
    clashing = [one.record for one in frozenset().union(*conflicts) if isinstance(one, RecordRight)]
    small = replace(case, evidence=tuple(one for one in case.evidence if one in clashing))
    return tuple(
        pair
        for pair in exchangeable(case.pedigree, parts[0], together)
        if all(part.intersection(pair) for part in parts)
        and fits_exchanged(small, pair)
        and fits_exchanged(case, pair)
    )


def _sorted(doubted: Conflict) -> Correction:
    return tuple(sorted(doubted, key=lambda one: one.order))


def _plausibility(doubted: Conflict) -> tuple[list[int], list[tuple[int, str, str, int]]]:
    """Sort key: by the kinds of mistakes, the rarest first compared, then by bands."""
    orders = sorted(one.order for one in doubted)
    return sorted((order[0] for order in orders), reverse=True), orders
