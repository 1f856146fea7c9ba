"""What is asked of a route: the wanted genotype, how far to backcross, with what to begin."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING, Final

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.route.genome import Genome, Mix, State

BACKCROSSES: Final = 4
"""Three to five backcrosses are common practice: three for plain use, more for a show type."""

BIRDS: Final = 4
"""Birds of each class that go on, unless the lines say otherwise: one for each family."""

CAUSAL: Final = "causal"


class Telling(StrEnum):
    """How the chicks to keep are told from the others."""

    ANY = "any"
    SIGHT = "sight"
    LATE_SIGHT = "late sight"
    DNA = "dna"
    PROOF = "proof"
    PROOF_MEANWHILE = "proof meanwhile"


PROOFS: Final = frozenset({Telling.PROOF, Telling.PROOF_MEANWHILE})
BY_LOOKS: Final = frozenset({Telling.ANY, Telling.SIGHT, Telling.LATE_SIGHT})
EVERY_WAY: Final = frozenset(Telling)


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """What a route may do: ways of telling, only sure carriers kept, one sex to carry.

    ``sure``: every bird that is kept carries for certain. ``carriers``: in each mating with the
    recurrent breed the carrier is of this sex, but for the first cross with the donor. ``first``:
    what the first season's crosses have to be, "backcross" (with the recurrent breed) or
    "intercross" (without it).
    """

    tellings: frozenset[Telling] = EVERY_WAY
    sure: bool = False
    carriers: Sex | None = None
    first: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A class of birds at hand before the first season.

    ``share`` is the recurrent breed's, 0 to 1; ``name`` whose they are ("donor", "recurrent", or
    a line). ``meioses`` that could have cut the donor's piece so far, by locus; none if empty.
    """

    name: str
    sex: Sex
    mix: Mix
    share: Fraction
    meioses: tuple[Fraction, ...] = ()


@dataclass(frozen=True)
class Task:
    """A target and what there is to reach it with.

    ``wanted`` are copies per locus of ``genome`` (0, 1 or 2). ``share`` is the recurrent share
    that birds of both sexes must reach. ``birds`` of each class go on. ``age`` are the days that
    the last chicks of a season have before the next one begins. ``reared`` is the chance that an
    egg set becomes a chick reared.
    """

    genome: Genome
    wanted: tuple[int, ...]
    share: Fraction
    sources: tuple[Source, ...]
    birds: int = BIRDS
    level: float = 0.95
    age: int = 261
    reared: float = 0.612
    testers: Mapping[tuple[Sex, int], frozenset[int]] = field(default_factory=dict)

    @cached_property
    def carried(self) -> tuple[int, ...]:
        """Numbers of the loci whose allele is to be brought in."""
        return tuple(at for at, copies in enumerate(self.wanted) if copies)

    @cached_property
    def must_carry(self) -> tuple[int, ...]:
        """Those of ``carried`` that every class bred from has: all but those lethal in two copies.

        Where such a locus is not the only one wanted, the last cross needs mates free of it.
        """
        safe = tuple(at for at in self.carried if 2 not in self.genome.loci[at].lethal)
        return safe or self.carried

    @cached_property
    def donor_most(self) -> Fraction:
        """Donor's share that a finished bird may still have."""
        return 1 - self.share

    def goal(self, sex: Sex) -> tuple[int, ...]:
        """Copies wanted in birds of one sex; a hen has one at most on her Z."""
        return tuple(
            min(copies, 1) if locus.z_linked and sex is Sex.HEN else copies
            for locus, copies in zip(self.genome.loci, self.wanted, strict=True)
        )

    def carries(self, state: State) -> bool:
        """Whether a bird has a copy of everything that birds bred from must carry."""
        copies = self.genome.copies(state)
        return all(copies[locus] for locus in self.must_carry)

    def carrying(self, mix: Mix) -> Fraction:
        """Part of a class that carries everything that birds bred from must carry."""
        return sum((p for state, p in mix if self.carries(state)), Fraction(0))

    def reached(self, mix: Mix, sex: Sex) -> bool:
        """Whether every bird of the class has the wanted genotype."""
        goal = self.goal(sex)
        return all(self.genome.copies(state) == goal for state, _ in mix)

    def harmful(self, mix: Mix, sex: Sex) -> bool:
        """Whether such chicks can have a lethal or crippling genotype."""
        return any(
            locus.is_lethal(copies, sex)
            for state, _ in mix
            for locus, copies in zip(self.genome.loci, self.genome.copies(state), strict=True)
        )


def share_after(backcrosses: int) -> Fraction:
    """Expected recurrent share after so many backcrosses of a first cross.

    Examples
    --------
    >>> [str(share_after(times)) for times in (0, 1, 4)]
    ['1/2', '3/4', '31/32']
    """
    return 1 - Fraction(1, 2 ** (backcrosses + 1))


def backcrosses_of(share: Fraction | float) -> int:
    """How many backcrosses a recurrent share stands for, rounded down; −1 for a donor's.

    Examples
    --------
    >>> backcrosses_of(Fraction(1, 2)), backcrosses_of(Fraction(7, 8)), backcrosses_of(Fraction(0))
    (0, 2, -1)
    """
    donor, times = Fraction(1 - share), -1
    while donor and donor <= Fraction(1, 2 ** (times + 2)):
        times += 1
    return times
