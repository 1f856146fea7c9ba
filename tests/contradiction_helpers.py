"""Books of small flocks with one mistake in them, and what could be true by going through it all.

Nothing of the package is used to judge what is possible: every genotype of every bird is tried.
"""

from __future__ import annotations

import itertools
import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.flock.pedigree import Pool
from matchmaker.genetics.clash.suppositions import ParentRight, RecordRight, SexRight
from matchmaker.genetics.genotypes.observed import Evidence, Sighting
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.records import Sex
from tests.descent_helpers import pedigree
from tests.locus_helpers import evidence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.clash.suppositions import Supposition
    from matchmaker.genetics.loci.locus import Locus

Key: TypeAlias = tuple[str, str]
"""A supposition in short: (record | sex | cock | hen | pool, band or breed)."""

ALLELES = {"donor": {1}, "recurrent": {0}}
OTHER = {"cock": "hen", "hen": "cock"}
SHOWN = {
    "P": ("pea", "single"),
    "lav": ("lavender", "black"),
    "S": ("silver", "gold"),
    "choc": ("chocolate", "black"),
}


@dataclass(frozen=True)
class Entry:
    """One bird as written; a parent is a band or the breed of a founder."""

    sex: str
    sire: str
    dam: str
    shows: bool | None = None


Books: TypeAlias = dict[str, Entry]


@dataclass(frozen=True)
class Planted:
    """Books with one mistake."""

    symbol: str
    books: Books
    mistake: Key
    """What is wrong; of exchanged bands the two bands, in order."""

    @property
    def locus(self) -> Locus:
        return catalogue()[self.symbol]

    @property
    def flock(self) -> Pedigree:
        return pedigree(
            *(f"{band} {one.sex} {one.sire} {one.dam}" for band, one in self.books.items())
        )

    @property
    def evidence(self) -> tuple[Evidence, ...]:
        words = SHOWN[self.symbol]
        seen = {
            band: words[0 if one.shows else 1]
            for band, one in self.books.items()
            if one.shows is not None
        }
        return evidence(self.flock, self.locus, seen)

    @property
    def hatched(self) -> tuple[frozenset[str], ...]:
        """The chicks of each season, which hatched together."""
        return tuple(frozenset(season) for season in seasons(self.books))


def seasons(books: Books) -> list[list[str]]:
    return [[band for band in books if band.startswith(f"C{season}")] for season in (0, 1)]


def childless(books: Books) -> list[str]:
    parents = {parent for one in books.values() for parent in (one.sire, one.dam)}
    return [band for band, one in books.items() if band not in parents and one.sire in books]


def shows(locus: Locus, sex: str, copies: int) -> bool:
    """Whether a bird with these copies shows the locus, by dominance alone."""
    needed = 2 if locus.dominance == "recessive" else 1
    return copies * (2 if locus.z_linked and sex == "hen" else 1) >= needed


def could_be(locus: Locus, books: Books, doubted: Iterable[Key] = ()) -> bool:
    """Whether some genotypes of all birds fit the books, what is doubted apart."""
    doubts = set(doubted)
    pools = {breed: {0, 1} if ("pool", breed) in doubts else ALLELES[breed] for breed in ALLELES}
    bands = list(books)

    def gametes(parent: str, known: Mapping[str, tuple[str, int]]) -> set[int]:
        if parent in pools:
            return pools[parent]
        sex, copies = known[parent]
        if locus.z_linked and sex == "hen":
            return {copies}
        return {0: {0}, 1: {0, 1}, 2: {1}}[copies]

    def states(band: str, known: Mapping[str, tuple[str, int]]) -> set[tuple[str, int]]:
        one = books[band]
        sire = {0, 1} if ("cock", band) in doubts else gametes(one.sire, known)
        dam = {0, 1} if ("hen", band) in doubts else gametes(one.dam, known)
        sexes = ["cock", "hen"] if ("sex", band) in doubts else [one.sex]
        return {
            (sex, first if locus.z_linked and sex == "hen" else first + second)
            for sex in sexes
            for first in sire
            for second in dam
        }

    def fits(band: str, state: tuple[str, int]) -> bool:
        told = None if ("record", band) in doubts else books[band].shows
        return told is None or told == shows(locus, *state)

    def search(at: int, known: dict[str, tuple[str, int]]) -> bool:
        if at == len(bands):
            return True
        band = bands[at]
        return any(
            search(at + 1, {**known, band: state})
            for state in states(band, known)
            if fits(band, state)
        )

    return search(0, {})


def suppositions(planted: Planted) -> list[Key]:
    """Everything that is written and may be wrong."""
    books = planted.books
    parents = {parent for one in books.values() for parent in (one.sire, one.dam)}
    found = [("record", band) for band, one in books.items() if one.shows is not None]
    if planted.locus.z_linked:
        found += [("sex", band) for band in books if band not in parents]
    bred = [band for band, one in books.items() if one.sire in books or one.dam in books]
    found += [(role, band) for band in bred for role in OTHER]
    return [*found, *(("pool", breed) for breed in ALLELES)]


