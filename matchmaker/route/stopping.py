"""Does another backcross pay? Each line's finished birds now against those of a season later.

Both ways are played through with the birds that are here: chicks of the best pairs are put into
the books as if they had hatched, and kinship, share, the donor's piece and the chances of their
genotypes are worked out for them as for any bird.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from statistics import fmean, pvariance
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.flock.flock import build_flock
from matchmaker.genetics.shares.segment import donor_segments
from matchmaker.genetics.shares.spread import ShareRange, share_ranges
from matchmaker.genetics.study import study_flock
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import Crossing, Purpose, kept_copies
from matchmaker.pairs.table import judge_pairs
from matchmaker.route.backcrosses import best_backcrosses
from matchmaker.route.played import (
    HATCH,
    at_the_intercross,
    chick_record,
    free_name,
    kept_chicks,
    with_chicks,
)
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from typing import TypeAlias

    from matchmaker.flock.flock import Flock
    from matchmaker.flock.pedigree import Pedigree
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChickTable
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.settings import Settings
    from matchmaker.tables.records import BirdRecord

    Target: TypeAlias = Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """The birds with the wanted copies that an intercross gives, from so many pairs.

    ``share`` is their expected recurrent share with the spread of single birds; ``pieces`` the
    donor's piece around each gene in cM; ``inbreeding`` the mean over the pairs, and ``least`` of
    the least related one; ``chances`` per chick hatched, that it has the whole target, by sex, and
    ``gene_chances`` that it has the wanted copies at one locus alone (sexes together).
    """

    season: int
    pairs: tuple[tuple[str, str], ...]
    share: ShareRange
    pieces: Mapping[str, float]
    inbreeding: float
    least: float
    chances: Mapping[Sex, float]
    gene_chances: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopping:
    """One line: its finished birds if it is intercrossed this season, or after another backcross.

    An option is ``None`` where no pair is allowed; ``why_not`` then says which rules reject how
    many pairs, for this season's intercross (``now``) or next season's.
    """

    line: str
    now: Finished | None
    later: Finished | None
    backcrossed: int
    why_not: Mapping[str, Mapping[str, int]]


def stopping(table: PairTable) -> tuple[Stopping, ...]:
    """Weigh another backcross against an intercross for every line that is not kept pure.

    ``table`` holds the pairs of this season. Chicks of the backcross are taken as known to carry
    (seen or tested); their mates are chosen one season later, when all of them are old enough.
    Lines are intercrossed with each other, a single one with itself.

    Raises
    ------
    InputError
        If the books cannot be worked out.
    """
    steps = table.steps
    lines = (*steps.backcross, *steps.intercross)
    wanted = _genes_wanted(table.study.flock.settings)
    if not lines or not wanted:
        return ()
    backcrosses = best_backcrosses(table, lines)
    chicks = [one for line in lines for one in kept_chicks(backcrosses[line], line, table)]
    books = table.study.flock.tables
    # What is played through may not tell anything of the birds that are here: a table each.
    ways = tuple(
        judge_pairs(study_flock(build_flock(at_the_intercross(tables, lines, wanted))))
        for tables in (books, with_chicks(books, chicks))
    )
    played = frozenset(record.bird for record, _ in chicks)
    here = frozenset(ways[0].study.kinship.birds)
    return tuple(
        _weighed(table, line, tuple(zip(ways, (here, played), strict=True)), len(backcrosses[line]))
        for line in lines
    )


def _weighed(
    table: PairTable,
    line: str,
    ways: Sequence[tuple[PairTable, frozenset[str]]],
    backcrossed: int,
) -> Stopping:
    settings = table.study.flock.settings
    mates = [_mates(judged, line, birds, settings.target) for judged, birds in ways]
    now, later = (
        _finished(judged, one.pairs, settings.season + ahead, settings.target)
        if one.pairs
        else None
        for ahead, ((judged, _), one) in enumerate(zip(ways, mates, strict=True))
    )
    why_not = {
        when: one.rejected
        for when, one in zip(("now", "later"), mates, strict=True)
        if not one.pairs
    }
    return Stopping(line=line, now=now, later=later, backcrossed=backcrossed, why_not=why_not)


def _genes_wanted(settings: Settings) -> dict[str, int]:
    return {locus: copies for locus, copies in settings.target.items() if copies > 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mates:
    """The pairs of an intercross, and by how many pairs each rule was broken."""

    pairs: tuple[Pair, ...]
    rejected: Mapping[str, int]


def _mates(grown: PairTable, line: str, among: frozenset[str], target: Target) -> _Mates:
    """The allowed pairs of a line's intercross that most surely give the whole target.

    Each hen once. Of pairs alike in that the least related come first: chances are compared by
    the hundredth of the best one.
    """
    rows = [
        pair
        for pair in grown.pairs
        if pair.line == line
        and pair.crossing is not None
        and pair.crossing.purpose is Purpose.INTERCROSS
        and {pair.hen, pair.cock} <= among
    ]
    allowed = [pair for pair in rows if pair.allowed]
    chance = _target_chances(grown.study, allowed, target)
    step = max(chance.values(), default=0.0) / 100 or 1.0
    most = grown.study.flock.settings.line(line).families
    chosen: dict[str, Pair] = {}
    for pair in sorted(
        allowed,
        key=lambda one: (
            -round(chance[one.key] / step),
            one.kinship,
            -one.recurrent_share,
            one.key,
        ),
    ):
        if pair.hen not in chosen and len(chosen) < most:
            chosen[pair.hen] = pair
    rules = Counter(broken.rule.value for pair in rows for broken in pair.broken)
    return _Mates(pairs=tuple(chosen.values()), rejected=dict(sorted(rules.items())))


def _target_chances(
    study: Study, pairs: Sequence[Pair], target: Target
) -> Mapping[tuple[str, str, str], float]:
    """Chance that a chick of each pair has the whole target: of the rarer sex, twice."""
    hens = sorted({pair.hen for pair in pairs})
    cocks = sorted({pair.cock for pair in pairs})
    if not pairs:
        return {}
    found = chick_table(study, hens, cocks).wanted(_whole_target(study, target))
    rarer = 2 * np.minimum(found.true_sons, found.true_daughters)
    return {pair.key: float(rarer[hens.index(pair.hen), cocks.index(pair.cock)]) for pair in pairs}


def _whole_target(study: Study, target: Target) -> Crossing:
    keep = kept_copies(Purpose.INTERCROSS, target, study.loci)
    return Crossing(name="", hens=(), cocks=(), chicks="", purpose=Purpose.INTERCROSS, keep=keep)


def _finished(grown: PairTable, pairs: Sequence[Pair], season: int, target: Target) -> Finished:
    """What the birds with the wanted copies are like that these pairs give."""
    study = grown.study
    bred = _bred(study.flock, pairs)
    birds = [record.bird for record in bred]
    pedigree = build_flock(
        with_chicks(study.flock.tables, [(record, ()) for record in bred])
    ).pedigree
    recurrent = study.flock.settings.recurrent
    ranges = list(share_ranges(pedigree, recurrent, birds).values())
    means = [one.share for one in ranges]
    within = fmean(one.deviation**2 for one in ranges)
    return Finished(
        season=season,
        pairs=tuple((pair.hen, pair.cock) for pair in pairs),
        share=ShareRange(fmean(means), (within + pvariance(means)) ** 0.5),
        pieces=dict(_pieces(study, pedigree, birds)),
        inbreeding=fmean(pair.kinship for pair in pairs),
        least=min(pair.kinship for pair in pairs),
        chances=_whole_chances(study, pairs, target),
        gene_chances=_gene_chances(study, pairs, target),
    )


def _bred(flock: Flock, pairs: Sequence[Pair]) -> list[BirdRecord]:
    """A cock out of each pair; on the autosomes a hen would be the same."""
    taken = {record.bird for record in flock.tables.birds}
    return [
        chick_record(
            free_name(f"finished {at}", taken), Sex.COCK, pair, flock.settings.pen_up + HATCH
        )
        for at, pair in enumerate(pairs, start=1)
    ]


def _pieces(study: Study, pedigree: Pedigree, birds: Sequence[str]) -> Iterator[tuple[str, float]]:
    """For each wanted gene the mean length of the donor's piece in birds with two copies, in cM."""
    for symbol in study.flock.settings.target:
        genotypes = study.genotypes[symbol]
        copies: dict[str, Sequence[float]] = {
            band: genotypes.of(band).tolist() for band in genotypes.birds
        }
        copies |= dict.fromkeys(birds, (0.0, 0.0, 1.0))
        recurrent = study.flock.settings.recurrent
        found = donor_segments(pedigree, birds, study.loci[symbol], recurrent, copies)
        if found:
            yield symbol, fmean(piece.length for piece in found.values())


def _whole_chances(study: Study, pairs: Sequence[Pair], target: Target) -> Mapping[Sex, float]:
    """Mean chance, over the pairs, that a son and that a daughter has the whole target."""
    found = _chicks(study, pairs).wanted(_whole_target(study, target))
    at = range(len(pairs))
    return {
        Sex.COCK: float(found.true_sons[at, at].mean()),
        Sex.HEN: float(found.true_daughters[at, at].mean()),
    }


def _gene_chances(study: Study, pairs: Sequence[Pair], target: Target) -> Mapping[str, float]:
    """Mean chance, over the pairs and both sexes, of the wanted copies at each locus alone."""
    table, keep = _chicks(study, pairs), _whole_target(study, target).keep
    at = range(len(pairs))
    return {
        locus: fmean(
            float(table.of(locus, sex)[at, at][:, list(keep[sex][locus])].sum(axis=1).mean())
            for sex in Sex
        )
        for locus in target
    }


def _chicks(study: Study, pairs: Sequence[Pair]) -> ChickTable:
    """The chicks of some pairs: those of the n-th pair are at (n, n)."""
    return chick_table(study, [pair.hen for pair in pairs], [pair.cock for pair in pairs])
