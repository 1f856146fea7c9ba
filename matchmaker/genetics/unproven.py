"""Birds written down as pure for a gene that nothing else in the books bears out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import first_few
from matchmaker.genetics.genotypes.genotype import genotype_probabilities
from matchmaker.genetics.genotypes.observed import Sighting
from matchmaker.genetics.genotypes.words import is_certain, meaning
from matchmaker.genetics.inference.elimination import TooTangledError
from matchmaker.genetics.inference.factors import ContradictionError
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.genotypes.genotype import Genotypes
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.genetics.study import Study

LIKELY: Final = 0.5
"""A bird said to be pure is doubted where all else makes that less likely than not."""

BIRDS_TOLD: Final = 3
"""So many such birds of a locus are doubted one by one; more are told in one doubt."""

PURE: Final = 2

_Found = tuple[Sighting, float]


def unproven_doubts(study: Study) -> Iterator[Fault]:
    """Doubt birds that are written as having two copies by no look and no laboratory.

    What is written so is taken as certain, for the bird and all its kin. The chance told is that
    of all other records together, everything of this kind left out.
    """
    for symbol, genotypes in study.genotypes.items():
        typed = [] if genotypes.locus.series else _typed_as_pure(study, genotypes)
        without = _without(genotypes, typed) if typed else None
        if without is None:
            continue
        chances = [(one, float(without.of(one.bird)[PURE])) for one in typed]
        doubted = [(one, chance) for one, chance in chances if chance < LIKELY]
        locus = study.loci[symbol]
        if len(doubted) > BIRDS_TOLD:
            yield _several(study, locus, doubted)
        else:
            yield from (_one(study, locus, one, chance) for one, chance in doubted)


def _typed_as_pure(study: Study, genotypes: Genotypes) -> list[Sighting]:
    """Records of two copies in words that no look could have told, laboratories left out."""
    tested = {row.row for row in study.flock.tables.seen if row.how == "dna"}
    return [
        one
        for one in genotypes.evidence
        if isinstance(one, Sighting)
        and not (one.place.file.startswith("seen") and one.place.row in tested)
        and _says_pure(study, genotypes.locus, one)
    ]


def _says_pure(study: Study, locus: Locus, one: Sighting) -> bool:
    if locus.z_linked and study.flock.by_band()[one.bird].sex is Sex.HEN:
        return False
    meant = meaning(locus, one.place.words)
    cock = one.weights[0]
    return meant is not None and is_certain(meant) and cock[PURE] > 0 and not any(cock[:PURE])


def _without(genotypes: Genotypes, typed: Sequence[Sighting]) -> Genotypes | None:
    left = [one for one in genotypes.evidence if one not in typed]
    try:
        return genotype_probabilities(
            genotypes.pedigree, genotypes.locus, left, genotypes.recurrent
        )
    except (ContradictionError, TooTangledError):
        return None


def _one(study: Study, locus: Locus, one: Sighting, chance: float) -> Fault:
    return _fault(
        study,
        one,
        f"{one.bird} is written as having two copies of {locus.symbol} ({locus.name}), and no "
        f"laboratory is named; by its kin and all looks that is {chance * 100:.0f} % likely",
        (one.bird,),
    )


def _several(study: Study, locus: Locus, doubted: Sequence[_Found]) -> Fault:
    told = first_few(
        (
            f"{one.bird} ({_file(study, one)} row {one.place.row}, {chance * 100:.0f} %)"
            for one, chance in doubted
        ),
        2 * BIRDS_TOLD,
    )
    return _fault(
        study,
        doubted[0][0],
        f"{len(doubted)} birds are written as having two copies of {locus.symbol} ({locus.name}), "
        "and no laboratory is named; by kin and all looks that is less likely than "
        f"not: {told}",
        tuple(one.bird for one, _ in doubted),
    )


def _file(study: Study, one: Sighting) -> str:
    """The file as the keeper has it."""
    return study.flock.tables.place(one.place.file.removesuffix(".csv"))["file"]


def _fault(study: Study, one: Sighting, problem: str, birds: tuple[str, ...]) -> Fault:
    place = one.place
    return study.flock.tables.fault(
        place.file.removesuffix(".csv"),
        place.row,
        place.column,
        kind="purity-unproven",
        value=place.words,
        problem=f"{problem}. It is taken at its word, for the bird and its kin",
        mend="if it was tested, write that in seen with how = dna; else write what is seen of the "
        "bird, and count its chicks",
        birds=birds,
    )