def smallest_corrections(planted: Planted, largest: int) -> set[frozenset[Key]]:
    """Every smallest set of mistakes that explains the books, up to a size."""
    every = suppositions(planted)
    for size in range(1, largest + 1):
        found = {
            frozenset(doubted)
            for doubted in itertools.combinations(every, size)
            if could_be(planted.locus, planted.books, doubted)
        }
        if found:
            return found
    return set()


def exchanges(planted: Planted) -> set[tuple[str, str]]:
    """Every pair hatched together, of different parents, whose exchange explains the books."""
    found = set()
    for season in seasons(planted.books):
        for one, two in itertools.combinations(sorted(season), 2):
            fresh = with_exchanged(planted.books, one, two)
            if fresh != planted.books and could_be(planted.locus, fresh):
                found.add((one, two))
    return found


def with_exchanged(books: Books, one: str, two: str) -> Books:
    first, second = books[one], books[two]
    return {
        **books,
        one: replace(first, sire=second.sire, dam=second.dam),
        two: replace(second, sire=first.sire, dam=first.dam),
    }


def key_of(one: Supposition) -> Key:
    """A supposition of the package in short."""
    if isinstance(one, RecordRight):
        assert isinstance(one.record, Sighting)
        return ("record", one.record.bird)
    if isinstance(one, SexRight):
        return ("sex", one.bird)
    if isinstance(one, ParentRight):
        return (str(one.role), one.bird)
    assert isinstance(one.pool, Pool)
    return ("pool", one.pool.breed)


def keys_of(corrections: Sequence[tuple[Supposition, ...]]) -> set[frozenset[Key]]:
    return {frozenset(key_of(one) for one in each) for each in corrections}


def true_books(rng: random.Random, symbol: str, chicks: int, *, impure: bool = False) -> Books:
    """Two founders of each breed and sex's worth, two seasons of chicks, and what they show.

    With ``impure`` a founder of the recurrent breed has brought in the allele.
    """
    locus = catalogue()[symbol]
    books: Books = {}
    copies: dict[str, int] = {}
    for band, sex, breed in (
        ("A", "cock", "donor"),
        ("B", "hen", "donor"),
        ("M", "cock", "recurrent"),
        ("N", "hen", "recurrent"),
    ):
        books[band] = Entry(sex, breed, breed)
        alleles = 1 if locus.z_linked and sex == "hen" else 2
        copies[band] = alleles if breed == "donor" else int(impure)
    for season, count in enumerate((chicks // 2, chicks - chicks // 2)):
        adults = list(books)
        for at in range(count):
            band = f"C{season}{at}"
            books[band], copies[band] = _chick(rng, locus, books, copies, adults)
    return {
        band: replace(one, shows=shows(locus, one.sex, copies[band])) if rng.random() < 0.8 else one
        for band, one in books.items()
    }


def _chick(
    rng: random.Random, locus: Locus, books: Books, copies: dict[str, int], adults: list[str]
) -> tuple[Entry, int]:
    sire = rng.choice([band for band in adults if books[band].sex == "cock"])
    dam = rng.choice([band for band in adults if books[band].sex == "hen"])
    sex = rng.choice(list(OTHER))
    hemizygous = locus.z_linked
    from_sire = int(rng.random() < copies[sire] / 2)
    from_dam = int(rng.random() < copies[dam] / (1 if hemizygous else 2))
    return Entry(sex, sire, dam), from_sire + (0 if hemizygous and sex == "hen" else from_dam)


def planted_flocks(kind: str, symbol: str, seeds: range) -> Iterator[Planted]:
    """Books with one mistake of a kind that makes them impossible."""
    for seed in seeds:
        rng = random.Random(seed)  # noqa: S311
        planted = _plant(rng, kind, symbol)
        if planted is not None and not could_be(planted.locus, planted.books):
            yield planted


def _plant(rng: random.Random, kind: str, symbol: str) -> Planted | None:
    books = true_books(rng, symbol, 6, impure=kind == "pool")
    if kind == "pool":
        return Planted(symbol, books, ("pool", "recurrent"))
    chicks = [band for band, one in books.items() if one.sire in books]
    if kind == "exchange":
        one, two = sorted(rng.sample(rng.choice(seasons(books)), 2))
        return Planted(symbol, with_exchanged(books, one, two), (one, two))
    band = rng.choice(childless(books) if kind == "sex" else chicks)
    wrong = _mistaken(rng, kind, books, band)
    return None if wrong is None else Planted(symbol, {**books, band: wrong}, (kind, band))


def _mistaken(rng: random.Random, kind: str, books: Books, band: str) -> Entry | None:
    one = books[band]
    if kind == "record":
        return None if one.shows is None else replace(one, shows=not one.shows)
    if kind == "sex":
        return replace(one, sex=OTHER[one.sex])
    season = next(chicks for chicks in seasons(books) if band in chicks)
    older = list(books)[: list(books).index(season[0])]
    others = [other for other in older if books[other].sex == kind]
    wrong = rng.choice(others)
    return replace(one, sire=wrong) if kind == "cock" else replace(one, dam=wrong)


__all__ = [
    "Books",
    "Entry",
    "Planted",
    "Sex",
    "could_be",
    "exchanges",
    "key_of",
    "keys_of",
    "planted_flocks",
    "smallest_corrections",
    "suppositions",
    "true_books",
]
