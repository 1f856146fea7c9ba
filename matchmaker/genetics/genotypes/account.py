"""What each piece of evidence moved a bird's probability by, in the order a keeper follows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.genotypes.network import narrowest
from matchmaker.genetics.genotypes.observed import ChickCount, birds_of
from matchmaker.genetics.genotypes.posterior import copies_view
from matchmaker.genetics.genotypes.relatives import Kin, Relatives
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.exact import marginals
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import numpy as np
    from numpy.typing import NDArray

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.genotypes.observed import Evidence

Chances: TypeAlias = tuple[float, float, float]
"""P(0, 1, 2 copies)."""

STEPS_MAX = 12
"""Most groups of records added one by one; all further ones are added together."""

QUIET = 0.0005
"""A step that moves no number of copies by as much is not worth a line."""

SETTLED = 1e-12
"""Differences below this are the rounding of sums."""


_ORDER = {kin: place for place, kin in enumerate(Kin)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One piece of evidence and the locus it speaks of."""

    symbol: str
    evidence: Evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Records added together, and the probabilities of 0, 1 and 2 copies before and after."""

    kin: Kin
    records: tuple[Record, ...]
    before: Chances
    after: Chances

    @property
    def telling(self) -> bool:
        """Whether the step moved any probability by enough to be worth a line."""
        moved = max(abs(new - old) for old, new in zip(self.before, self.after, strict=True))
        return moved >= QUIET


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """How the probabilities of one bird at one locus came about.

    ``start`` rests on the founders' frequencies and the pedigree alone; each step starts where
    the one before it ended, and the last ends at the probabilities given all evidence. Where the
    parentage is too tangled to weigh records one by one (not ``weighed``), ``start`` is the end.
    """

    bird: str
    symbol: str
    start: Chances
    steps: tuple[Step, ...]
    weighed: bool = True

    @property
    def end(self) -> Chances:
        """P(0, 1, 2 copies) given everything."""
        return self.steps[-1].after if self.steps else self.start

    @property
    def telling(self) -> tuple[Step, ...]:
        """The steps worth a line, in order."""
        return tuple(step for step in self.steps if step.telling)

    @property
    def quiet_records(self) -> int:
        """How many records changed nothing to speak of."""
        return sum(len(step.records) for step in self.steps if not step.telling)


Belief: TypeAlias = Callable[[Sequence[Record]], Chances]
"""P(0, 1, 2 copies) of the bird given some of the records."""


def account(genotypes: Genotypes, bird: str) -> Account:
    """Return how each record moved the probabilities of one bird, from the nearest kin outwards.

    Where two linked loci were worked out together, what was seen at the other counts too. The
    bird's own records come first, then its parents' and further ancestors', its chicks', its
    mates', its sibs', its further descendants', and all others together. Records of its own and
    of its parents are added one at a time; of the others, those that say the same are added
    together. After ``STEPS_MAX`` such groups the rest makes one step.

    Raises
    ------
    KeyError
        If the bird is not in the pedigree.

    Notes
    -----
    Each step is exact for the records taken so far; what one record is worth depends on those
    before it, so another order would share out the same total otherwise. A step that would be too
    tangled to work out is joined with the next.

    Examples
    --------
    The chick of a carrier, who shows that she carries:

    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.evidence import read_evidence
    >>> from matchmaker.genetics.genotypes.genotype import genotype_probabilities
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> from matchmaker.tables.records import BirdRecord, Sex
    >>> comb = catalogue()["P"]
    >>> cross = pedigree_of(
    ...     "A cock sussex sussex",
    ...     "B hen araucana sussex",
    ...     "C hen A B",
    ... )
    >>> record = BirdRecord(row=4, bird="C", sex=Sex.HEN, seen={"P": "pea"})
    >>> told = read_evidence([record], [], comb).evidence
    >>> found = account(genotype_probabilities(cross, comb, told, "sussex"), "C")
    >>> found.start, [(str(step.kin), step.after) for step in found.steps]
    ((0.5, 0.5, 0.0), [('own', (0.0, 1.0, 0.0))])
    """
    problem = genotypes.problem
    records = [
        Record(symbol=locus.symbol, evidence=one)
        for locus, told in zip(problem.loci, problem.evidence, strict=True)
        for one in told
    ]
    return account_of(
        bird,
        genotypes.locus.symbol,
        groups(problem.pedigree, bird, records),
        _belief(genotypes, bird),
        _chances(genotypes.of(bird)),
    )


def account_of(
    bird: str,
    symbol: str,
    groups: Sequence[tuple[Kin, tuple[Record, ...]]],
    belief: Belief,
    end: Chances,
) -> Account:
    """Return the account that adds the groups in turn; ``end`` is what all of them come to.

    Examples
    --------
    A test that settles everything, after a sighting that says nothing:

    >>> from matchmaker.genetics.genotypes.observed import Place, Sighting
    >>> place = Place(file="seen.csv", row=2, column="what", words="1 copy")
    >>> seen = Sighting(bird="A", weights=((0.0, 1.0, 0.0), (0.0, 1.0, 0.0)), place=place)
    >>> record = (Record(symbol="P", evidence=seen),)
    >>> steps = [(Kin.PARENT, record), (Kin.OWN, record)]
    >>> half = (0.5, 0.5, 0.0)
    >>> found = account_of("A", "P", steps, lambda records: half, (0.0, 1.0, 0.0))
    >>> [str(step.kin) for step in found.telling], found.quiet_records
    (['own'], 1)
    """
    start = _tried(belief, ()) if groups else end
    if start is None:
        return Account(bird=bird, symbol=symbol, start=end, steps=(), weighed=False)
    steps: list[Step] = []
    at, waiting = start, list[tuple[Kin, tuple[Record, ...]]]()
    taken: list[Record] = []
    for number, group in enumerate(groups, 1):
        waiting.append(group)
        taken += group[1]
        found = end if number == len(groups) else _tried(belief, taken)
        if found is not None:
            steps.append(_step(waiting, at, found))
            at, waiting = found, []
    return Account(bird=bird, symbol=symbol, start=start, steps=tuple(_merged(steps)))


def _tried(belief: Belief, taken: Sequence[Record]) -> Chances | None:
    try:
        return belief(taken)
    except TooTangledError:
        return None


def _step(
    waiting: Sequence[tuple[Kin, tuple[Record, ...]]], before: Chances, after: Chances
) -> Step:
    kins = {kin for kin, _ in waiting}
    return Step(
        kin=kins.pop() if len(kins) == 1 else Kin.OTHER,
        records=tuple(record for _, records in waiting for record in records),
        before=before,
        after=after,
    )


def _merged(steps: Iterable[Step]) -> Iterator[Step]:
    """Join neighbouring steps that change nothing to speak of, unless together they do."""
    quiet: Step | None = None
    for step in steps:
        joined = _joined(quiet, step)
        if not step.telling and not joined.telling:
            quiet = joined
            continue
        if quiet is not None:
            yield quiet
        quiet = None if step.telling else step
        if step.telling:
            yield step
    if quiet is not None:
        yield quiet


def _joined(quiet: Step | None, step: Step) -> Step:
    if quiet is None:
        return step
    return Step(
        kin=step.kin if step.kin is quiet.kin else Kin.OTHER,
        records=quiet.records + step.records,
        before=quiet.before,
        after=step.after,
    )


def _belief(genotypes: Genotypes, bird: str) -> Belief:
    problem, node = genotypes.problem, genotypes.pedigree.node_of()[bird]
    view = copies_view(problem.stretch, genotypes.place)

    def belief(records: Sequence[Record]) -> Chances:
        told = tuple(
            tuple(record.evidence for record in records if record.symbol == locus.symbol)
            for locus in problem.loci
        )
        builder, net = narrowest(replace(problem, evidence=told), [node])
        own = marginals(net)[builder.variable_of[node]][0]
        is_hen = builder.states(node)[0][0] is Sex.HEN
        return _chances(own @ (view[-len(own) :] if is_hen else view[: len(own)]))

    return belief


def _chances(row: NDArray[np.float64]) -> Chances:
    none, one, two = (0.0 if abs(p) < SETTLED else float(p) for p in row)
    return (none, one, two)


def groups(
    pedigree: Pedigree, bird: str, records: Sequence[Record]
) -> list[tuple[Kin, tuple[Record, ...]]]:
    """Return the records in the order of an account, those that are added together as one group.

    Examples
    --------
    >>> from matchmaker.flock.pedigree import pedigree_of
    >>> from matchmaker.genetics.genotypes.observed import Place, Sighting
    >>> pure = pedigree_of("A ? sussex sussex", "B ? A sussex")
    >>> place = Place(file="seen.csv", row=2, column="what", words="single")
    >>> seen = Sighting(bird="A", weights=((1.0, 0.0, 0.0), (1.0, 0.0, 0.0)), place=place)
    >>> [str(kin) for kin, _ in groups(pure, "B", [Record(symbol="P", evidence=seen)])]
    ['parent']
    """
    kin_of = Relatives.of(pedigree, bird, (one.evidence for one in records)).kin_of
    gathered: dict[tuple[object, ...], list[Record]] = {}
    kins: dict[tuple[object, ...], Kin] = {}
    for record in sorted(records, key=lambda one: _reading_order(one, kin_of(one.evidence))):
        kin = kin_of(record.evidence)
        key = _together(record, kin)
        gathered.setdefault(key, []).append(record)
        kins[key] = kin
    found = [(kins[key], tuple(group)) for key, group in gathered.items()]
    if len(found) <= STEPS_MAX:
        return found
    rest = tuple(record for _, group in found[STEPS_MAX - 1 :] for record in group)
    left = {kin for kin, _ in found[STEPS_MAX - 1 :]}
    return [*found[: STEPS_MAX - 1], (left.pop() if len(left) == 1 else Kin.OTHER, rest)]


def _reading_order(record: Record, kin: Kin) -> tuple[object, ...]:
    place = record.evidence.place
    return (_ORDER[kin], birds_of(record.evidence), place.file, place.row, record.symbol)


def _together(record: Record, kin: Kin) -> tuple[object, ...]:
    """What records must have in common to be added as one."""
    evidence = record.evidence
    if kin is Kin.OTHER:
        return (kin,)
    if kin in {Kin.OWN, Kin.PARENT} or isinstance(evidence, ChickCount):
        place = evidence.place
        return (kin, record.symbol, place.file, place.row, place.column)
    return (kin, record.symbol, evidence.place.words.casefold(), evidence.weights)
