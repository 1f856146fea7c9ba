"""What is said of every pair, each sentence made once for all pairs that it holds for.

The names of hen and cock stand in a sentence as marks, so that "neither A nor B carries O" is one
text for all of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.explain.pair import PairAnswer, Verdict
from matchmaker.explain.remedies import known_fixed
from matchmaker.genetics.kin.wright_paths import Paths
from matchmaker.pairs.rules import Rule
from matchmaker.report.numbers import percent
from matchmaker.report.page.pair_kin import Kin
from matchmaker.report.why.costs import cost_text
from matchmaker.report.why.pair_words import (
    WAIVED,
    cautions,
    evidence,
    fixed_sentence,
    rule_heading,
    verdict_sentence,
)
from matchmaker.report.wording import rule_state
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable
    from matchmaker.report.page.pair_standing import Standing
    from matchmaker.reporting import SeasonReport

NO_PATHS: Final = Paths(listed=(), before=0, others=0)  # type: ignore[arg-type]
"""Paths are told apart from the rest."""

NAMED: Final = ("hen", "cock", "bird", "mate")
"""Facts that are bands."""


@dataclass(frozen=True, slots=True)
class Marks:
    """Two signs that no text of the flock holds: they stand for the hen and for the cock."""

    hen: str
    cock: str

    @classmethod
    def beside(cls, texts: Iterable[str]) -> Marks:
        """The first two signs of the private area that none of these texts holds.

        Examples
        --------
        >>> marks = Marks.beside(["S1", chr(0xE000)])
        >>> ord(marks.hen) == 0xE001, ord(marks.cock) == 0xE002
        (True, True)
        """
        taken = {sign for text in texts for sign in text}
        free = (chr(code) for code in range(0xE000, 0xF900) if chr(code) not in taken)
        return cls(next(free), next(free))

    def filled(self, text: str, hen: str, cock: str) -> str:
        """The text with the names of two birds.

        Examples
        --------
        >>> Marks("#", "%").filled("# with %", "S1", "C%")
        'S1 with C%'
        """
        return hen.join(part.replace(self.cock, cock) for part in text.split(self.hen))


@dataclass(frozen=True, slots=True)
class RuleText:
    """A rule that rejects a pair: its state, heading with marks, evidence, and what is fixed."""

    state: str
    heading: str
    evidence: tuple[str, ...]
    fixed: str


def cost_words(cost: Cost | None) -> str:
    """What a pair would cost the plan, as the end of a sentence.

    Examples
    --------
    >>> from matchmaker.explain.prices import Cost
    >>> cost_words(Cost(at_least=0.12, at_most=0.3)), cost_words(Cost(at_least=0.0, at_most=0.0))
    ('would cost 0.12 to 0.30 wanted chicks', 'would cost nothing: a tie')
    >>> cost_words(Cost(at_least=0.0, at_most=None)), cost_words(None)
    ('what it would cost is not known', '')
    >>> cost_words(Cost(at_least=0.001, at_most=None))
    'would cost more than 0 wanted chicks'
    >>> cost_words(Cost(at_least=float("inf"), at_most=None, impossible=True))
    'no plan can hold it'
    """
    if cost is None:
        return ""
    if cost.impossible:
        return "no plan can hold it"
    if cost.at_most is None and cost.at_least <= 0:
        return "what it would cost is not known"
    if cost.known and cost.at_most == 0:
        return "would cost nothing: a tie"
    return f"would cost {cost_text(cost).replace('< ', 'less than ')} wanted chicks"


def wanted_words(pair: Pair) -> str:
    """Which part of all chicks is wanted, sons and daughters by themselves."""
    if pair.wanted_by_sex is None:
        return ""
    told = f"Wanted of all chicks hatched: {_by_sex(pair.wanted_by_sex)}"
    true = pair.true_by_sex
    if true is not None and _by_sex(true) != _by_sex(pair.wanted_by_sex):
        told += f"; {_by_sex(true)} if all could be told by sight"
    return f"{told}.{' These chances are approximate.' if pair.approximate else ''}"


def _by_sex(chances: Mapping[Sex, float]) -> str:
    sons, daughters = (percent(chances.get(sex, 0.0)) for sex in (Sex.COCK, Sex.HEN))
    return f"sons {sons}, daughters {daughters}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One row of a pair in words; names as marks.

    ``state`` says it in a few words, ``more`` what it would cost where that adds something,
    ``sentence`` is that of ``why``.
    """

    pair: Pair
    verdict: Verdict
    state: str
    more: str
    sentence: str
    rules: tuple[RuleText, ...]
    cautions: tuple[str, ...]
    wanted: str


