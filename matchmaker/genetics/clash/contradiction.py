"""Which records cannot all be true: a set of them from which none can be left out."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from matchmaker.genetics.clash.suppositions import Case, RecordRight, Supposition, case_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from collections.abc import Set as AbstractSet

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.loci.locus import Locus

One = TypeVar("One")


def contradiction(
    pedigree: Pedigree, locus: Locus, evidence: Sequence[Evidence], recurrent: str
) -> tuple[Evidence, ...]:
    """Return a smallest-found set of records that cannot all be true; empty if all can.

    Empty too if no record is to blame: the pedigree and the founders' frequencies alone fail.

    The set is irreducible: leave any one of its records out and the rest can be true. Several
    search orders are tried and the smallest set is kept, so another as small may exist.

    Raises
    ------
    TooTangledError
        If exact work would need too much memory.

    Notes
    -----
    Divide and conquer over the records (Junker 2004, AAAI, from memory): about k log(n/k) trials
    for k guilty records out of n. A trial only asks what is possible, not how likely.

    Examples
    --------
    Two single-combed parents cannot have a pea-combed chick:

    >>> from dataclasses import replace
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.evidence import read_evidence
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import BirdRecord
    >>> pea = replace(catalogue()["P"], frequency={"any": 0.5})
    >>> family = pedigree_of(
    ...     "A cock any any",
    ...     "B hen any any",
    ...     "C hen A B",
    ... )
    >>> combs = {"A": "single", "B": "single", "C": "pea"}
    >>> birds = [
    ...     BirdRecord(row=row, bird=band, sex=sex, seen={"P": combs[band]})
    ...     for row, (band, sex) in enumerate(zip(family.birds, family.sexes, strict=True), 2)
    ... ]
    >>> told = read_evidence(birds, [], pea).evidence
    >>> [one.bird for one in contradiction(family, pea, told, "sussex")]
    ['A', 'B', 'C']
    """
    case = case_of(pedigree, locus, evidence, recurrent)
    if case.possible(case.evidence):
        return ()
    orders = (evidence, evidence[::-1])
    return min((_clashing_records(case, frozenset(), order) for order in orders), key=len)


def conflict(case: Case, doubted: AbstractSet[Supposition]) -> frozenset[Supposition]:
    """Return suppositions, none of them ``doubted``, that cannot all hold, and none to spare.

    First the records are thinned out with every other supposition in force, then, for the
    records left, the others: neither can make something of the other kind needless again.

    ``doubted`` must not resolve everything. What is too tangled to be tried counts as possible,
    so that more may be named than need be, but never suppositions that can all hold.

    Examples
    --------
    The chick has one copy, its dam's breed has none, its sire is a black founder of that breed:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.evidence import read_evidence
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import BirdRecord, Sex
    >>> family = pedigree_of("A cock langshan langshan", "B hen A langshan")
    >>> seen = [BirdRecord(row=3, bird="B", sex=Sex.HEN, seen={"lav": "1 copy"})]
    >>> told = read_evidence(seen, [], catalogue()["lav"]).evidence
    >>> case = case_of(family, catalogue()["lav"], told, "langshan")
    >>> sorted(type(one).__name__ for one in conflict(case, frozenset()))
    ['ParentRight', 'ParentRight', 'PoolPure', 'RecordRight']
    """
    records = _clashing_records(case, doubted, case.evidence)
    suspects = [one for one in case.suppositions(records) if one not in doubted]

    def holds(kept: Sequence[Supposition]) -> bool:
        return case.possibly(records, doubted | set(suspects).difference(kept))

    others = irreducible(holds, suspects)
    return frozenset(others).union(RecordRight(one) for one in records)


def _clashing_records(
    case: Case, doubted: AbstractSet[Supposition], order: Sequence[Evidence]
) -> tuple[Evidence, ...]:
    """Return an irreducible set of the records in ``order`` that cannot all be true."""
    told = [one for one in order if RecordRight(one) not in doubted]
    found = irreducible(lambda records: case.possibly(records, doubted), told)
    return tuple(one for one in case.evidence if one in found)


def irreducible(holds: Callable[[Sequence[One]], bool], suspects: Sequence[One]) -> list[One]:
    """Return some of ``suspects`` that do not hold together, though any all but one of them do.

    All suspects together must not hold. Empty if not even none of them does.

    Examples
    --------
    Numbers that must stay below ten in all:

    >>> irreducible(lambda kept: sum(kept) < 10, [1, 6, 2, 3, 5])
    [1, 6, 3]
    """

    def search(kept: list[One], left: list[One], *, grown: bool) -> list[One]:
        if grown and not holds(kept):
            return []
        if len(left) == 1:
            return left
        half = len(left) // 2
        early, late = left[:half], left[half:]
        from_late = search(kept + early, late, grown=bool(early))
        from_early = search(kept + from_late, early, grown=bool(from_late))
        return from_early + from_late

    return search([], list(suspects), grown=True) if suspects else []
