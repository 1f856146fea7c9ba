"""Every hen × cock of the flock: verdict, rules broken, terms and value."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from matchmaker.errors import InputError
from matchmaker.genetics.study import is_recent
from matchmaker.pairs.certainty import least_of_rows
from matchmaker.pairs.chances import chick_table
from matchmaker.pairs.crossings import (
    Crossing,
    Steps,
    all_crossings,
    crossing_by_wish,
    line_steps,
    open_crossings,
)
from matchmaker.pairs.figures import Figures
from matchmaker.pairs.goals import LineNeeds, line_needs, most_per_pair
from matchmaker.pairs.judge import Judge, judge_birds
from matchmaker.pairs.pair import Pair
from matchmaker.pairs.rules import Broken, Rule
from matchmaker.pairs.scope import Scope, hopeless_pairs
from matchmaker.pairs.value import Centre, share_weight, value_of, worth_of
from matchmaker.pairs.wishes import Wishes, sort_wishes
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping, Sequence

    from matchmaker.genetics.kin.ancestry import Matrix, Nodes
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.chances import ChanceByPair, WantedChance
    from matchmaker.pairs.figures import Terms

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
    flock = study.flock
    wishes, faults = sort_wishes(flock.tables, {bird.band: bird.sex for bird in flock.birds})
    if faults:
        raise InputError(tuple(faults))
    steps = line_steps(flock, study.recurrent_share)
    crossings = open_crossings(flock.settings, steps, study.loci)
    scheme = all_crossings(flock.settings, steps, study.loci)
    judge = _judge(study, wishes)
    needs = line_needs(flock, crossings)
    desk = _Desk(
        judge=judge,
        figures=Figures(judge),
        values=_Values(needs, line_centres(study, scheme), share_weight(flock.settings)),
    )
    judged = _all_pairs(desk, crossings, steps, Scope(open_only or allowed_only, allowed_only))
    return PairTable(
        study=study,
        steps=steps,
        crossings=crossings,
        scheme=scheme,
        needs=needs,
        wishes=wishes,
        of_birds=judge.of_birds,
        pairs=tuple(sorted(judged, key=lambda pair: pair.key)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Desk:
    """All that an entry of the table is made from."""

    judge: Judge
    figures: Figures
    values: _Values


class _Values:
    """What pairs are worth to the lines that their chicks join."""

    def __init__(
        self, needs: Mapping[str, LineNeeds], centres: Mapping[str, Centre], weight: float
    ) -> None:
        self._centres = centres
        self._weight = weight
        self._most = {line: most_per_pair(needs, line) for line in needs}
        self._needs = needs

    def of(
        self, crossing: Crossing, merit: float, share: float, wanted: float
    ) -> tuple[float, float]:
        """Worth of a pair, against its line's contemporaries, and its value."""
        line = crossing.chicks
        centre = self._centres.get(line) or Centre(merit=merit, recurrent_share=share)
        worth = crossing.worth * worth_of(merit, share, centre, self._weight)
        if line not in self._most:
            self._most[line] = most_per_pair(self._needs, line)
        return worth, value_of(wanted, worth, self._most[line])


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


def _all_pairs(
    desk: _Desk, crossings: Sequence[Crossing], steps: Steps, scope: Scope
) -> Iterator[Pair]:
    judge = desk.judge
    kept = [crossing for crossing in crossings if crossing.tests is None]
    wanted = {crossing.name: judge.chicks.wanted(crossing) for crossing in kept}
    chances = {name: chance.by_pair() for name, chance in wanted.items()}
    least = least_of_rows(judge.study, judge.chicks, kept)
    for at, opened in _entries(judge, crossings, scope, wanted):
        terms = desk.figures.of(*at)
        for crossing in opened:
            if crossing.tests is not None:
                yield _on_trial(judge, terms, at, crossing)
                continue
            sure = least.get(crossing.name)
            by_sex = None if sure is None else sure.at(*at)
            yield _in_row(desk, terms, at, crossing, chances[crossing.name], by_sex)
        if not opened:
            yield _without_row(desk, terms, at, steps)


def _entries(
    judge: Judge, crossings: Sequence[Crossing], scope: Scope, wanted: Mapping[str, WantedChance]
) -> Iterator[tuple[tuple[int, int], Sequence[Crossing]]]:
    """Every hen and cock by position, with the rows that are open for their lines."""
    hopeless = hopeless_pairs(judge, crossings, wanted) if scope.allowed_only else None
    rows: dict[tuple[str, str], list[Crossing]] = {}
    for crossing in crossings:
        for lines in product(crossing.hens, crossing.cocks):
            rows.setdefault(lines, []).append(crossing)
    for hen_at, hen in enumerate(judge.hens):
        for cock_at, cock in enumerate(judge.cocks):
            opened = rows.get((hen.line, cock.line), [])
            if (hen.band, cock.band) not in judge.wishes.allow:
                if scope.open_only and not opened:
                    continue
                if hopeless is not None and hopeless[hen_at, cock_at]:
                    continue
            yield (hen_at, cock_at), opened


def _in_row(
    desk: _Desk,
    terms: Terms,
    at: tuple[int, int],
    crossing: Crossing,
    chance: ChanceByPair,
    sure: Mapping[Sex, float] | None = None,
) -> Pair:
    told, true = chance(at)
    wanted = sum(told.values())
    broken = desk.judge.verdict(*at, crossing, wanted)
    merit, share = terms["merit"], terms["recurrent_share"]
    worth, value = desk.values.of(crossing, merit, share, terms["chicks"] * wanted)
    return Pair(
        **terms,
        crossing=crossing,
        broken=broken,
        waived=_waived(desk.judge.wishes, terms, broken),
        wanted_by_sex=told,
        true_by_sex=true,
        sure_by_sex=sure,
        approximate=desk.judge.approximate(crossing),
        worth=worth,
        value=value,
    )


def _on_trial(judge: Judge, terms: Terms, at: tuple[int, int], crossing: Crossing) -> Pair:
    broken = judge.verdict(*at, crossing, None)
    return Pair(
        **terms,
        crossing=crossing,
        broken=broken,
        waived=_waived(judge.wishes, terms, broken),
        approximate=judge.approximate(crossing),
        trial=judge.trial(*at, crossing),
        value=0.0,
    )


def _without_row(desk: _Desk, terms: Terms, at: tuple[int, int], steps: Steps) -> Pair:
    """A pair of lines that no row opens; a wish that allows it makes a row of its own."""
    judge = desk.judge
    broken = judge.verdict(*at, None, None)
    if not _waived(judge.wishes, terms, broken):
        return Pair(**terms, crossing=None, broken=broken)
    settings = judge.study.flock.settings
    lines = judge.hens[at[0]].line, judge.cocks[at[1]].line
    made = crossing_by_wish(*lines, steps, settings.target, judge.study.loci)
    opened = _in_row(desk, terms, at, made, judge.chicks.wanted(made).by_pair())
    closed = tuple(one for one in broken if one.rule is Rule.LINE_CLOSED)
    return replace(opened, broken=(*closed, *opened.broken), waived=True)


def _waived(wishes: Wishes, terms: Terms, broken: tuple[Broken, ...]) -> bool:
    wished = (terms["hen"], terms["cock"]) in wishes.allow
    return wished and bool(broken) and not any(rule.final for rule in broken)


def _valued(pairs: Sequence[Pair], values: _Values) -> Iterator[Pair]:
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
    centres, weight = line_centres(study, table.scheme), share_weight(study.flock.settings)
    valued = tuple(_valued(pairs, _Values(needs, centres, weight)))
    return replace(table, study=study, needs=needs, pairs=valued)
