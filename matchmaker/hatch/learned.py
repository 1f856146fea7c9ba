"""What a hatch teaches of the birds that live: their chances before and after it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.observed import ChickCount
from matchmaker.genetics.genotypes.relatives import Kin, Relatives

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.genotypes.inferred import Inferred
    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.tables.records import Sex

MATERIAL: Final = 0.01
"""A chance that moves by less is not worth a line."""

Chances = tuple[float, ...]
"""P(0, 1, 2 copies)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Whose records moved a bird's chances most nearly, seen from it, and what they say.

    ``perhaps`` says of chicks that none of them is surely the bird's own.
    """

    kin: Kin
    locus: str
    words: tuple[str, ...]
    records: int
    perhaps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """One bird at one locus; ``settled`` is its genotype where the hatch has made it certain."""

    bird: str
    sex: Sex | None
    locus: str
    before: Chances
    after: Chances
    settled: str
    reason: Reason | None

    @property
    def change(self) -> float:
        """The largest change of a chance."""
        return max(abs(new - old) for old, new in zip(self.before, self.after, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChickChances:
    """Banded chicks that are alike at one locus."""

    locus: str
    bands: tuple[str, ...]
    chances: Chances


def what_is_learned(flock: Flock, before: Inferred, after: Inferred) -> tuple[Learned, ...]:
    """Return the living birds of the book whose chances changed, the largest change first."""
    found = [
        one
        for symbol, new in after.genotypes.items()
        if symbol in before.genotypes
        for one in _at_locus(flock, before, after, symbol, new)
    ]
    return tuple(sorted(found, key=lambda one: (-round(one.change, 9), one.bird, one.locus)))


def _at_locus(
    flock: Flock, before: Inferred, after: Inferred, symbol: str, new: Genotypes
) -> Iterator[Learned]:
    old = before.genotypes[symbol]
    told = _news(before, after, symbol)
    for bird in flock.living:
        if bird.band not in old.rows:
            continue
        was, now = (tuple(one.of(bird.band).tolist()) for one in (old, new))
        if max(abs(a - b) for a, b in zip(was, now, strict=True)) < MATERIAL:
            continue
        alleles = new.alleles(bird.band)
        sure = len(alleles) == 1 and len(old.alleles(bird.band)) > 1
        yield Learned(
            bird=bird.band,
            sex=bird.sex,
            locus=symbol,
            before=was,
            after=now,
            settled=next(iter(alleles)) if sure else "",
            reason=_reason(after, bird.band, told),
        )


def _news(before: Inferred, after: Inferred, symbol: str) -> list[tuple[str, Evidence]]:
    """What is new at a locus and at the one worked out with it."""
    pair = next((pair for pair in after.linked if symbol in pair), (symbol,))
    return [
        (one, told)
        for one in pair
        for told in after.genotypes[one].evidence
        if told not in set(before.genotypes[one].evidence if one in before.genotypes else ())
    ]


def _reason(after: Inferred, bird: str, told: Sequence[tuple[str, Evidence]]) -> Reason | None:
    """The new records of the bird's nearest kin."""
    if not told:
        return None
    kin_of = Relatives.of(after.pedigree, bird, [one for _, one in told]).kin_of
    order = {kin: at for at, kin in enumerate(Kin)}
    kins = [(kin_of(one), locus, one) for locus, one in told]
    nearest = min((kin for kin, _, _ in kins), key=order.__getitem__)
    own = [(locus, one) for kin, locus, one in kins if kin is nearest]
    locus = own[0][0]
    same = [one for name, one in own if name == locus]
    return Reason(
        kin=nearest,
        locus=locus,
        words=tuple(_counted(same)),
        records=len(same),
        perhaps=nearest is Kin.CHICK and not any(_is_parent(after, bird, one) for one in same),
    )


def _is_parent(after: Inferred, bird: str, record: Evidence) -> bool:
    """Whether the bird is surely a parent of the chicks that a record speaks of."""
    if isinstance(record, ChickCount):
        sides = (record.hens or ((record.hen, 1.0),), record.cocks or ((record.cock, 1.0),))
        return any([band for band, _ in side] == [bird] for side in sides)
    pedigree = after.pedigree
    at, node = pedigree.birds.index(record.bird), pedigree.birds.index(bird) + pedigree.first_bird
    return any([one for one, _ in side[at]] == [node] for side in (pedigree.sires, pedigree.dams))


def _counted(records: Sequence[Evidence]) -> Iterator[str]:
    """The classes of some records, each once, with its number of chicks."""
    counted: Counter[str] = Counter()
    for one in records:
        if isinstance(one, ChickCount):
            named = (part.strip().partition(" ") for part in one.place.words.split(","))
            pairs = zip(named, one.classes, strict=True)
            counted.update({words: chicks for (_, _, words), (_, chicks) in pairs})
        else:
            counted[one.place.words] += 1
    yield from (f"{number} {words}" for words, number in counted.items())


def chances_of_chicks(
    after: Inferred, bands: Sequence[str], loci: Mapping[str, object]
) -> tuple[ChickChances, ...]:
    """Return the banded chicks by what they may be at each locus, alike ones together."""
    found: list[ChickChances] = []
    for symbol in loci:
        alike: dict[Chances, list[str]] = {}
        for band in bands:
            own = tuple(round(p, 6) for p in after.genotypes[symbol].of(band).tolist())
            alike.setdefault(own, []).append(band)
        found += [
            ChickChances(locus=symbol, bands=tuple(listed), chances=chances)
            for chances, listed in sorted(alike.items(), key=lambda item: item[1])
        ]
    return tuple(found)
