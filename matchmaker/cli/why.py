"""The why command: one pair, one bird, one pen, or the whole plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker import verbs
from matchmaker.cli.output import known_bird
from matchmaker.cli.streams import note
from matchmaker.cli.watching import watched
from matchmaker.errors import NoPlanError, UsageError
from matchmaker.explain.pair import asked_pair
from matchmaker.explain.patience import Patience
from matchmaker.report.why.document import (
    bird_document,
    pair_document,
    pen_document,
    plan_facts_document,
)
from matchmaker.report.why.other_screens import (
    print_bird_answer,
    print_pen_answer,
    print_plan_answer,
)
from matchmaker.report.why.screen import print_pair_answer

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output
    from matchmaker.pairs.table import PairTable
    from matchmaker.plan.season.season_plan import SeasonPlan

QUICK: Final = 0.2
"""Seconds for the searches behind an answer, unless they are asked to be thorough."""

QUICK_PEN: Final = 2.0
"""The same for a pen, where each of its hens is taken out in turn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked: one or two birds, a pen, or the plan."""

    birds: tuple[str, ...]
    pen: str | None
    plan: bool
    fresh: bool
    thorough: bool
    output: Output

    @property
    def patience(self) -> Patience:
        """How long the searches may take."""
        quick = QUICK if self.pen is None else QUICK_PEN
        return Patience(None if self.thorough else quick)

    def check(self) -> None:
        """Refuse what asks nothing, or several things at once.

        Raises
        ------
        UsageError
            Saying how to ask.
        """
        asked = (bool(self.birds), self.pen is not None, self.plan)
        if sum(asked) != 1 or len(self.birds) > 2:
            raise UsageError(
                "ask about one thing: why HEN COCK, why BIRD, why --pen PEN or why --plan"
            )


def run_why(folder: Path, question: Question) -> None:
    """Answer one question.

    Raises
    ------
    NoPlanError
        If a pen or the plan is asked about and there is no plan.
    """
    question.check()
    table = verbs.pairs(folder)
    if question.birds:
        _about_birds(table, question)
        return
    with watched() as watch:
        plan = verbs.plan(table, fresh=question.fresh, watch=watch)
    if question.pen is not None:
        answer = verbs.why_pen(plan, question.pen, patience=question.patience)
        question.output.show(
            lambda console: print_pen_answer(console, answer),
            lambda: pen_document(answer),
        )
        return
    note("Some thirty things are tried otherwise, one by one: that may take half a minute.")
    facts = verbs.why_plan(plan)
    question.output.show(
        lambda console: print_plan_answer(console, facts),
        lambda: plan_facts_document(plan, facts),
    )


def _about_birds(table: PairTable, question: Question) -> None:
    bands = [known_bird(table, band) or band for band in question.birds]
    if len(bands) == 1:
        bird = verbs.why_bird(
            table, _planned(table, question), bands[0], patience=question.patience
        )
        question.output.show(
            lambda console: print_bird_answer(console, bird),
            lambda: bird_document(bird),
        )
        return
    judged, hen, cock = asked_pair(table, *bands)
    pair = verbs.why_pair(judged, _planned(table, question), hen, cock, patience=question.patience)
    question.output.show(
        lambda console: print_pair_answer(console, pair),
        lambda: pair_document(pair),
    )


def _planned(table: PairTable, question: Question) -> SeasonPlan | None:
    """The season's plan; ``None``, with a word about it, where there is none."""
    try:
        with watched() as watch:
            return verbs.plan(table, fresh=question.fresh, watch=watch)
    except NoPlanError:
        note("No plan satisfies your rules at present: matchmaker plan says why.")
        return None
