"""The evidence of a look ahead: a row a plan, what is to be said of them, the same as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.ahead.figures import FLOCK_KINDS, of_flock
from matchmaker.report.ahead_compare import difference_cell
from matchmaker.report.ahead_document import entry, finite
from matchmaker.report.ahead_words import (
    NOTHING,
    chance_number,
    decimal,
    error_digits,
    how_often,
    inbreeding_cell,
    spread,
)
from matchmaker.report.by_outcome_words import (
    KINDS,
    LEGEND,
    PREMISE,
    head_text,
    rule_text,
    verdict_texts,
)
from matchmaker.report.documents import planned_pens_entry
from matchmaker.report.screen import Column, print_rows, say

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.looking_further import ByOutcome, Contender, Raced
    from matchmaker.report.documents import Document

_COLUMNS: Final = (
    Column(heading="Plan", number=True),
    Column(heading="Kind", name=True),
    *(
        Column(heading=heading, number=True)
        for heading in (
            *("Given\nup", "Goal", "Against\nplan 1", "All lines\nlive, %", "Inbr."),
            "Times\nplayed",
        )
    ),
)


def print_by_outcome(console: Console, found: ByOutcome) -> None:
    """The evidence and the verdict; the plan itself follows."""
    say(console, head_text(found), style="bold")
    if found.raced is not None:
        say(console, PREMISE)
        console.print()
        print_rows(console, _COLUMNS, _rows(found, found.raced))
        say(console, LEGEND)
        say(console, rule_text(found))
    first, *others = verdict_texts(found)
    say(console, first, style="bold")
    for sentence in others:
        say(console, sentence)


def _rows(found: ByOutcome, raced: Raced) -> list[list[str]]:
    digits = error_digits(max(one.se for one in raced.race.standings))
    return [_row(one, raced, digits) for one in found.contenders]


def _row(one: Contender, raced: Raced, digits: int) -> list[str]:
    at = one.number - 1
    standing, lead = raced.race.standings[at], raced.leads[at]
    last = {name: values[:, -1] for name, values in of_flock(raced.outlooks[at]).items()}
    return [
        str(one.number),
        KINDS[one.kind],
        decimal(one.given_up, 2) if at else NOTHING,
        decimal(standing.mean, digits),
        difference_cell(lead.mean, lead.se) if at else NOTHING,
        chance_number(how_often(last["all_alive"])),
        inbreeding_cell(spread(last["inbreeding"]), ends=False),
        f"{standing.replicates}{'' if standing.left_at_round is None else ', out'}",
    ]


def by_outcome_entry(found: ByOutcome) -> Document:
    """The evidence as a key of a plan's document; nothing is rounded."""
    raced = found.raced
    return {
        "seasons": found.horizon.seasons,
        "springs": list(found.springs),
        "replicates": found.rules.most,
        "seed": found.horizon.seed,
        "chance_of_error": found.rules.alpha,
        "indifferent": found.rules.indifferent,
        "ended": None if raced is None else str(raced.race.ended),
        "rounds": 0 if raced is None else raced.race.rounds,
        "most_ahead": None if raced is None else finite(raced.most_ahead),
        "candidates": [_candidate(found, one) for one in found.contenders],
        "sentences": list(verdict_texts(found)),
    }


def _candidate(found: ByOutcome, one: Contender) -> Document:
    plan = one.plan
    return {
        "plan": one.number,
        "kind": str(one.kind),
        "value": plan.solution.value,
        "given_up": one.given_up,
        "hens_moved": one.moved,
        "group_kinship": plan.figures.group_kinship,
        "chosen": one is found.chosen,
        **_played(found.raced, one.number - 1),
        "pens": planned_pens_entry(plan.solution.pens),
    }


def _played(raced: Raced | None, at: int) -> Document:
    """What a plan led to; nulls where it was never played through."""
    if raced is None:
        names = ("goal", "difference", "all_alive", "inbreeding", "left_at_round")
        return {**dict.fromkeys(names), "replicates": 0}
    standing, lead = raced.race.standings[at], raced.leads[at]
    last = {name: values[:, -1] for name, values in of_flock(raced.outlooks[at]).items()}
    return {
        "goal": {"mean": standing.mean, "se": standing.se},
        "difference": {
            "mean": lead.mean,
            "se": lead.se,
            "low": finite(lead.low),
            "high": finite(lead.high),
            "replicates": lead.replicates,
        },
        "all_alive": entry(last["all_alive"], FLOCK_KINDS["all_alive"]),
        "inbreeding": entry(last["inbreeding"], FLOCK_KINDS["inbreeding"]),
        "replicates": standing.replicates,
        "left_at_round": standing.left_at_round,
    }
