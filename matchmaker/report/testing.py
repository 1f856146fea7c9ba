"""The screen of ``tests``: a table of the gains, then each test with what its answers change."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.progeny import Obstacle
from matchmaker.report.days import whole_day
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.terminal import print_defaults
from matchmaker.report.testing_words import (
    answer_text,
    change_text,
    gain_text,
    trial_text,
    wanted_text,
)
from matchmaker.report.wording import GROUP_LEFT_OUT

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from matchmaker.plan.bird_tests.testing import RankedTest, Ranking
    from matchmaker.plan.bird_tests.weighing import AnswerWorth
    from matchmaker.tables.records import Sex

LEGEND = (
    "Carries: chance that the bird has at least one copy. Adds: what knowing the answer is "
    "expected to add to this spring's plan, in wanted chicks, over the plan made without it. One "
    "test is one bird at one locus, and what several tests add does not sum: write an answer into "
    "seen.csv (how = dna) and run tests again."
)

CAUTION = (
    "A laboratory's test covers the mutation it names and no other: ask. Have samples taken as "
    "your veterinarian advises. Test chicks are chicks: know where they go before eggs are set, "
    "and keep to your local rules."
)

LOOK = "Look first: it can be seen on the bird itself, and the tables do not say what was seen."

SAMPLED = "The parentage is too tangled for exact chances: these figures are approximate."

HARM = "Do not pair birds that may both carry it to find out: ask for a DNA test."


def print_tests(console: Console, ranking: Ranking) -> None:
    """The tests, best first; those that change nothing in one sentence."""
    settings = ranking.table.study.flock.settings
    say(
        console,
        f"Which birds to test before the pens are made up on {whole_day(settings.pen_up)}",
        style="bold",
    )
    say(console, _today(ranking))
    if ranking.kinship_left_out:
        say(console, GROUP_LEFT_OUT)
    useful = [test for test in ranking.tests if test.gain or test.chick_gain]
    if useful:
        console.print()
        _print_gains(console, ranking, useful)
        for test in useful:
            _print_test(console, ranking, test)
    console.print()
    _print_rest(console, ranking, useful)
    if ranking.considered:
        say(console, LEGEND)
    print_defaults(console, ranking.table)
    console.print()
    say(console, CAUTION)


def _today(ranking: Ranking) -> str:
    if ranking.conflict:
        return (
            "With what is known now no plan is possible (matchmaker plan says why): whatever an "
            "answer makes possible counts in full."
        )
    return f"The best plan without any test is worth {chicks_text(ranking.value)} wanted chicks."


def _print_gains(console: Console, ranking: Ranking, tests: Sequence[RankedTest]) -> None:
    birds = ranking.table.study.flock.by_band()
    columns = [
        Column(heading="Bird"),
        Column(heading="Sex"),
        Column(heading="Line"),
        Column(heading="Locus"),
        Column(heading="Carries", number=True),
        Column(heading="DNA test adds", number=True),
        Column(heading="Test chicks add", number=True),
    ]
    rows = [
        [
            test.bird,
            str(birds[test.bird].sex or "?"),
            birds[test.bird].line,
            test.locus,
            percent(sum(test.chances[1:])),
            gain_text(test.gain),
            _chick_cell(test),
        ]
        for test in tests
    ]
    print_rows(console, columns, rows)


def _chick_cell(test: RankedTest) -> str:
    """The gain of test chicks, or in two words why there is none."""
    if test.trial is None:
        return "too young"
    if test.trial.chicks is None:
        return "prove nothing"
    if not test.trial.mates:
        return "no mate"
    return gain_text(test.chick_gain) if test.trial.in_time else "too late"


def _print_test(console: Console, ranking: Ranking, test: RankedTest) -> None:
    study = ranking.table.study
    locus = study.loci[test.locus]
    bird = study.flock.by_band()[test.bird]
    console.print()
    say(
        console,
        f"{test.bird}, {locus.name} ({test.locus}): a DNA test adds {wanted_text(test.gain)}",
        style="bold",
    )
    if test.look_first:
        say(console, LOOK, indent=2)
    if test.approximate:
        say(console, SAMPLED, indent=2)
    _print_answers(console, test.bird, bird.sex, test.by_dna)
    if test.trial is None:
        say(console, f"Test chicks: {test.bird} cannot breed this spring.", indent=2)
        return
    say(console, trial_text(test.trial, locus), indent=2)
    if test.trial.test.obstacle is Obstacle.HARMFUL:
        say(console, HARM, indent=2, style="bold")
    if test.by_chicks:
        say(console, f"Such test chicks add {wanted_text(test.chick_gain)}", indent=2)
        _print_answers(console, test.bird, bird.sex, test.by_chicks)


def _print_answers(
    console: Console, band: str, sex: Sex | None, answers: Sequence[AnswerWorth]
) -> None:
    for worth in answers:
        say(console, f"{answer_text(worth.answer)}: {change_text(band, sex, worth)}", indent=2)


def _print_rest(console: Console, ranking: Ranking, useful: Sequence[RankedTest]) -> None:
    """The tests that change nothing, and how many more were weighed."""
    if not ranking.considered:
        say(
            console,
            "Nothing to test: at every locus the crossings hang on, what each living bird carries "
            "is certain.",
        )
        return
    idle = [test for test in ranking.tests if test not in useful]
    if idle:
        named = ", ".join(f"{test.bird} ({test.locus})" for test in idle)
        say(console, f"Whatever the answer, the pens stay the same: {named}")
    more = ranking.considered - len(ranking.tests)
    if more:
        what = "no other adds" if useful and not idle else "of those not listed none adds"
        say(console, f"{ranking.considered} tests were weighed; {what} more.")
