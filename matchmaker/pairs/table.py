"""Every hen × cock of the flock: verdict, rules broken, terms and value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.errors import InputError
from matchmaker.genetics.study import is_recent
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import Crossing, Steps, all_crossings, line_steps, open_crossings
from matchmaker.pairs.entries import Entries
from matchmaker.pairs.figures import Figures
from matchmaker.pairs.goals import LineNeeds, line_needs
from matchmaker.pairs.judge import Judge, judge_birds
from matchmaker.pairs.scope import Scope
from matchmaker.pairs.sheet import Desk, Values
from matchmaker.pairs.value import Centre, share_weight
from matchmaker.pairs.wishes import Wishes, sort_wishes
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken

Key: TypeAlias = tuple[str, str, str]
"""Hen, cock and row of a pair."""


@dataclass(frozen=True, kw_only=True)
class PairTable:
    """All pairs of the living birds (and of the standing plan), in order of hen, cock and row.

    ``crossings`` are open this season, ``scheme`` holds those of other seasons too. ``of_birds``
    holds, for each hen and cock, the rules that reject it whatever its mate.
    """

    study: Study
    steps: Steps
    crossings: tuple[Crossing, ...]
    scheme: tuple[Crossing, ...]
    needs: Mapping[str, LineNeeds]
    wishes: Wishes
    of_birds: Mapping[str, tuple[Broken, ...]]
    pairs: tuple[Pair, ...]

    @property
    def allowed(self) -> tuple[Pair, ...]:
        """The pairs the plan may choose from."""
        return tuple(pair for pair in self.pairs if pair.allowed)

    @cached_property
    def by_birds(self) -> dict[tuple[str, str], tuple[Pair, ...]]:
        """The entries of each (hen, cock): one per open row, or one without a row."""
        found: dict[tuple[str, str], tuple[Pair, ...]] = {}
        for pair in self.pairs:
            found[pair.hen, pair.cock] = (*found.get((pair.hen, pair.cock), ()), pair)
        return found


def judge_pairs(study: Study, *, open_only: bool = False, allowed_only: bool = False) -> PairTable:
    """Judge every hen × cock in every open row of crossings.

    With ``open_only`` pairs of lines that no row opens are left out, but for those that a wish
    allows; with ``allowed_only`` most others that rules reject as well. The pairs allowed are the
    same, and what they are worth.

    Raises
    ------
    InputError
        If wishes make no sense as written.
    """
    return survey_pairs(study, open_only=open_only, allowed_only=allowed_only).table()


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """A flock judged; its pairs, which take the most time to write down, are made when asked for.

    ``bare`` is the table without its pairs.
    """

    bare: PairTable
    entries: Entries

    def table(self) -> PairTable:
        """The table with all pairs."""
        return replace(self.bare, pairs=self.entries.all())

    def among(self, birds: Container[str]) -> PairTable:
        """The table with the pairs whose hen and cock are both among some birds."""
        return replace(self.bare, pairs=self.entries.among(birds))

    def foremost(self) -> PairTable:
        """The table with as many pairs as tell what each bird counts at its best.

        Of a bird with an allowed pair one that counts most is among them, of others all; besides
        all pairs in test rows and all that wishes allow.
        """
        return replace(self.bare, pairs=self.entries.foremost())


def survey_pairs(study: Study, *, open_only: bool = False, allowed_only: bool = False) -> Survey:
    """Judge every hen × cock as ``judge_pairs`` does, which makes all the pairs at once.

    Raises
    ------
    InputError
        If wishes make no sense as written.
    """
    flock = study.flock
    wishes, faults = sort_wishes(flock.tables, {bird.band: bird.sex for bird in flock.birds})
    if faults:
        raise InputError(tuple(faults))
    steps = line_steps(flock, study.recurrent_share)
    crossings = open_crossings(flock.settings, steps, study.loci)
    scheme = all_crossings(flock.settings, steps, study.loci)
    judge = _judge(study, wishes)
    needs = line_needs(flock, crossings)
    desk = Desk(
        judge=judge,
        figures=Figures.of(judge),
        values=Values(needs, line_centres(study, scheme), share_weight(flock.settings)),
    )
    bare = PairTable(
        study=study,
        steps=steps,
        crossings=crossings,
        scheme=scheme,
        needs=needs,
        wishes=wishes,
        of_birds=judge.of_birds,
        pairs=(),
    )
    scope = Scope(open_only or allowed_only, allowed_only)
    return Survey(bare=bare, entries=Entries.of(desk, crossings, steps, scope))


def _judge(study: Study, wishes: Wishes) -> Judge:
    birds = study.flock.by_band()
    chosen = [birds[band] for band in sorted(study.kinship.birds)]
    hens = [bird for bird in chosen if bird.sex is Sex.HEN]
    cocks = [bird for bird in chosen if bird.sex is Sex.COCK]
    place = {band: at for at, band in enumerate(study.kinship.birds)}
    grid = np.ix_([place[b.band] for b in hens], [place[b.band] for b in cocks])
    return Judge(
        study=study,
        wishes=wishes,
        hens=hens,
        cocks=cocks,
        kinship=study.kinship.values[grid],
        chicks=chick_table(study, [b.band for b in hens], [b.band for b in cocks]),
        of_birds=judge_birds(study, wishes, [*hens, *cocks]),
    )


def values_of_lines(table: PairTable) -> Values:
    """What pairs are worth to the lines of a flock as its table has them."""
    weight = share_weight(table.study.flock.settings)
    return Values(table.needs, line_centres(table.study, table.scheme), weight)


def valued(pairs: Iterable[Pair], values: Values) -> Iterator[Pair]:
    """Give each pair in a row its worth, against its line's contemporaries, and its value."""
    for pair in pairs:
        if pair.crossing is None or pair.crossing.tests is not None:
            yield pair
            continue
        worth, value = values.of(pair.crossing, pair.merit, pair.recurrent_share, pair.wanted)
        yield replace(pair, worth=worth, value=value)