class Teller:
    """Tells pairs of one flock, each sentence made once."""

    def __init__(self, report: SeasonReport, standing: Standing) -> None:
        self._report = report
        self._standing = standing
        self._table = report.table
        self._headings: dict[object, str] = {}
        self._evidence: dict[object, tuple[str, ...]] = {}
        self._sentences: dict[object, str] = {}
        self.kin = Kin.of(report.table)
        self.marks = Marks.beside(_texts(report.table))

    def told(self, pair: Pair) -> Told:
        """A pair in words."""
        answer = self._answer(pair)
        open_ = pair.broken and not pair.allowed
        fixed = known_fixed(self._table, pair) if open_ else ()
        state, more = self._state(answer)
        return Told(
            pair=pair,
            verdict=answer.verdict,
            state=state,
            more=more,
            sentence=self._sentence(answer),
            rules=tuple(self._rule(answer, one, fixed) for one in pair.broken),
            wanted=wanted_words(pair),
            cautions=() if fixed or not pair.broken else tuple(_to_mind(answer)),
        )

    def _answer(self, pair: Pair) -> PairAnswer:
        place = self._standing.places.get(pair.key)
        verdict = Verdict.COULD_PAIR if pair.allowed else Verdict.REJECTED
        return PairAnswer(
            table=self._table,
            plan=self._report.plan,
            verdict=verdict if place is None else Verdict.PAIRED,
            pair=pair,
            others=(),
            kin=NO_PATHS,
            pen="" if place is None else place.pen,
        )

    def _state(self, answer: PairAnswer) -> tuple[str, str]:
        """The state in a few words, and what the pair would cost where that adds something."""
        pair = answer.pair
        costs = self._report.costs
        cost = cost_words(costs.get(pair.key)) if costs is not None and pair.allowed else ""
        best = self._standing.best.get(pair.key)
        if answer.verdict is Verdict.REJECTED:
            return "rejected", ""
        if answer.verdict is Verdict.PAIRED:
            wish = ", against the rules" if pair.broken else ""
            where = self._standing.best_of_hen.get(pair.hen, "in no pen")
            told = f"not in the best plan, which has her {where}{f'; {cost}' if cost else ''}"
            return f"paired, in pen {answer.pen}{wish}", told if best is None else ""
        wish = " by your wish, against the rules" if pair.waived else ""
        more = cost if best is None else f"the best plan has the two in pen {best}"
        return f"could pair{wish}", more

    def _sentence(self, answer: PairAnswer) -> str:
        pair = answer.pair
        key = (answer.verdict, answer.pen, pair.waived, len(pair.broken))
        if key not in self._sentences:
            named = replace(pair, hen=self.marks.hen, cock=self.marks.cock)
            self._sentences[key] = verdict_sentence(replace(answer, pair=named))
        return self._sentences[key]

    def _rule(self, answer: PairAnswer, broken: Broken, fixed: tuple[Broken, ...]) -> RuleText:
        return RuleText(
            state=rule_state(broken),
            heading=self._heading(answer.pair, broken),
            evidence=self._rests_on(answer, broken),
            fixed=fixed_sentence(answer, broken) if broken in fixed else "",
        )

    def _heading(self, pair: Pair, broken: Broken) -> str:
        """A rule's heading with marks for the two birds."""
        marks = {pair.hen: self.marks.hen, pair.cock: self.marks.cock}
        facts = {
            name: marks.get(str(fact), fact) if name in NAMED else fact
            for name, fact in broken.facts.items()
        }
        key = (broken.rule, broken.measured, broken.limit, tuple(facts.items()))
        if key not in self._headings:
            self._headings[key] = rule_heading(replace(broken, facts=facts))
        return self._headings[key]

    def _rests_on(self, answer: PairAnswer, broken: Broken) -> tuple[str, ...]:
        """What a rule rests on; that of two lines or of one bird is the same with every mate."""
        key = tuple(broken.facts.get(name) for name in _SAME.get(broken.rule, ()))
        if not key:
            return tuple(evidence(answer, broken))
        if (broken.rule, key) not in self._evidence:
            self._evidence[broken.rule, key] = tuple(evidence(answer, broken))
        return self._evidence[broken.rule, key]


def _to_mind(answer: PairAnswer) -> Iterator[str]:
    """What to mind about the rules of a pair, and whether a wish sets them aside."""
    if answer.pair.waived:
        yield WAIVED
    yield from cautions(answer)


_SAME: Final = {Rule.LINE_CLOSED: ("hens", "cocks"), Rule.UNPROVEN: ("bird", "locus")}
"""Facts by which the evidence of a rule is the same."""


def _texts(table: PairTable) -> Iterator[str]:
    """All that stands in the books and may come into a sentence."""
    yield from table.study.flock.by_band()
    yield from (pen.pen for pen in table.study.flock.tables.pens)
    yield from (crossing.name for crossing in table.scheme)
    for pair in table.pairs:
        for broken in pair.broken:
            yield from (fact for fact in broken.facts.values() if isinstance(fact, str))
