"""What a plan uses up, in words."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.plan.season.binding import Resource
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.line_sentences import one_more_chick
from matchmaker.report.numbers import chicks_text, kinship_digits, kinship_text, percent
from matchmaker.report.wording import PAIR_STATES, listed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from matchmaker.plan.season.binding import Rejects, Used
    from matchmaker.plan.season.season_plan import SeasonPlan

NAMES: Final[Mapping[Resource, str]] = {
    Resource.PENS: "pens with a cock",
    Resource.PLACES: "hens in pen",
    Resource.COCK: "hens of cock",
    Resource.CHICKS: "chicks to raise",
    Resource.EGGS: "eggs to set in the busiest week",
    Resource.PAIR_KINSHIP: "kinship of the closest pair,",
    Resource.MEAN_INBREEDING: "mean inbreeding of the chicks",
    Resource.SIRE_SHARE: "part of all pairs that one cock has,",
    Resource.GROUP_KINSHIP: "kinship of the parents as a group",
}

_TEXTS: Final[Mapping[Resource, Callable[[float], str]]] = {
    Resource.PENS: "{:.0f}".format,
    Resource.PLACES: "{:.0f}".format,
    Resource.COCK: "{:.0f}".format,
    Resource.CHICKS: chicks_text,
    Resource.EGGS: chicks_text,
    Resource.PAIR_KINSHIP: kinship_text,
    Resource.MEAN_INBREEDING: kinship_text,
    Resource.SIRE_SHARE: percent,
    Resource.GROUP_KINSHIP: kinship_digits,
}


def binding_table(used: Sequence[Used]) -> TextTable:
    """A row for each thing that is used: how much, of how much, and whether anything is left."""
    columns = [
        Column(heading="What"),
        Column(heading="Used", number=True),
        Column(heading="Of", number=True),
        Column(heading="Left"),
    ]
    rows = [
        [
            f"{NAMES[one.resource]} {one.subject}".strip(),
            _TEXTS[one.resource](one.used),
            _TEXTS[one.resource](one.limit),
            "nothing left" if one.full else _TEXTS[one.resource](one.limit - one.used),
        ]
        for one in used
    ]
    return TextTable(columns=columns, rows=rows)


def binding_sentences(plan: SeasonPlan, used: Sequence[Used]) -> Iterator[str]:
    """What is used up, in a few sentences, and what one line more of it would ask for."""
    full: dict[Resource, list[str]] = defaultdict(list)
    for one in used:
        if one.full:
            full[one.resource].append(one.subject)
    if full:
        yield f"Used up: {listed([_used_up(kind, names) for kind, names in full.items()])}."
    else:
        yield "Nothing is used up: places, cocks and rooms are left."
    yield from _line_sentences(plan)
    yield "What one more of each would add: matchmaker plan --one-more."


def _used_up(kind: Resource, names: Sequence[str]) -> str:
    if kind is Resource.PENS:
        return "every pen has its cock"
    if kind is Resource.PLACES:
        return f"no place is free in {'pen' if len(names) == 1 else 'pens'} {listed(names)}"
    if kind is Resource.COCK:
        return f"{listed(names)} {'has' if len(names) == 1 else 'have'} all the hens allowed"
    return {
        Resource.CHICKS: "the rearing room",
        Resource.EGGS: "the incubator",
        Resource.PAIR_KINSHIP: f"the kinship limit ({listed(names)})",
        Resource.MEAN_INBREEDING: "the limit of mean inbreeding",
        Resource.SIRE_SHARE: f"the part that one cock may have ({listed(names)})",
        Resource.GROUP_KINSHIP: "the limit of the parents' kinship as a group",
    }[kind]


def _line_sentences(plan: SeasonPlan) -> Iterator[str]:
    """Which lines have all that counts, which count a quarter more, which lack chicks."""
    asked = {goal.line: goal.chicks_wanted for goal in plan.problem.lines}
    states: dict[str, list[str]] = defaultdict(list)
    for total in plan.solution.lines:
        states[one_more_chick(total.worth, asked[total.line])].append(total.line)
    for state, lines in states.items():
        yield f"{listed(lines)}: {state}."


def rejects_table(found: Sequence[Rejects]) -> TextTable:
    """A row for each rule: the pairs it rejects, and those that only it rejects."""
    columns = [
        Column(heading="Rule"),
        Column(heading="Pairs", number=True),
        Column(heading="by it alone", number=True),
    ]
    rows = [[PAIR_STATES[one.rule], str(one.pairs), str(one.alone)] for one in found]
    legend = (
        "Pairs of a hen and a cock that the rule rejects; of a pair in several rows the one with "
        "the fewest rules counts. By it alone: no other rule stands in the way."
    )
    return TextTable(columns=columns, rows=rows, legend=legend)
