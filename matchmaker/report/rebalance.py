"""What ``rebalance`` prints: what to do on which day, the eggs, what it costs; on one screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.days import day_text
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.rebalance_words import (
    egg_sentences,
    last_sentences,
    line_remark,
    lost_sentence,
    orders_by_day,
    steps_sentence,
    to_write,
    undone_sentence,
    warnings,
    what_happened,
    where_from,
)
from matchmaker.report.screen import Column, print_rows, say

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
        say(console, undone_sentence(answer))
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
            pen = "In no pen" if not eggs.pen else f"Pen {eggs.pen}"
            pen = f"On the way to pen {eggs.pen}" if eggs.goes else pen
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
    if any(line.before > 2 * goals[line.line] for line in answer.lines):
        say(console, "Beyond twice what a line asks for chicks count nothing in what moving wins.")


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
    for sentence in last_sentences(answer):
        say(console, sentence)
    console.print()
    for sentence in (*warnings(answer), *to_write(answer)):
        say(console, sentence, style="bold")
    say(console, CAUTION)
