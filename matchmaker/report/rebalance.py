"""What ``rebalance`` prints: what to do on which day, the eggs, what it costs; on one screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.days import day_text
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.rebalance_words import (
    egg_sentences,
    incubator_sentence,
    line_remark,
    lost_sentence,
    named,
    orders_by_day,
    steps_sentence,
    what_happened,
    where_from,
)
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from matchmaker.rebalance.rebalancing import LineAfter, Rebalance
    from matchmaker.rebalance.steps import Step

NO_BREAK = "\u00a0"
"""A blank that stays: days stand under each other."""

FEW_STEPS = 6
"""Numbers of moves told one by one; of more only those that matter most."""

CAUTION = (
    "An ill bird, or one that died without a cause you know, is a matter for a veterinarian before "
    "others are moved into its pen."
)


def print_rebalance(console: Console, answer: Rebalance) -> None:
    """The whole answer."""
    say(console, what_happened(answer), style="bold")
    say(console, where_from(answer))
    if answer.standing.undone:
        birds = listed(sorted({stay.bird for stay in answer.standing.undone}))
        say(console, f"Moves written for today or later are planned anew: {birds}.")
    _print_orders(console, answer)
    _print_eggs(console, answer)
    _print_steps(console, answer)
    _print_lines(console, answer)
    _print_rest(console, answer)


def _print_orders(console: Console, answer: Rebalance) -> None:
    console.print()
    orders = orders_by_day(answer)
    if not orders:
        say(console, "Nothing to do in the pens.", style="bold")
        return
    say(console, "What to do", style="bold")
    for day, sentences in orders:
        when = "Today" if day == answer.loss.day else day_text(day)
        for sentence in sentences:
            say(console, f"{when}: {sentence}", indent=2)


def _print_eggs(console: Console, answer: Rebalance) -> None:
    if not answer.eggs:
        return
    console.print()
    say(console, "The eggs laid from today on", style="bold")
    for eggs in answer.eggs:
        told = egg_sentences(answer, eggs)
        if told:
            pen = f"Pen {eggs.pen}" if eggs.pen else "In no pen"
            say(console, f"{pen}: {', '.join(eggs.hens)}", indent=2)
        wide = max((len(when) for when, _ in told), default=0)
        for when, what in told:
            when_in_column = f"{when.ljust(wide)}  ".replace(" ", NO_BREAK)
            say(console, f"{when_in_column}{what}", indent=4)


def _print_steps(console: Console, answer: Rebalance) -> None:
    console.print()
    say(console, "What moving wins back, in wanted chicks", style="bold")
    columns = [
        Column(heading="Birds moved", number=True),
        Column(heading="Season is worth", number=True),
        Column(heading="of the old plan", number=True),
        Column(heading="won back", number=True),
    ]
    nobody = answer.steps[0].value
    rows = [
        [
            f"{'→ ' if step is answer.chosen else ''}{step.moves}",
            f"{step.value:.1f}",
            percent(step.value / answer.before, 1) if answer.before else "",
            f"{max(0.0, step.value - nobody):.1f}",
        ]
        for step in _told(answer)
    ]
    print_rows(console, columns, rows)
    say(console, f"{lost_sentence(answer)} {steps_sentence(answer)}")


def _told(answer: Rebalance) -> Iterator[Step]:
    """The steps to be told: all if few, else those that bring most, the chosen and the last."""
    steps = answer.steps
    if len(steps) <= FEW_STEPS:
        yield from steps
        return
    gains = {at: steps[at].value - steps[at - 1].value for at in range(1, len(steps) - 1)}
    largest = sorted(gains, key=lambda at: (-gains[at], at))[: FEW_STEPS - 2]
    told = {0, len(steps) - 1, *largest}
    for at, step in enumerate(steps):
        if at in told or step is answer.chosen:
            yield step


def _print_lines(console: Console, answer: Rebalance) -> None:
    goals = {goal.line: goal.chicks_wanted for goal in answer.posed.problem.lines}
    remarks = any(line_remark(line) for line in answer.lines)
    columns = [
        Column(heading="Line"),
        Column(heading="Old plan", number=True),
        Column(heading="Now", number=True),
        Column(heading="Asked for", number=True),
        Column(heading="Cocks", number=True),
        Column(heading="Hens", number=True),
        *([Column(heading="Mind", sentence=True)] if remarks else []),
    ]
    rows = [_line_row(line, goals[line.line], remarks=remarks) for line in answer.lines]
    console.print()
    say(console, "Wanted chicks of the whole season", style="bold")
    print_rows(console, columns, rows)


def _line_row(line: LineAfter, asked: float, *, remarks: bool) -> list[str]:
    return [
        line.line,
        chicks_text(line.before),
        chicks_text(line.after),
        chicks_text(asked),
        str(line.cocks),
        str(line.hens),
        *([line_remark(line)] if remarks else []),
    ]


def _print_rest(console: Console, answer: Rebalance) -> None:
    if answer.incubator:
        told = "; ".join(incubator_sentence(eggs) for eggs in answer.incubator)
        say(console, f"In the incubator: {told}.")
    for sentence in answer.broken:
        say(console, f"Can no longer be kept: {sentence}.", style="bold")
    for wish in answer.dropped:
        say(console, f"No longer possible: {wish.name}.")
    if not answer.proved:
        say(
            console,
            f"Not proved: the search was stopped. Up to {answer.left_open:.1f} more could be won.",
        )
    for bird, until in answer.quarantined.items():
        when = f"until {day_text(until)}" if until else "without an end that is written"
        say(
            console,
            f"{bird} is in quarantine {when}: ask a veterinarian before it goes to other birds.",
            style="bold",
        )
    birds = answer.table.study.flock.by_band()
    gone = [bird for bird in answer.loss.lost if birds[bird].alive_here]
    if gone:
        whom = named("bird", gone).removeprefix("birds ").removeprefix("bird ")
        say(
            console,
            f"In birds.csv write what became of {whom} (status dead, sold or culled; left_on "
            f"{answer.loss.day}), or the next plan counts on {'it' if len(gone) == 1 else 'them'}.",
        )
    away = sorted(answer.standing.missing.keys() - set(answer.loss.lost) - _gone(answer))
    if away:
        say(
            console,
            f"Taken out of the pens before, and not used: {listed(away)}. If at hand: --add BAND.",
        )
    say(console, CAUTION)


def _gone(answer: Rebalance) -> set[str]:
    return {bird.band for bird in answer.table.study.flock.birds if not bird.alive_here}
