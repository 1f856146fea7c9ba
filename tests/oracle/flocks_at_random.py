"""Small random pedigrees with random evidence, for the oracle tests of one locus."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Place, Sighting
from matchmaker.genetics.genotypes.words import meaning, weights
from matchmaker.genetics.loci.locus import Dominance, Locus, ShownBy
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

POOLS = (Pool("araucana"), Pool("sussex"), Pool("leghorn"))
WORDS = ("shown", "hidden", "0", "1", "2", "carrier")


@dataclass(frozen=True)
class Case:
    """One random problem."""

    pedigree: Pedigree
    locus: Locus
    evidence: list[Evidence]


def draw(seed: int, *, birds: int = 6) -> Case:
    """Draw pedigree, locus and evidence; the evidence may well be impossible."""
    rng = random.Random(seed)  # noqa: S311 - a seeded test case, no secret
    locus = _locus(rng)
    sexes = [rng.choice([Sex.COCK, Sex.HEN]) for _ in range(birds)]
    sires = [_links(rng, sexes[:at], Sex.COCK) for at in range(birds)]
    dams = [_links(rng, sexes[:at], Sex.HEN) for at in range(birds)]
    used = {node for links in (*sires, *dams) for node, _ in links}
    unsure = {at for at in range(birds) if len(POOLS) + at not in used and rng.random() < 0.3}
    pedigree = Pedigree(
        pools=POOLS,
        bases=((0.0,) * 3,) * 3,
        birds=tuple(f"B{at}" for at in range(birds)),
        sexes=tuple(None if at in unsure else sex for at, sex in enumerate(sexes)),
        sires=tuple(sires),
        dams=tuple(dams),
    )
    return Case(pedigree, locus, _evidence(rng, pedigree, locus))


def _locus(rng: random.Random) -> Locus:
    dominances: Sequence[Dominance] = ("dominant", "recessive", "incomplete")
    limits: Sequence[ShownBy] = ("both", "both", "hen", "cock")
    lethal = rng.choice([(), (), (), (2,)])
    return Locus(
        symbol="X",
        name="X",
        z_linked=rng.random() < 0.5,
        dominance=rng.choice(dominances),
        shown_by=rng.choice(limits),
        penetrance=rng.choice([1.0, 0.8]),
        error=rng.choice([0.0, 0.05]),
        lethal=lethal,
        dies=lethal,
        frequency={"araucana": rng.choice([1.0, 0.7]), "sussex": rng.choice([0.0, 0.2])}
        | {"leghorn": 0.5},
    )


def _links(rng: random.Random, older: list[Sex], sex: Sex) -> Links:
    known = [len(POOLS) + at for at, one in enumerate(older) if one is sex]
    chosen = rng.sample(known, min(len(known), rng.choice([1, 1, 1, 2, 3])))
    if not chosen or rng.random() < 0.35:
        chosen += rng.sample(range(len(POOLS)), rng.choice([1, 1, 2]))
    shares = [rng.randint(1, 4) for _ in chosen]
    return tuple((node, share / sum(shares)) for node, share in zip(chosen, shares, strict=True))


def _evidence(rng: random.Random, pedigree: Pedigree, locus: Locus) -> list[Evidence]:
    found: list[Evidence] = []
    for row, (bird, sex) in enumerate(zip(pedigree.birds, pedigree.sexes, strict=True), 2):
        if rng.random() < 0.5 and (sex is not None or locus.shown_by == "both"):
            word = rng.choice(WORDS[:2] if rng.random() < 0.7 else WORDS)
            dna = word not in WORDS[:2]
            meant = meaning(locus, word, dna=dna)
            assert meant is not None
            place = Place(file="birds.csv", row=row, column="X", words=word)
            found.append(Sighting(bird=bird, weights=weights(locus, meant, dna=dna), place=place))
    hens = [b for b, s in zip(pedigree.birds, pedigree.sexes, strict=True) if s is Sex.HEN]
    cocks = [b for b, s in zip(pedigree.birds, pedigree.sexes, strict=True) if s is Sex.COCK]
    if hens and cocks and rng.random() < 0.5:
        found.append(_count(rng, locus, rng.choice(hens), rng.choice(cocks)))
    return found


def _count(rng: random.Random, locus: Locus, hen: str, cock: str) -> ChickCount:
    shown, hidden = meaning(locus, "yes"), meaning(locus, "no")
    assert shown is not None
    assert hidden is not None
    counts = (rng.randint(0, 4), rng.randint(0, 4))
    limited = locus.shown_by != "both"
    return ChickCount(
        hen=hen,
        cock=cock,
        classes=((weights(locus, shown), counts[0]), (weights(locus, hidden), counts[1])),
        sex=Sex(locus.shown_by) if limited else None,
        place=Place(file="seen.csv", row=99, column="what", words=f"{counts}"),
    )
