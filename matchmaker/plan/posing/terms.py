"""What an allowed pair is to the program: its numbers for one turn of the season."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.certainty import chance_of_reaching
from matchmaker.pairs.goals import most_per_pair
from matchmaker.pairs.risk import breeding_carriers
from matchmaker.pairs.value import chicks_to_raise, eggs_a_week, value_of
from matchmaker.plan.posing.problem import Candidate, LineCarriers, TestGoal
from matchmaker.plan.posing.turns import has_periods, season_turns, turn_label
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable
    from matchmaker.pairs.trials import Trial
    from matchmaker.plan.posing.turns import Turn

EXACT: Final = 1e-9
"""Expected numbers closer than this, relatively, to the least that is sure leave nothing open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonTerms:
    """What turns pairs into candidates: the turns, and of each bird on trial its best trial."""

    table: PairTable
    birds: Mapping[str, Bird]
    turns: tuple[Turn, ...]
    trials: Mapping[str, Trial]

    def turn(self, label: str) -> Turn:
        """The turn of this name; ``KeyError`` if no eggs are kept in it."""
        return {turn.label: turn for turn in self.turns}[label]

    def pens_of(self, turn: Turn) -> tuple[str, ...]:
        """The open pens that are free for just this turn."""
        flock = self.table.study.flock
        periods = has_periods(flock.tables.pens)
        return tuple(
            pen.pen
            for pen in flock.tables.pens
            if pen.open and turn_label(pen, flock.settings, periods=periods) == turn.label
        )

    def candidate(self, pair: Pair, turn: Turn, *, kept: bool, counted: float = 0.0) -> Candidate:
        """The pair in one turn as the program sees it; one that no row opens counts nothing.

        A pair counts for so many wanted chicks at most, in each turn, and needs room for as many
        chicks as give that number; its hen's line has had ``counted`` of them by her already. Its
        wanted chicks as such are not capped.
        """
        chicks = pair.chicks * turn.part
        chance = pair.wanted_chance or 0.0
        most = max(0.0, most_per_pair(self.table.needs, pair.line) - counted)
        raised = chicks_to_raise(chicks, chance, math.inf if self._raises_all(pair) else most)
        lay = eggs_a_week(self.birds[pair.hen], self.table.study.flock.settings)
        wanted, sure = pair.wanted_by_sex or {}, pair.sure_by_sex or {}
        on_trial = self._on_trial(pair)
        return Candidate(
            hen=pair.hen,
            cock=pair.cock,
            row=pair.crossing.name if pair.crossing else "",
            line=pair.line or "",
            value=0.0 if pair.worth is None else value_of(chicks * chance, pair.worth, most),
            wanted=chicks * chance,
            kept=kept,
            turn=turn.label,
            kinship=pair.kinship,
            wanted_cocks=chicks * wanted.get(Sex.COCK, 0.0),
            wanted_hens=chicks * wanted.get(Sex.HEN, 0.0),
            sure_cocks=chicks * sure.get(Sex.COCK, 0.0),
            sure_hens=chicks * sure.get(Sex.HEN, 0.0),
            chicks=raised,
            eggs=lay * raised / chicks if chicks > 0 else 0.0,
            tested=on_trial,
            test_chicks=chicks * self._tells(pair),
            dams_known=on_trial == pair.hen,
        )

    def _raises_all(self, pair: Pair) -> bool:
        """Whether minimums of chicks are set for the line: all that a pair can raise count then."""
        needs = self.table.needs.get(pair.line or "")
        if needs is None:
            return False
        line = needs.settings
        return bool(line.wanted_min or line.wanted_cocks_min or line.wanted_hens_min)

    def eggs(self, pair: Pair, turn: Turn) -> float:
        """Eggs a hen lays on the days of a turn on which they are kept."""
        lay = eggs_a_week(self.birds[pair.hen], self.table.study.flock.settings)
        return lay * turn.days / 7

    def _on_trial(self, pair: Pair) -> str:
        if pair.crossing is None or pair.crossing.tests is None:
            return ""
        return pair.hen if pair.crossing.tests is Sex.HEN else pair.cock

    def _tells(self, pair: Pair) -> float:
        """Chicks that tell, for each one raised, in chicks of the bird's best mating.

        A chick by another mate tells less; it counts in proportion to what a first chick by either
        is worth.
        """
        best = self.trials.get(self._on_trial(pair))
        if best is None or pair.trial is None:
            return 0.0
        return best.judged * pair.trial.per_chick / best.per_chick


