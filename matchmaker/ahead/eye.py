"""What a keeper knows without the program: parents, looks and the birds' own latest scores."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.genotypes.observed import Sighting
from matchmaker.pairs.crossings import Purpose
from matchmaker.pairs.rules import Rule
from matchmaker.tables.records import Origin, Sex

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.aims import TraitAim
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.tables.records import Parentage

UNKNOWN_TO_HIM: Final = frozenset({Rule.TOO_RELATED, Rule.NO_WANTED_CHICKS, Rule.UNPROVEN})
"""Rules that rest on kinship and on chances, which he does not work out; he keeps all others."""

SAME: Final = 1e-9
"""What was seen is as likely, relatively, of a carrier as of one that is none: it tells nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Eye:
    """What is known of each living bird by its band.

    ``parents`` are those written for sure, ``scores`` in weighted standard deviations (0: as good
    as the mean of its sex), ``carriers`` hold for each locus the birds that pass as carriers.
    """

    birds: Mapping[str, Bird]
    parents: Mapping[str, frozenset[str]]
    scores: Mapping[str, float]
    carriers: Mapping[str, frozenset[str]]

    def may_mate(self, hen: str, cock: str) -> bool:
        """Whether the two share no parent, and neither is the other's."""
        of_hen, of_cock = self.parents[hen], self.parents[cock]
        return not (of_hen & of_cock or cock in of_hen or hen in of_cock)

    def passing(self, crossing: Crossing) -> frozenset[str]:
        """The birds that pass for what a row needs of them: carriers, or free of the allele."""
        found = set(self.birds)
        for locus in crossing.loci:
            carriers = self.carriers[locus]
            if crossing.purpose is Purpose.HOLD and crossing.needs_none(locus):
                found -= carriers
            elif crossing.needs_copy(locus):
                lines = crossing.carrier_lines
                found = {b for b in found if b in carriers or self.birds[b].line not in lines}
        return frozenset(found)


def keepers_eye(table: PairTable) -> Eye:
    """What the keeper of a flock knows of its living birds.

    Notes
    -----
    A bird passes as a carrier if what was seen or tested of itself is likelier of a carrier; one of
    which that tells nothing passes if a parent that is known for sure does by its own looks. In a
    line that must carry, where no bird of one sex passes in either way, all of them do of which
    nothing speaks against it: the line is kept for the gene. Chances and test chicks are not
    reckoned with. (Common practice, no source.)
    """
    study = table.study
    birds = {bird.band: bird for bird in study.flock.living}
    carrying = {line for crossing in table.crossings for line in crossing.carrier_lines}
    return Eye(
        birds=birds,
        parents={band: _known_parents(bird) for band, bird in birds.items()},
        scores=raw_scores(study, birds.values()),
        carriers={locus: _carriers(study, locus, birds, carrying) for locus in study.genotypes},
    )


def keepers_pairs(table: PairTable, eye: Eye) -> tuple[Pair, ...]:
    """The pairs that the keeper would think of, in the table's order.

    Barred are birds not here, too young or unfit, pairs kept apart by wish or whose chicks would
    die, rows that are closed, that only test, or from which nothing wanted can come of any pair.
    A pair that a wish allows is looked at no further.
    """
    passing = {name: eye.passing(crossing) for name, crossing in _fruitful_rows(table).items()}
    return tuple(
        pair
        for pair in table.pairs
        if pair.crossing is not None
        and pair.crossing.name in passing
        and _thinkable(pair)
        and (pair.waived or _to_his_eye(pair, passing[pair.crossing.name], eye))
    )


def _fruitful_rows(table: PairTable) -> dict[str, Crossing]:
    """The rows in which some pair can give a wanted chick, by name."""
    return {
        pair.crossing.name: pair.crossing
        for pair in table.pairs
        if pair.crossing is not None and pair.wanted_chance
    }


def _thinkable(pair: Pair) -> bool:
    return pair.allowed or all(broken.rule in UNKNOWN_TO_HIM for broken in pair.broken)


def _to_his_eye(pair: Pair, passing: frozenset[str], eye: Eye) -> bool:
    return pair.hen in passing and pair.cock in passing and eye.may_mate(pair.hen, pair.cock)


def _known_parents(bird: Bird) -> frozenset[str]:
    sides = (bird.record.sire, bird.record.dam)
    return frozenset(band for side in sides if (band := known_parent(side)))


