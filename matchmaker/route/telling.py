"""How chicks are told apart: by looks, by a DNA test, by test matings, or not at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.genotypes.progeny import Question, progeny_tests
from matchmaker.genetics.genotypes.words import weights
from matchmaker.route.task import CAUSAL, Telling
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.genetics.genotypes.progeny import ProgenyTest
    from matchmaker.genetics.loci.locus import Locus, Look
    from matchmaker.route.genome import Mix
    from matchmaker.route.task import Task

Label: TypeAlias = "Look | int | None"
"""What is told of one locus: a look, a number of copies, or nothing."""

Reader: TypeAlias = tuple[tuple[Label, tuple[Fraction, ...]], ...]
"""The labels of one locus, each with its chance by copies."""

GRAIN = 10**6
"""Penetrance and error are taken to a millionth, so that 1 − 0.8 is one fifth."""

NOTHING: Reader = ((None, (Fraction(1),) * 3),)
COPIES: Reader = tuple(
    (copies, tuple(Fraction(int(copies == one)) for one in range(3))) for copies in range(3)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Chicks of one sex that are told alike: what is told of each locus, how many, what they are.

    ``chance`` is among the chicks of that sex; ``days`` the age at which all of it is told.
    ``delay`` are seasons the birds have to wait for that beyond the usual one; ``test`` the test
    matings behind it, ``tested`` the part of the chicks of that sex that has to be tested (by
    DNA or by chicks).
    """

    telling: Telling
    labels: tuple[Label, ...]
    chance: Fraction
    mix: Mix
    days: int
    delay: int = 0
    tested: Fraction = Fraction(0)
    test: ProgenyTest | None = None
    locus: int | None = None

    @property
    def later(self) -> bool:
        """Whether the birds are bred from before the answer is there."""
        return self.telling is Telling.PROOF_MEANWHILE

    @property
    def test_chicks(self) -> int:
        """Chicks to hatch to test one bird with 95 %; sons and daughters where one sex tells."""
        if self.test is None:
            return 0
        return _to_hatch(self.test)


@cache
def look_reader(locus: Locus, sex: Sex) -> Reader:
    """The looks of a locus in one sex with their chances by copies; nothing where it is hidden.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> look_reader(catalogue()["O"], Sex.COCK) == NOTHING
    True
    >>> [str(label) for label, _ in look_reader(catalogue()["O"], Sex.HEN)]
    ['hidden', 'shown']
    """
    if not locus.can_show(sex):
        return NOTHING
    numbers = locus.copy_numbers(sex)
    looks = dict.fromkeys(locus.phenotype(copies, sex) for copies in numbers)
    found = []
    for look in looks:
        rows = weights(locus, frozenset({look}))[0 if sex is Sex.COCK else 1]
        genotypes = locus.inheritance.genotypes(sex)
        by_copies = [Fraction(0)] * 3
        for genotype, chance in zip(genotypes, rows, strict=True):
            share = Fraction(chance).limit_denominator(GRAIN)
            by_copies[locus.inheritance.copies(genotype)] = share
        found.append((look, tuple(by_copies)))
    return tuple(found)


def by_dna(locus: Locus) -> bool:
    """Whether a DNA test can be made: the mutation is published.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> by_dna(catalogue()["O"]), by_dna(catalogue()["Bl"])
    (True, False)
    """
    return locus.gene_status == CAUSAL


def cells_of(task: Task, mix: Mix, sex: Sex) -> list[Cell]:
    """Every way to sort chicks of one sex, and every class that comes out of it.

    Ways that tell no more than a simpler one are left out; what can be seen in time costs nothing
    and is always looked at.
    """
    loci = task.genome.loci
    blank = [NOTHING] * len(loci)
    looks = [look_reader(locus, sex) for locus in loci]
    early = [
        look if locus.shows_at_days <= task.age else NOTHING
        for look, locus in zip(looks, loci, strict=True)
    ]
    found = _sorted(task, mix, blank, Telling.ANY, 0)
    told = _sorted(task, mix, early, Telling.SIGHT, 0)
    seen = found = told if len(told) > 1 else found
    found = list(found)
    late = _sorted(task, mix, looks, Telling.LATE_SIGHT, 1)
    found += late if len(late) > len(seen) else []
    dna = [COPIES if by_dna(one) else look for one, look in zip(loci, early, strict=True)]
    tested = _sorted(task, mix, dna, Telling.DNA, 0)
    if len(tested) > len(seen):
        found += [_with_tested(task, cell, seen, early) for cell in tested]
    for cell in seen:
        found += _proved(task, cell, sex)
    return found


def _sorted(
    task: Task, mix: Mix, readers: Sequence[Reader], telling: Telling, delay: int
) -> list[Cell]:
    """The classes that these readers sort a mix into."""
    classes: dict[tuple[Label, ...], list[tuple[object, Fraction]]] = {}
    for state, chance in mix:
        copies = task.genome.copies(state)
        labelled: list[tuple[tuple[Label, ...], Fraction]] = [((), chance)]
        for reader, number in zip(readers, copies, strict=True):
            labelled = [
                ((*labels, label), weight * shares[number])
                for labels, weight in labelled
                for label, shares in reader
                if shares[number]
            ]
        for labels, weight in labelled:
            classes.setdefault(labels, []).append((state, weight))
    days = _age_told(task, readers, list(classes))
    found = []
    for labels, members in classes.items():
        total = sum((weight for _, weight in members), Fraction(0))
        inside = tuple((state, weight / total) for state, weight in members)
        found.append(
            Cell(
                telling=telling,
                labels=labels,
                chance=total,
                mix=inside,  # type: ignore[arg-type]
                days=days,
                delay=delay,
            )
        )
    return found


