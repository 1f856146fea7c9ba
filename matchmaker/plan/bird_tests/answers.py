"""What a test of a bird can answer, how likely each answer is, and what it would tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.genotypes.words import weights
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from matchmaker.genetics.genotypes.observed import Weights
    from matchmaker.genetics.genotypes.progeny import ProgenyTest
    from matchmaker.genetics.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One possible answer: what it says, its chance, and the evidence it would be.

    A DNA test says ``copies``; test chicks say whether all were as expected (``clean``).
    """

    copies: int | None = None
    clean: bool | None = None
    chance: float
    evidence: Sighting


def dna_answers(study: Study, bird: str, symbol: str) -> tuple[Answer, ...]:
    """The answers a DNA test can give: every number of copies the bird may have."""
    locus = study.loci[symbol]
    return tuple(
        Answer(
            copies=copies,
            chance=float(chance),
            evidence=_sighting(bird, weights(locus, frozenset({copies}), dna=True)),
        )
        for copies, chance in enumerate(study.genotypes[symbol].of(bird))
        if chance > 0
    )


def chick_answers(
    study: Study, bird: str, symbol: str, test: ProgenyTest, chicks: int
) -> tuple[Answer, ...]:
    """The answers of so many test chicks: all as expected, or one that is not among them."""
    clean = tuple(chance**chicks for chance in test.likelihood)
    found = []
    for is_clean, chance in ((True, test.all_expected(chicks)), (False, test.contrary(chicks))):
        if chance > 0:
            seen = clean if is_clean else tuple(1.0 - one for one in clean)
            evidence = _sighting(bird, _for_sex(study, symbol, test, seen))
            found.append(Answer(clean=is_clean, chance=chance, evidence=evidence))
    return tuple(found)


def _for_sex(study: Study, symbol: str, test: ProgenyTest, seen: tuple[float, ...]) -> Weights:
    """Weights as evidence has them: by genotype, for both sexes; the bird is not of the mate's."""
    inheritance = study.loci[symbol].inheritance
    other = tuple(1.0 for _ in inheritance.genotypes(test.mate))
    sex = test.mate.other
    own = tuple(seen[inheritance.copies(one)] for one in inheritance.genotypes(sex))
    return (other, own) if test.mate is Sex.COCK else (own, other)


def _sighting(bird: str, seen: Weights) -> Sighting:
    return Sighting(
        bird=bird,
        weights=seen,
        place=Place(file="", row=0, column="", words="a test that may be made"),
    )
