"""What ``why`` prints of a bird, of a pen, and of the whole plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.why.bird_words import (
    bird_sentence,
    cock_sentence,
    empty_sentence,
    idle_sentence,
    kept_rows,
    next_sentence,
    pen_sentence,
    place_rows,
    refused_sentences,
    worth_sentence,
)
from matchmaker.report.why.choice_words import using_sentences, wish_sentence
from matchmaker.report.why.costs import not_worked_out
from matchmaker.report.why.plan_words import fact_amount, fact_sentence
from matchmaker.report.wording import rule_sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from matchmaker.explain.bird import BirdAnswer
    from matchmaker.explain.pen import PenAnswer, Stint
    from matchmaker.explain.whole import Fact

MOST_PLACES: Final = 6
"""Places of a bird that are printed; ``--json`` has all."""


def print_bird_answer(console: Console, answer: BirdAnswer) -> None:
    """Why a bird is where it is, or nowhere, and what its other places cost."""
    say(console, f"{bird_sentence(answer)}.", style="bold")
    for one in answer.broken:
        say(console, f"{rule_sentence(one)}, whatever the mate.", indent=2)
    if not answer.placed and not answer.broken and (answer.plan or not answer.bird.alive_here):
        say(console, idle_sentence(answer), indent=2)
    if answer.worth is not None:
        say(console, worth_sentence(answer.bird.band, answer.worth), indent=2)
    _print_places(console, answer)
    if answer.refused:
        console.print()
        say(console, "Mates that are rejected", style="bold")
        for sentence in refused_sentences(answer):
            say(console, f"{sentence}.", indent=2)
        say(console, f"One of them in full: matchmaker why {answer.bird.band} MATE", indent=2)
    _print_use(console, answer)


def _print_use(console: Console, answer: BirdAnswer) -> None:
    if answer.choosing is not None:
        console.print()
        for sentence in using_sentences(answer, answer.choosing):
            say(console, sentence)
    for wish in answer.wishes:
        say(console, f"Your wish {wish_sentence(wish)}.")


def _print_places(console: Console, answer: BirdAnswer) -> None:
    possible = [one for one in answer.places if one.cost is None or not one.cost.impossible]
    if answer.places and not possible:
        say(console, "No plan can have it elsewhere: its wishes stand against that.", indent=2)
    rows = place_rows(answer, MOST_PLACES)
    if not possible:
        return
    console.print()
    more = len(answer.places) - len(rows)
    heading = "Its other places" if answer.placed else "Its places"
    say(console, f"{heading}, the cheapest first", style="bold")
    columns = [
        Column(heading="With"),
        Column(heading="Chicks join"),
        Column(heading="Kinship", number=True),
        Column(heading="Wanted", number=True),
        Column(heading="Value", number=True),
        Column(heading="Would cost", number=True),
    ]
    print_rows(console, columns, rows)
    end = f" {more} more: --json." if more > 0 else ""
    if answer.worked_out:
        say(
            console,
            "Kinship: of the two, 0 to 1. Wanted: chance that a chick is. Value: wanted chicks "
            "that the pair counts. Would cost: wanted chicks by which the best plan with this pair "
            f"falls short of the best of all; 0 is a tie.{_open_costs(answer)}{end}",
        )
    else:
        say(console, f"{not_worked_out()}{end}")


def _open_costs(answer: BirdAnswer) -> str:
    """How to have the costs that are no single number yet."""
    costs = [one.cost for one in answer.places if one.cost is not None]
    closed = all(one.known for one in costs)
    return "" if closed else " --thorough closes ranges and finds what is not known."


def print_pen_answer(console: Console, answer: PenAnswer) -> None:
    """Why a pen is as it is."""
    say(console, f"{pen_sentence(answer)}.", style="bold")
    if not answer.stints:
        say(console, f"Nothing is in it. {empty_sentence(answer)}", indent=2)
    for stint in answer.stints:
        _print_stint(console, stint)


def _print_stint(console: Console, stint: Stint) -> None:
    turn = f" ({stint.filled.turn})" if stint.filled.turn else ""
    say(console, f"Cock {stint.filled.cock}{turn}. {cock_sentence(stint)}", indent=2)
    console.print()
    columns = [
        Column(heading="Hen"),
        Column(heading="Chicks join"),
        Column(heading="Lost without the pair", number=True),
    ]
    print_rows(console, columns, kept_rows(stint))
    say(console, "Lost without the pair: in wanted chicks, all others placed anew; 0 is a tie.")
    if stint.next_hens:
        say(console, next_sentence(stint))


def print_plan_answer(console: Console, facts: Sequence[Fact]) -> None:
    """What shapes the plan most."""
    say(console, "What shapes the plan most, in wanted chicks (each by itself)", style="bold")
    if not facts:
        say(console, "Nothing does: whatever is changed, the best plan is worth as much.")
        return
    columns = [Column(heading="Worth", number=True), Column(heading="What", sentence=True)]
    print_rows(console, columns, [[fact_amount(one), fact_sentence(one)] for one in facts])
    open_ = not all(one.worth.proved for one in facts)
    more = " A range is proved; --thorough narrows it." if open_ else ""
    say(console, f"Each was solved again, all else as it is; they do not add up.{more}")