def season_terms(table: PairTable) -> SeasonTerms:
    """The terms of a season, from its pens and the allowed pairs of its test rows."""
    flock = table.study.flock
    best: dict[str, Trial] = {}
    for pair in table.allowed:
        trial = pair.trial
        if trial is not None and (
            trial.bird not in best or trial.per_chick > best[trial.bird].per_chick
        ):
            best[trial.bird] = trial
    return SeasonTerms(
        table=table,
        birds=flock.by_band(),
        turns=season_turns(flock.tables.pens, flock.settings),
        trials=best,
    )


def test_goals(
    candidates: Iterable[Candidate], trials: Mapping[str, Trial]
) -> tuple[TestGoal, ...]:
    """What test chicks of each bird on trial are worth; nothing where a wish alone has it tested.

    The line of the best mating: the other matings' chicks count as fewer of it.
    """
    return tuple(
        TestGoal(bird=bird, pieces=trials[bird].pieces() if bird in trials else ((0.0, 0.0),))
        for bird in sorted({one.tested for one in candidates if one.tested})
    )


def line_carriers(table: PairTable, candidates: Iterable[Candidate]) -> tuple[LineCarriers, ...]:
    """The birds of each line of which one must stay, where some could breed for others.

    They are those that may breed this season and that carry what the line's rows need with at
    least the chance ``limits.proof_min``. A test mating is for no line.
    """
    joined = {(bird, one.line) for one in candidates for bird in (one.hen, one.cock)}
    used: dict[str, set[str]] = {}
    for bird, line in joined:
        used.setdefault(bird, set()).add(line)
    lines = sorted({line for row in table.crossings for line in row.carrier_lines})
    carriers = {line: breeding_carriers(table, line) for line in lines}
    return tuple(
        LineCarriers(line=line, birds=birds)
        for line, birds in carriers.items()
        if any(used.get(bird, set()) - {line} for bird in birds)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Certainty:
    """How sure a line is to reach what it asks for of one sex.

    ``asked`` chicks are wanted with the chance ``wanted``; the plan's pairs reach them with
    ``chance``, or with at least that where not ``exact``.
    """

    line: str
    sex: Sex
    asked: int
    wanted: float
    chance: float
    exact: bool


def plan_certainty(table: PairTable, chosen: Sequence[Candidate]) -> tuple[Certainty, ...]:
    """How sure each line that asks for certainty is to reach its numbers by sex.

    Eggs laid as expected, each chick of them is an independent trial: the numbers follow from its
    chances by convolution. Where every parent is proven that is exact; else it rests on the least
    that each parent may carry (``LeastChances``) and is a lower bound.
    """
    terms = season_terms(table)
    return tuple(
        _certainty(terms, chosen, line, sex, asked)
        for line, needs in sorted(table.needs.items())
        if needs.settings.certainty is not None
        for sex, asked in (
            (Sex.COCK, round(needs.settings.wanted_cocks_min)),
            (Sex.HEN, round(needs.settings.wanted_hens_min)),
        )
        if asked
    )


def _certainty(
    terms: SeasonTerms, chosen: Sequence[Candidate], line: str, sex: Sex, asked: int
) -> Certainty:
    pairs = {pair.key: pair for pair in terms.table.pairs}
    own = [one for one in chosen if one.line == line]
    sure = [one.sure_cocks if sex is Sex.COCK else one.sure_hens for one in own]
    expected = [one.wanted_cocks if sex is Sex.COCK else one.wanted_hens for one in own]
    eggs = [terms.eggs(pairs[one.hen, one.cock, one.row], terms.turn(one.turn)) for one in own]
    return Certainty(
        line=line,
        sex=sex,
        asked=asked,
        wanted=terms.table.needs[line].settings.certainty or 0.0,
        chance=chance_of_reaching(asked, zip(eggs, sure, strict=True)),
        exact=sum(sure) >= sum(expected) * (1.0 - EXACT),
    )
