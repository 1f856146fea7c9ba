"""The keeper's book: birds, their bands and parents, and how a chick comes by its genes."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import datetime as dt

    from _generator.traits import Trait

COCK, HEN = "cock", "hen"


def dice_of(seed: int) -> random.Random:
    """Return the chance of one part of a story; each part has its own, so they can be tuned."""
    return random.Random(seed)  # noqa: S311 - an invented flock, no secret


@dataclass(slots=True, eq=False)
class Bird:
    """A bird as it really is; what the keeper knows of it is decided when the tables are written.

    ``genes`` holds one haplotype per chromosome (a hen has one Z), each a string of ``0`` and
    ``1`` with a place per locus; ``1`` is the donor's allele.
    """

    band: str
    sex: str
    hatched: dt.date
    line: str
    genes: tuple[str, ...]
    sire: Bird | None = None
    dam: Bird | None = None
    breed: str = ""
    source: str = ""
    recurrent_share: float = 1.0
    crossed_share: float = 0.0
    breeding_values: dict[str, float] = field(default_factory=dict)
    status: str = "breeder"
    left_on: dt.date | None = None
    release_on: dt.date | None = None
    defects: str = ""
    note: str = ""
    last_bred: int = 0
    date_cell: str | None = None
    sex_cell: str | None = None
    sire_cell: str | None = None
    dam_cell: str | None = None
    lay_per_week: str = ""
    fertility: str = ""
    hens_max: str = ""

    @property
    def alive(self) -> bool:
        """Whether the bird is still on the farm."""
        return self.status not in {"dead", "sold", "culled"}

    def copies(self, place: int) -> int:
        """Copies of the donor's allele at the locus in that place of the haplotype."""
        return sum(haplotype[place] == "1" for haplotype in self.genes)


Test: TypeAlias = Callable[[Bird], bool]


def anything(_bird: Bird) -> bool:
    """Accept every bird."""
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Inheritance:
    """How haplotypes are passed on, and what chicks show of them.

    On the Z or not; with the recombination between neighbours; a recessive shows only where no
    chromosome lacks it.
    """

    z_linked: bool = False
    recombination: float = 0.0
    recessive: bool = False

    def shows(self, genes: tuple[str, ...], place: int) -> bool:
        """Whether a bird of these haplotypes shows the donor's allele at that place."""
        donor = [haplotype[place] == "1" for haplotype in genes]
        return all(donor) if self.recessive else any(donor)

    def chick_genes(self, sire: Bird, dam: Bird, sex: str, dice: random.Random) -> tuple[str, ...]:
        """Draw the haplotypes of one chick: the sire's first, then the dam's."""
        from_sire = self._gamete(sire, dice)
        if self.z_linked and sex == HEN:
            return (from_sire,)
        return (from_sire, self._gamete(dam, dice))

    def _gamete(self, parent: Bird, dice: random.Random) -> str:
        if len(parent.genes) == 1:
            return parent.genes[0]
        strand = int(dice.random() < 0.5)
        alleles = [parent.genes[strand][0]]
        for place in range(1, len(parent.genes[0])):
            if dice.random() < self.recombination:
                strand = 1 - strand
            alleles.append(parent.genes[strand][place])
        return "".join(alleles)


@dataclass(slots=True, kw_only=True)
class Book:
    """All birds of one farm in the order in which they were banded."""

    dice: random.Random
    recurrent: str
    inheritance: Inheritance
    traits: tuple[Trait, ...]
    letters: dict[str, str]
    birds: list[Bird] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)

    def founder(self, sex: str, hatched: dt.date, line: str, *, breed: str, source: str) -> Bird:
        """Enter a bought-in bird without pedigree; a donor carries its alleles twice over."""
        places = 2 if self.inheritance.recombination else 1
        allele = "0" if breed == self.recurrent else "1"
        strands = 1 if self.inheritance.z_linked and sex == HEN else 2
        band = self._band(self.letters.get(breed, self.letters[line]), hatched)
        bird = Bird(band, sex, hatched, line, (allele * places,) * strands)
        bird.breed, bird.source = breed, source
        bird.recurrent_share = float(breed == self.recurrent)
        bird.breeding_values = {t.name: t.founder_value(self.dice) for t in self.traits}
        self.birds.append(bird)
        return bird

    def chick(self, sire: Bird, dam: Bird, hatched: dt.date, line: str) -> Bird:
        """Hatch and band one chick of a cock and a hen."""
        sex = COCK if self.dice.random() < 0.5 else HEN
        genes = self.inheritance.chick_genes(sire, dam, sex, self.dice)
        band = self._band(self.letters[line], hatched)
        bird = Bird(band, sex, hatched, line, genes, sire, dam)
        bird.recurrent_share = (sire.recurrent_share + dam.recurrent_share) / 2
        bird.crossed_share = crossed_share(sire, dam)
        bird.breeding_values = {
            t.name: t.chick_value(
                sire.breeding_values[t.name], dam.breeding_values[t.name], self.dice
            )
            for t in self.traits
        }
        sire.last_bred = dam.last_bred = hatched.year
        self.birds.append(bird)
        return bird

    def unbanded(self, sire: Bird, dam: Bird, count: int, place: int) -> int:
        """Of that many chicks sold unbanded, how many show the donor's allele."""
        shown = 0
        for _ in range(count):
            sex = COCK if self.dice.random() < 0.5 else HEN
            genes = self.inheritance.chick_genes(sire, dam, sex, self.dice)
            shown += self.inheritance.shows(genes, place)
        return shown

    def of(self, line: str, year: int, sex: str, test: Test = anything) -> list[Bird]:
        """Birds of a line hatched in a year, of one sex, that pass a test, in band order."""
        return [
            bird
            for bird in self.birds
            if (bird.line, bird.hatched.year, bird.sex) == (line, year, sex) and test(bird)
        ]

    def _band(self, letter: str, hatched: dt.date) -> str:
        stem = f"{letter}{hatched:%y}"
        self.numbers[stem] = self.numbers.get(stem, 0) + 1
        return f"{stem}-{self.numbers[stem]:03d}"


def crossed_share(sire: Bird, dam: Bird) -> float:
    """Share of loci at which a chick has one allele of each breed (what vigour goes with)."""
    return sire.recurrent_share * (1 - dam.recurrent_share) + dam.recurrent_share * (
        1 - sire.recurrent_share
    )


def bands(birds: Iterable[Bird]) -> str:
    """Several possible parents as one cell."""
    return "|".join(bird.band for bird in birds)
