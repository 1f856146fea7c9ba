"""One locus: how it is inherited, who shows it, what lies near it, what it does to its bearers."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Literal, TypeAlias

from matchmaker.genetics.loci.inheritance import Inheritance
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Mapping

Dominance: TypeAlias = Literal["dominant", "recessive", "incomplete"]
ShownBy: TypeAlias = Literal["both", "hen", "cock"]
Confidence: TypeAlias = Literal["high", "medium", "low"]
GeneStatus: TypeAlias = Literal["causal", "candidate", "mapped", "unknown"]
OneCopyTold: TypeAlias = Literal["yes", "sometimes", "no"]
"""Whether a bird with one copy can be told by eye from every other."""

Frequency: TypeAlias = "float | Mapping[str, float]"
"""Of the named allele, or of each allele by its symbol."""


class Look(StrEnum):
    """What a keeper can tell of a locus by eye."""

    HIDDEN = "hidden"
    ONE_COPY = "one copy"
    SHOWN = "shown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Allele:
    """One allele of a series, and the words for the look of a bird whose top allele it is."""

    symbol: str
    name: str = ""
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Linkage:
    """A locus near by; ``recombination`` is the share of gametes (0 to 0.5) that part the two.

    It is ``None`` where the two are known to be linked and no figure is.
    """

    symbol: str
    recombination: float | None
    source: str
    confidence: Confidence | Literal[""]


@dataclass(frozen=True, kw_only=True)
class Locus:
    """One locus; *copies* always counts the allele the symbol names, all others being alike.

    ``series`` holds every allele of a locus that has more than two, the most dominant first, with
    the named one (same symbol) among them; it is empty where there are only two. A bird looks
    like the most dominant of its alleles. ``shared_name`` is the name of a locus of which the
    catalogue has several named alleles, each a ``Locus`` of its own.

    ``lethal`` are the doses (see ``dose``) that no pair should produce, of dead or crippled chicks;
    ``dies`` are those among them that never live to be banded. ``donor_frequency`` is the frequency
    of the allele in founders of any breed but the recurrent one, unless ``frequency`` names the
    breed. ``linkages`` are what the catalogue knows of loci near by; ``linked_to`` and
    ``recombination`` are the settings' own word, which goes first. ``caution`` tells of harm to the
    birds, ``note`` of everything else worth knowing.
    """

    symbol: str
    name: str
    what: str = ""
    wild_type: str = "+"
    z_linked: bool = False
    dominance: Dominance = "dominant"
    shown_by: ShownBy = "both"
    shows_at_days: int = 0
    penetrance: float = 1.0
    error: float = 0.0
    lethal: tuple[int, ...] = ()
    dies: tuple[int, ...] = ()
    frequency: Mapping[str, Frequency] = field(default_factory=dict, hash=False)
    donor_frequency: float = 1.0
    linkages: tuple[Linkage, ...] = ()
    linked_to: str | None = None
    recombination: float | None = None
    shared_name: str = ""
    series: tuple[Allele, ...] = ()
    shown_words: tuple[str, ...] = ()
    one_copy_words: tuple[str, ...] = ()
    either_words: tuple[str, ...] = ()
    hidden_words: tuple[str, ...] = ()
    one_copy_told: OneCopyTold = "no"
    safe_copies_max: int = 2
    caution: str = ""
    note: str = ""
    chromosome: str = ""
    gene: str = ""
    gene_status: GeneStatus = "unknown"
    source: str = ""
    confidence: Confidence | Literal[""] = ""

    @cached_property
    def inheritance(self) -> Inheritance:
        """The part that decides how alleles pass from parents to living chicks."""
        return Inheritance(
            self.z_linked,
            self.dies,
            alleles=len(self.alleles),
            named=self.alleles.index(self.symbol),
        )

    @cached_property
    def alleles(self) -> tuple[str, ...]:
        """Symbols of all alleles: of a series in its order, else the other one, then the named."""
        if self.series:
            return tuple(allele.symbol for allele in self.series)
        return (self.wild_type, self.symbol)

    @property
    def copies_proposed(self) -> int:
        """Copies a keeper most likely wants: two breed true, unless harm or the name speak for one.

        Where the locus is called as birds of one copy look, those are what is wanted.

        Examples
        --------
        >>> blue = Locus(symbol="Bl", name="Blue plumage", one_copy_words=("blue",))
        >>> blue.copies_proposed, Locus(symbol="P", name="Pea comb").copies_proposed
        (1, 2)
        """
        named_after_one = set(self.one_copy_words) & set(self.name.casefold().split())
        return min(self.safe_copies_max, 1) if named_after_one else self.safe_copies_max

    def copy_numbers(self, sex: Sex) -> range:
        """Copy numbers a bird of this sex can have: 0 to 2, a hen at a Z-linked locus 0 or 1."""
        return range(2 if self.z_linked and sex is Sex.HEN else 3)

    def dose(self, copies: int, sex: Sex) -> int:
        """Copies as the body feels them: a hen's only allele on the Z has no partner to mask it.

        Examples
        --------
        >>> chocolate = Locus(symbol="choc", name="Chocolate", z_linked=True, dominance="recessive")
        >>> chocolate.dose(1, Sex.HEN), chocolate.dose(1, Sex.COCK)
        (2, 1)
        """
        return self.inheritance.dose(copies, sex)

    def can_show(self, sex: Sex) -> bool:
        """Whether a bird of this sex can show the locus at all."""
        return self.shown_by in {"both", str(sex)}

    def phenotype(self, copies: int, sex: Sex) -> Look:
        """What an adult looks like if the locus always shows; a sex that cannot show it hides it.

        Examples
        --------
        >>> blue_shell = Locus(symbol="O", name="Blue eggshell", shown_by="hen")
        >>> str(blue_shell.phenotype(1, Sex.HEN)), str(blue_shell.phenotype(2, Sex.COCK))
        ('shown', 'hidden')
        """
        if not self.can_show(sex):
            return Look.HIDDEN
        return self.look_of_dose(self.dose(copies, sex))

    def look_of_dose(self, dose: int) -> Look:
        """Look of 0, 1 or 2 effective copies by dominance alone, age and sex aside."""
        looks = {
            "dominant": (Look.HIDDEN, Look.SHOWN, Look.SHOWN),
            "recessive": (Look.HIDDEN, Look.HIDDEN, Look.SHOWN),
            "incomplete": (Look.HIDDEN, Look.ONE_COPY, Look.SHOWN),
        }
        return looks[self.dominance][dose]

    def is_lethal(self, copies: int, sex: Sex) -> bool:
        """Whether a chick with these copies is one that no pair should produce."""
        return self.dose(copies, sex) in self.lethal

    def lives(self, copies: int, sex: Sex) -> bool:
        """Whether a chick with these copies can live to be banded."""
        return self.dose(copies, sex) not in self.dies

    def founder_frequency(self, breed: str, recurrent: str) -> float:
        """Frequency of the allele in a founder's gamete, 0 to 1.

        What the settings say of the breed; else 0 in the recurrent breed and ``donor_frequency``
        (1: the donor is taken as pure) in every other. A founder of no known breed: one half.

        Examples
        --------
        >>> pea = Locus(symbol="P", name="Pea comb")
        >>> [pea.founder_frequency(breed, "sussex") for breed in ("sussex", "araucana", "")]
        [0.0, 1.0, 0.5]
        """
        stated = self._stated(breed)
        if stated is not None:
            return stated if isinstance(stated, float | int) else stated.get(self.symbol, 0.0)
        if not breed:
            return 0.5
        return 0.0 if breed.casefold() == recurrent.casefold() else self.donor_frequency

    def allele_frequencies(self, breed: str, recurrent: str) -> tuple[float, ...]:
        """Frequencies of all alleles in a founder's gamete, summing to one, as ``alleles`` go.

        In a series the share that is not the named allele's goes to the wild type (of the wild
        type itself: in equal parts to the others), unless the settings share it out.

        Examples
        --------
        >>> Locus(symbol="P", name="Pea comb").allele_frequencies("araucana", "sussex")
        (0.0, 1.0)
        """
        stated = self._stated(breed)
        if stated is not None and not isinstance(stated, float | int):
            return tuple(stated.get(symbol, 0.0) for symbol in self.alleles)
        named = self.founder_frequency(breed, recurrent)
        others = [symbol for symbol in self.alleles if symbol != self.symbol]
        sharing = [self.wild_type] if self.wild_type in others else others
        shares = {self.symbol: named, **dict.fromkeys(sharing, (1.0 - named) / len(sharing))}
        return tuple(shares.get(symbol, 0.0) for symbol in self.alleles)

    def _stated(self, breed: str) -> Frequency | None:
        stated = {name.casefold(): frequency for name, frequency in self.frequency.items()}
        return stated.get(breed.casefold())


def recombination_between(one: Locus, two: Locus) -> float | None:
    """Share of gametes that part two loci: the settings' word, else the catalogue's.

    ``None``: nothing is known to link them, or no figure is known.

    Examples
    --------
    >>> near = Linkage(symbol="K", recombination=0.024, source="Bitgood 1999", confidence="high")
    >>> silver = Locus(symbol="S", name="Silver", z_linked=True, linkages=(near,))
    >>> slow = Locus(symbol="K", name="Slow feathering", z_linked=True)
    >>> recombination_between(slow, silver), recombination_between(slow, slow)
    (0.024, None)
    """
    ways = ((one, two), (two, one))
    for first, second in ways:
        if first.linked_to == second.symbol and first.recombination is not None:
            return first.recombination
    for first, second in ways:
        for linkage in first.linkages:
            if linkage.symbol == second.symbol:
                return linkage.recombination
    return None


def linkages_of(locus: Locus, loci: Mapping[str, Locus]) -> tuple[Linkage, ...]:
    """Return what links a locus to others of ``loci``, the settings' word in place of others.

    Examples
    --------
    >>> pea = Locus(symbol="P", name="Pea comb", linked_to="O", recombination=0.03)
    >>> blue = Locus(symbol="O", name="Blue eggshell")
    >>> [(link.symbol, link.recombination) for link in linkages_of(blue, {"O": blue, "P": pea})]
    [('P', 0.03)]
    """
    found = {link.symbol: link for link in locus.linkages if link.symbol in loci}
    for other in loci.values():
        for here, there in ((locus, other), (other, locus)):
            if here.linked_to == there.symbol and here.recombination is not None:
                found[other.symbol] = Linkage(
                    symbol=other.symbol,
                    recombination=recombination_between(locus, other),
                    source="your settings",
                    confidence="",
                )
    return tuple(found.values())


def cautions(loci: Mapping[str, Locus]) -> dict[str, str]:
    """Return the harm that loci can do to their bearers, by symbol, only those that can.

    Examples
    --------
    >>> crest = Locus(symbol="Cr", name="Crest", caution="Birds may not see")
    >>> cautions({"Cr": crest, "P": Locus(symbol="P", name="Pea comb")})
    {'Cr': 'Birds may not see'}
    """
    return {symbol: locus.caution for symbol, locus in loci.items() if locus.caution}