def known_parent(written: Parentage) -> str:
    """The parent that is written without a doubt, "" if there is none.

    Examples
    --------
    >>> from matchmaker.tables.records import Parentage
    >>> known_parent(Parentage(origin=Origin.KNOWN, candidates=(("S1", 1.0),)))
    'S1'
    >>> known_parent(Parentage(origin=Origin.KNOWN, candidates=(("S1", 0.5), ("S2", 0.5))))
    ''
    """
    sure = written.origin is Origin.KNOWN and len(written.candidates) == 1
    return written.candidates[0][0] if sure else ""


def _carriers(
    study: Study, locus: str, birds: Mapping[str, Bird], carrying: Collection[str]
) -> frozenset[str]:
    looks = own_looks(study, locus)
    shown = {band for band, carrier in looks.items() if carrier}
    found = {
        band
        for band, bird in birds.items()
        if band in shown or (band not in looks and _known_parents(bird) & shown)
    }
    there = {(birds[band].line, birds[band].sex) for band in found}
    on_trust = {
        band
        for band, bird in birds.items()
        if band not in looks and bird.line in carrying and (bird.line, bird.sex) not in there
    }
    return frozenset(found | on_trust)


def own_looks(study: Study, locus: str) -> dict[str, bool]:
    """Whether each bird is a carrier by what was seen or tested of itself, where that tells.

    Birds of the past are among them. Several looks at one bird count together.
    """
    sexes = dict(zip(study.flock.pedigree.birds, study.flock.pedigree.sexes, strict=True))
    inheritance = study.loci[locus].inheritance
    carries = {
        sex: [inheritance.copies(one) > 0 for one in inheritance.genotypes(sex)] for sex in Sex
    }
    looks: dict[tuple[str, Sex], list[float]] = {}
    for seen in study.genotypes[locus].evidence:
        if isinstance(seen, Sighting) and (sex := sexes.get(seen.bird)) is not None:
            own = [_log(chance) for chance in seen.weights[0 if sex is Sex.COCK else 1]]
            before = looks.get((seen.bird, sex), [0.0] * len(own))
            looks[seen.bird, sex] = [one + other for one, other in zip(before, own, strict=True)]
    found: dict[str, bool] = {}
    for (band, sex), chances in looks.items():
        with_it = _likeliest(chances, carries[sex])
        told = with_it - _likeliest(chances, [not one for one in carries[sex]])
        if abs(told) > SAME:
            found[band] = told > 0
    return found


def _likeliest(chances: Sequence[float], among: Sequence[bool]) -> float:
    return max(chance for chance, one in zip(chances, among, strict=True) if one)


def _log(chance: float) -> float:
    return math.log(max(chance, 1e-12))


def raw_scores(study: Study, birds: Collection[Bird]) -> dict[str, float]:
    """How good each of these birds looks: latest raw scores, weighted as the settings weigh them.

    Each trait is standardised among those of them of its sex that were scored; one without a score
    counts as their mean. A trait with an optimum counts by the distance from it.
    """
    found = {bird.band: 0.0 for bird in birds}
    for aim in study.aims:
        if aim.weight and (aim.sign or aim.optimum is not None):
            for band, score in _standardised(study, aim, birds):
                found[band] += aim.weight * score
    return found


def _standardised(
    study: Study, aim: TraitAim, birds: Collection[Bird]
) -> Iterator[tuple[str, float]]:
    latest = _latest(study, aim.trait)
    for sex in Sex if aim.sex is None else (aim.sex,):
        scored = [
            (bird.band, _goodness(latest[bird.band], aim))
            for bird in birds
            if bird.sex is sex and bird.band in latest
        ]
        yield from _in_deviations(scored)


def _in_deviations(scored: Sequence[tuple[str, float]]) -> Iterator[tuple[str, float]]:
    """Each value less the mean, in standard deviations of these birds; none if all are alike."""
    count = max(len(scored), 1)
    mean = sum(value for _, value in scored) / count
    spread = math.sqrt(sum((value - mean) ** 2 for _, value in scored) / count)
    if spread > 0:
        yield from ((band, (value - mean) / spread) for band, value in scored)


def _latest(study: Study, trait: str) -> dict[str, float]:
    rows = [row for row in study.flock.tables.scores if trait in row.traits]
    rows.sort(key=lambda row: (str(row.date or ""), row.row))
    return {row.bird: row.traits[trait] for row in rows}


def _goodness(value: float, aim: TraitAim) -> float:
    return aim.sign * value if aim.optimum is None else -abs(value - aim.optimum)
