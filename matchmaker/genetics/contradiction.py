"""Which records cannot all be true: a set of them from which none can be left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.factors import ContradictionError
from matchmaker.genetics.inference import consistent
from matchmaker.genetics.network import reduced_network
from matchmaker.genetics.observed import birds_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.loci import Locus
    from matchmaker.genetics.observed import Evidence


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
    >>> from matchmaker.flock.pedigree import Pedigree, Pool
    >>> from matchmaker.genetics.evidence import read_evidence
    >>> from matchmaker.genetics.loci import catalogue
    >>> from matchmaker.tables.records import BirdRecord, Sex
    >>> pea = replace(catalogue()["P"], frequency={"any": 0.5})
    >>> family = Pedigree(
    ...     pools=(Pool("any"),),
    ...     bases=((0.0,),),
    ...     birds=("A", "B", "C"),
    ...     sexes=(Sex.COCK, Sex.HEN, Sex.HEN),
    ...     sires=(((0, 1.0),), ((0, 1.0),), ((1, 1.0),)),
    ...     dams=(((0, 1.0),), ((0, 1.0),), ((2, 1.0),)),
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
    nodes = pedigree.node_of()
    birds = {nodes[bird] for one in evidence for bird in birds_of(one)}

    def possible(records: Sequence[Evidence]) -> bool:
        try:
            return consistent(reduced_network(pedigree, locus, recurrent, records, birds)[1])
        except ContradictionError:
            return False

    if possible(evidence) or not possible(()):
        return ()
    orders = (list(evidence), list(reversed(evidence)))
    found = [_irreducible(possible, order) for order in orders]
    smallest = min(found, key=len)
    return tuple(one for one in evidence if one in smallest)


def _irreducible(
    possible: Callable[[Sequence[Evidence]], bool], records: list[Evidence]
) -> list[Evidence]:
    """Return an irreducible impossible subset of ``records``, which are impossible together."""

    def search(kept: list[Evidence], suspects: list[Evidence], *, grown: bool) -> list[Evidence]:
        if grown and not possible(kept):
            return []
        if len(suspects) == 1:
            return suspects
        half = len(suspects) // 2
        early, late = suspects[:half], suspects[half:]
        from_late = search(kept + early, late, grown=bool(early))
        from_early = search(kept + from_late, early, grown=bool(from_late))
        return from_early + from_late

    return search([], records, grown=False)
