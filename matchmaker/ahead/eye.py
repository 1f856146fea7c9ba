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

    def passes(self, band: str, crossing: Crossing) -> bool:
        """Whether a bird passes for what a row needs of it: a carrier, or free of the allele."""
        for locus in crossing.loci:
            carrier = band in self.carriers[locus]
            if crossing.purpose is Purpose.HOLD and crossing.needs_none(locus) and carrier:
                return False
            needed = crossing.needs_copy(locus) and self.birds[band].line in crossing.carrier_lines
            if needed and not carrier:
                return False
        return True


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
        scores=raw_scores(study),
        carriers={locus: _carriers(study, locus, birds, carrying) for locus in study.genotypes},
    )


def keepers_pairs(table: PairTable, eye: Eye) -> tuple[Pair, ...]:
    """The pairs that the keeper would think of, in the table's order.

    Barred are birds not here, too young or unfit, pairs kept apart by wish or whose chicks would
    die, rows that are closed, that only test, or from which nothing wanted can come of any pair.
    A pair that a wish allows is looked at no further.
    """
    living = {name for name, chance in _best_of_rows(table).items() if chance > 0}
    return tuple(
        pair
        for pair in table.pairs
        if pair.crossing is not None
        and pair.crossing.name in living
        and _thinkable(pair)
        and (pair.waived or _to_his_eye(pair, pair.crossing, eye))
    )


def _best_of_rows(table: PairTable) -> dict[str, float]:
    """The largest chance of a wanted chick in each row."""
    best: dict[str, float] = {}
    for pair in table.pairs:
        if pair.crossing is not None:
            name = pair.crossing.name
            best[name] = max(best.get(name, 0.0), pair.wanted_chance or 0.0)
    return best


def _thinkable(pair: Pair) -> bool:
    return pair.allowed or all(broken.rule in UNKNOWN_TO_HIM for broken in pair.broken)


def _to_his_eye(pair: Pair, crossing: Crossing, eye: Eye) -> bool:
    if pair.hen not in eye.birds or pair.cock not in eye.birds:
        return False
    passes = eye.passes(pair.hen, crossing) and eye.passes(pair.cock, crossing)
    return passes and eye.may_mate(pair.hen, pair.cock)


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
    against: dict[str, float] = {}
    for seen in study.genotypes[locus].evidence:
        if isinstance(seen, Sighting) and (sex := sexes.get(seen.bird)) is not None:
            none, *some = seen.weights[0 if sex is Sex.COCK else 1]
            told = _log(max(some)) - _log(none)
            against[seen.bird] = against.get(seen.bird, 0.0) + told
    return {band: told > 0 for band, told in against.items() if abs(told) > SAME}


def _log(chance: float) -> float:
    return math.log(max(chance, 1e-12))


def raw_scores(study: Study) -> dict[str, float]:
    """How good each living bird looks: its latest raw scores, weighted as the settings weigh them.

    Each trait is standardised among the living birds of its sex that were scored; one without a
    score counts as their mean. A trait with an optimum counts by the distance from it.
    """
    found = {bird.band: 0.0 for bird in study.flock.living}
    for aim in study.aims:
        if aim.weight and (aim.sign or aim.optimum is not None):
            for band, score in _standardised(study, aim):
                found[band] += aim.weight * score
    return found


def _standardised(study: Study, aim: TraitAim) -> Iterator[tuple[str, float]]:
    latest = _latest(study, aim.trait)
    for sex in Sex if aim.sex is None else (aim.sex,):
        scored = [
            (bird.band, _goodness(latest[bird.band], aim))
            for bird in study.flock.living
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