def _age_told(task: Task, readers: Sequence[Reader], labels: list[tuple[Label, ...]]) -> int:
    """Age at which the last of the looks that tell chicks apart shows, in days."""
    days = 0
    for at, reader in enumerate(readers):
        if reader not in (NOTHING, COPIES) and len({one[at] for one in labels}) > 1:
            days = max(days, task.genome.loci[at].shows_at_days)
    return days


def _with_tested(task: Task, cell: Cell, seen: Sequence[Cell], early: Sequence[Reader]) -> Cell:
    """A class told by DNA, with the part of the chicks that looks do not rule out before."""
    copies = {task.genome.copies(state) for state, _ in cell.mix}
    tested = sum(
        (
            one.chance
            for one in seen
            if one.telling is Telling.ANY
            or any(_may_look(numbers, one.labels, early) for numbers in copies)
        ),
        Fraction(0),
    )
    return replace(cell, tested=tested)


def _may_look(
    copies: tuple[int, ...], labels: tuple[Label, ...], readers: Sequence[Reader]
) -> bool:
    return all(
        dict(reader)[label][number] > 0
        for number, label, reader in zip(copies, labels, readers, strict=True)
    )


def _proved(task: Task, cell: Cell, sex: Sex) -> Iterator[Cell]:
    """What test matings can make of birds that look alike but differ at one locus."""
    copies = [task.genome.copies(state) for state, _ in cell.mix]
    open_loci = [at for at in range(len(task.wanted)) if len({one[at] for one in copies}) > 1]
    if len(open_loci) != 1:
        return
    at = open_loci[0]
    prior = [Fraction(0)] * 3
    for (_, chance), numbers in zip(cell.mix, copies, strict=True):
        prior[numbers[at]] += chance
    for kept in range(3):
        if not prior[kept]:
            continue
        test = best_test(task, at, sex, tuple(prior), kept)
        if test is None:
            continue
        labels = tuple(kept if one == at else label for one, label in enumerate(cell.labels))
        inside = tuple(
            (state, chance / prior[kept])
            for (state, chance), numbers in zip(cell.mix, copies, strict=True)
            if numbers[at] == kept
        )
        slow = 2 if test.days > task.age else 1
        ways = [(Telling.PROOF, slow)]
        if sex is Sex.COCK and slow == 1:
            ways.append((Telling.PROOF_MEANWHILE, 0))
        for telling, delay in ways:
            yield Cell(
                telling=telling,
                labels=labels,
                chance=cell.chance * prior[kept],
                mix=inside,
                days=test.days,
                delay=delay,
                tested=cell.chance,
                test=test,
                locus=at,
            )


def best_test(
    task: Task, at: int, sex: Sex, prior: tuple[Fraction, ...], kept: int
) -> ProgenyTest | None:
    """The test mating with the fewest chicks that tells birds with ``kept`` copies; None: none.

    Mates are those that are at hand: of the recurrent breed, and of the donor where it was pure.
    """
    locus = task.genome.loci[at]
    question = _question(locus, sex, prior, kept)
    if question is None:
        return None
    mates = task.testers.get((sex.other, at), frozenset())
    numbers = tuple(map(float, prior))[: len(locus.copy_numbers(sex))]
    possible = tuple(chance > 0 for chance in numbers)
    tests = [replace(test, prior=numbers) for test in _tests(locus, sex, question, possible, mates)]
    counted = [(_to_hatch(test), at) for at, test in enumerate(tests)]
    least = min((one for one in counted if one[0]), default=None)
    return None if least is None else tests[least[1]]


def _to_hatch(test: ProgenyTest) -> int:
    """Chicks to hatch for one bird at 95 %: where one sex is judged, twice as many."""
    return (test.chicks(0.95) or 0) * (1 if test.judged is None else 2)


@cache
def _tests(
    locus: Locus,
    sex: Sex,
    question: Question,
    possible: tuple[bool, ...],
    mates: frozenset[int],
) -> tuple[ProgenyTest, ...]:
    """The test matings that work with these mates, for birds that may have these copies."""
    even = tuple(float(one) / sum(possible) for one in possible)
    return tuple(
        test
        for test in progeny_tests(even, locus, sex, question)
        if test.obstacle is None and test.mate_copies in mates
    )


def _question(locus: Locus, sex: Sex, prior: tuple[Fraction, ...], kept: int) -> Question | None:
    """What has to be asked: it is known if it is proved, or its rival refuted."""
    most = locus.copy_numbers(sex)[-1]
    possible = {copies for copies, chance in enumerate(prior) if chance}
    if kept == most:
        return Question.BREEDS_TRUE
    if kept == 0:
        return Question.FREE
    if possible == {0, kept}:
        return Question.FREE
    return Question.BREEDS_TRUE if possible == {kept, most} else None