def line_centres(study: Study, crossings: Sequence[Crossing]) -> dict[str, Centre]:
    """Mean merit and recurrent share over the pairs that each line's rows could have.

    Allowed or not, of birds that have left of late too, and of rows whose turn it is not now:
    selling a cock, lowering a limit or closing a row must not make the pairs that are left look
    better.
    """
    merit, share = study.prospects.merit, study.prospects.matings.shares
    return {
        line: Centre(merit=float((part * merit).sum()), recurrent_share=float((part * share).sum()))
        for line, part in line_averages(study, crossings).items()
    }


def line_averages(study: Study, crossings: Sequence[Crossing]) -> dict[str, Matrix]:
    """Per line, the part of each hen × cock in the mean over the pairs its rows could have.

    Shape (hens, cocks) of the study's prospects; each sums to 1.
    """
    counts: dict[str, Matrix] = {}
    for crossing in (row for row in crossings if row.tests is None):
        block = row_block(study, crossing)
        if block[0].size and block[1].size:
            nothing = np.zeros_like(study.prospects.merit)
            counts.setdefault(crossing.chicks, nothing)[block] += 1
    return {line: count / count.sum() for line, count in counts.items()}


def row_block(study: Study, crossing: Crossing) -> tuple[Nodes, Nodes]:
    """Where the pairs stand among the prospects that a row of crossings could have.

    Every hen and cock of its lines that was here within the year counts, allowed or not.
    """
    hens = _recent(study, Sex.HEN, crossing.hens)
    return study.prospects.block(hens, _recent(study, Sex.COCK, crossing.cocks))


def _recent(study: Study, sex: Sex, lines: Sequence[str]) -> list[str]:
    return sorted(
        bird.band
        for bird in study.flock.birds
        if bird.sex is sex and bird.line in lines and is_recent(study.flock, bird)
    )


def revalued(table: PairTable, study: Study, only: Container[Key] | None = None) -> PairTable:
    """The same pairs and verdicts, their values anew: of a study with other predictions or weights.

    No rule may hang on what is different in it. ``only`` names the pairs that are kept, if not all.
    """
    needs = line_needs(study.flock, table.crossings)
    prospects, weighed = study.prospects, [a.trait for a in study.aims if a.weight]
    pairs = []
    for pair in table.pairs:
        if only is not None and pair.key not in only:
            continue
        at = prospects.at(pair.hen, pair.cock)
        gains = {trait: float(prospects.gains[trait][at]) for trait in weighed}
        pairs.append(replace(pair, gains=gains, merit=float(prospects.merit[at])))
    bare = replace(table, study=study, needs=needs, pairs=())
    return replace(bare, pairs=tuple(valued(pairs, values_of_lines(bare))))
