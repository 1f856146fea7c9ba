"""Random cases beyond two alleles at one locus: allele series, linked loci, clutches."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Place, Sighting
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.genetics.loci.locus import Allele, Locus
from matchmaker.tables.records import Sex
from tests.oracle.flocks_at_random import Case, draw

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.genotypes.observed import Weights

SYMBOLS = ("A", "B", "C")
SERIES_WORDS = ("top", "middle", "low", "yes", "no", "0", "1", "2", "carrier", "A/C", "B/C", "B/B")
WORDS = ("yes", "no", "0", "1", "2", "carrier")
NOWHERE = Place(file="seen.csv", row=2, column="what", words="")


def with_clutches(whole: Pedigree, seed: int) -> Pedigree:
    """Make about half of the birds clutch mates of the bird before."""
    rng = random.Random(seed)  # noqa: S311 - a seeded test case, no secret
    sires, dams = list(whole.sires), list(whole.dams)
    clutches = list(range(len(sires)))
    for at in range(1, len(sires)):
        if rng.random() < 0.5:
            sires[at], dams[at], clutches[at] = sires[at - 1], dams[at - 1], clutches[at - 1]
    several = [clutch if clutches.count(clutch) > 1 else None for clutch in clutches]
    return replace(whole, sires=tuple(sires), dams=tuple(dams), clutches=tuple(several))


def draw_clutch(seed: int, *, birds: int = 6) -> Case:
    """Draw a case with clutches."""
    case = draw(seed, birds=birds)
    return replace(case, pedigree=with_clutches(case.pedigree, seed))


def draw_series(seed: int, *, birds: int = 4) -> Case:
    """Draw a case with three alleles, sometimes with clutches."""
    rng = random.Random(seed)  # noqa: S311
    case = draw(seed, birds=birds)
    named, wild = rng.sample(SYMBOLS, 2)
    words = ("top", "middle", "low")
    shares = ((0.2, 0.3, 0.5), (0.0, 1.0, 0.0), (0.5, 0.0, 0.5), (0.6, 0.2, 0.2))
    locus = replace(
        case.locus,
        symbol=named,
        wild_type=wild,
        frequency={
            breed: dict(zip(SYMBOLS, rng.choice(shares), strict=True))
            for breed in ("araucana", "sussex", "leghorn")
        },
        series=tuple(Allele(symbol=s, words=(w,)) for s, w in zip(SYMBOLS, words, strict=True)),
    )
    pedigree = with_clutches(case.pedigree, seed) if rng.random() < 0.3 else case.pedigree
    return Case(pedigree, locus, evidence_at(rng, pedigree, locus, SERIES_WORDS))


def draw_linked(seed: int, *, birds: int = 5) -> tuple[Case, Locus, list[Evidence]]:
    """Draw a case at a first locus, a second locus linked to it, and what was seen there."""
    rng = random.Random(seed)  # noqa: S311
    case = draw(seed, birds=birds)
    pedigree = with_clutches(case.pedigree, seed) if rng.random() < 0.3 else case.pedigree
    second = replace(
        draw(seed + 500_000).locus,
        symbol="Y",
        name="Y",
        wild_type="y",
        z_linked=case.locus.z_linked,
    )
    first = replace(
        case.locus,
        wild_type="x",
        linked_to="Y",
        recombination=rng.choice([0.0, 0.04, 0.2, 0.5]),
    )
    mixed = 0.0 if birds > 4 else 0.5
    pools = {"araucana": 1.0, "sussex": 0.0, "leghorn": mixed}
    first, second = replace(first, frequency=pools), replace(second, frequency=pools)
    told = [evidence_at(rng, pedigree, locus, WORDS, share=0.25) for locus in (first, second)]
    return Case(pedigree, first, told[0]), second, told[1]


def evidence_at(
    rng: random.Random,
    pedigree: Pedigree,
    locus: Locus,
    words: Sequence[str],
    share: float = 0.4,
) -> list[Evidence]:
    """Looks, tests and perhaps a count of chicks, which may well be impossible together."""
    found: list[Evidence] = []
    for bird, sex in zip(pedigree.birds, pedigree.sexes, strict=True):
        if rng.random() < share and (sex is not None or locus.shown_by == "both"):
            seen = understood(locus, rng.choice(words), dna=rng.random() < 0.3)
            if seen is not None:
                found.append(Sighting(bird=bird, weights=seen, place=NOWHERE))
    hens = [b for b, s in zip(pedigree.birds, pedigree.sexes, strict=True) if s is Sex.HEN]
    cocks = [b for b, s in zip(pedigree.birds, pedigree.sexes, strict=True) if s is Sex.COCK]
    if hens and cocks and rng.random() < 0.4:
        classes = [understood(locus, word) for word in rng.sample(words, 2)]
        counted = tuple((one, rng.randint(0, 2)) for one in classes if one is not None)
        count = ChickCount(
            hen=rng.choice(hens), cock=rng.choice(cocks), classes=counted, place=NOWHERE
        )
        found.append(count)
    return found


def understood(locus: Locus, words: str, *, dna: bool = False) -> Weights | None:
    """The weights of words, if they mean anything at the locus."""
    meant = meaning(locus, words, dna=dna)
    return None if meant is None else weights(locus, meant, dna=dna)
