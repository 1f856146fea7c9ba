"""The printed season: dates, eggs to set, chicks to expect, the flock's own rates."""

from __future__ import annotations

from collections import defaultdict
from itertools import groupby
from typing import TYPE_CHECKING

from matchmaker.flock.listing import natural
from matchmaker.report.days import day_text, short_day, short_span, weekday_text
from matchmaker.report.numbers import chicks_text, percent
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.season_dates import due_words, pens_words
from matchmaker.report.season_rates import (
    RATES,
    UNSURE,
    cock_sentence,
    egg_sentence,
    rate_remarks,
    trust_sentence,
)
from matchmaker.report.season_words import (
    EXPECTED,
    SURPLUS,
    class_sentences,
    goal_name,
    late_sentences,
    line_sentences,
    pair_sentences,
    safe_sentence,
    source_sentence,
    surplus_sentence,
)
from matchmaker.report.terminal import print_defaults
from matchmaker.report.wording import counted
from matchmaker.season.dates import Task, in_pens
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.season.brood import Brood
    from matchmaker.season.dates import Due
    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.rates import Rate
    from matchmaker.season.setting import Reached


def print_season(console: Console, guide: SeasonGuide) -> None:
    """The whole season."""
    season = guide.table.study.flock.settings.season
    say(console, f"Season {season}", style="bold")
    say(console, source_sentence(guide))
    _print_dates(console, guide)
    _print_lines(console, guide)
    _print_sets(console, guide)
    _print_broods(console, guide)
    _print_rates(console, guide)
    print_defaults(console, guide.table)


def _heading(console: Console, text: str) -> None:
    console.print()
    say(console, text, style="bold")


def _print_dates(console: Console, guide: SeasonGuide) -> None:
    """What is done with the sets of a day stands in one row, everything else in its own."""
    _heading(console, "Dates")
    columns = [Column(heading="Day"), Column(heading="What", sentence=True)]
    season = guide.table.study.flock.settings.season
    rows: list[list[str]] = []
    today = guide.table.study.flock.today
    made_up = any(due.task is Task.PEN_UP and due.day < today for due in guide.dates)
    coming = [due for due in guide.dates if due.day >= today or not made_up]
    for day, dues in groupby(coming, key=lambda due: due.day):
        said = list(_of_day(guide, list(dues)))
        rows += [
            [weekday_text(day, season) if not at else "", text] for at, text in enumerate(said)
        ]
    print_rows(console, columns, rows)
    if len(coming) < len(guide.dates):
        say(console, f"Dates before {day_text(today)} are left out here; --calendar has them.")
    for one in guide.safe:
        sentence = safe_sentence(one, guide)
        if sentence:
            say(console, sentence)
    for sentence in (*late_sentences(guide), *pair_sentences(guide)):
        say(console, sentence)
    if not guide.sets:
        say(console, "No eggs are set, so nothing hatches and nothing follows from it.")


def _of_day(guide: SeasonGuide, dues: Sequence[Due]) -> Iterator[str]:
    sets = [due_words(due, guide.table) for due in dues if "set" in due.about]
    if sets:
        text = "; ".join(sets)
        yield text[:1].upper() + text[1:]
    others: dict[str, list[str]] = defaultdict(list)
    for due in dues:
        if "set" not in due.about:
            others[due_words(due, guide.table)] += due.pens
    for text, pens in others.items():
        yield f"{text}{pens_words(in_pens(pens))}"


def _print_lines(console: Console, guide: SeasonGuide) -> None:
    _heading(console, "Eggs to set")
    sure = percent(guide.certainty, 0 if round(100 * guide.certainty, 6) % 1 == 0 else 1)
    columns = [
        Column(heading="Line"),
        Column(heading="Asked for", number=True),
        Column(heading="For the mean", number=True),
        Column(heading=f"For {sure}", number=True),
        Column(heading="Set already", number=True),
        Column(heading="To set", number=True),
        Column(heading="Expected", number=True),
        Column(heading="Chance", number=True),
    ]
    print_rows(console, columns, [_line_row(one) for one in guide.lines])
    say(
        console,
        "Asked for: wanted chicks. For the mean: eggs from which so many are expected. "
        f"For {sure}: eggs from which it comes with that chance, – where they cannot be set. "
        "Expected: wanted chicks raised of all of them.",
    )
    for sentence in (egg_sentence(guide), *line_sentences(guide)):
        say(console, sentence)
    _say_what_the_certainty_costs(console, guide)


def _line_row(one: Reached) -> list[str]:
    return [
        goal_name(one),
        str(one.goal.main.count),
        "–" if one.for_mean is None else str(one.for_mean),
        str(one.eggs) if one.enough else "–",
        str(one.done),
        str(one.eggs),
        chicks_text(one.expected),
        percent(one.chances[0]),
    ]


def _say_what_the_certainty_costs(console: Console, guide: SeasonGuide) -> None:
    """What not knowing the rates costs, and what setting early and by all hens costs."""
    reached = [one for one in guide.lines if one.enough and one.if_sure is not None]
    unsure = sum(one.eggs - (one.if_sure or 0) for one in reached)
    early = sum(one.eggs - one.fewest for one in reached if one.fewest is not None)
    if unsure > 0:
        say(
            console,
            f"{counted(unsure, 'egg')} of these only cover that your rates are not known for sure, "
            f"least of all {_least_known(guide)}. The more sets you write down, the fewer.",
        )
    if early > 0:
        say(
            console,
            f"{counted(early, 'egg')} fewer would do if those of the likeliest pairs were set all "
            "season long. Here the early ones come first, for early chicks are worth more, and no "
            "line shall hang on one hen.",
        )


def _least_known(guide: SeasonGuide) -> str:
    """The rate whose doubt weighs most, as words in a sentence."""
    rates = (guide.rates.fertility, guide.rates.hatch_of_fertile, guide.rates.rearing)
    most = max(rates, key=lambda one: one.spread / one.value if one.value else 0.0)
    return UNSURE[most.key]


def _print_sets(console: Console, guide: SeasonGuide) -> None:
    if not guide.sets:
        return
    _heading(console, "Sets, eggs by pen")
    pens = in_pens(pen for one in guide.sets for pen in one.pens)
    columns = [
        Column(heading="Set"),
        Column(heading="Laid"),
        Column(heading="Set on"),
        *(Column(heading=pen, number=True) for pen in pens),
        Column(heading="All", number=True),
    ]
    rows = [
        [
            one.number,
            "set already"
            if one.first is None or one.last is None
            else short_span(one.first, one.last),
            short_day(one.set_on),
            *(str(one.eggs[pen]) if pen in one.eggs else "" for pen in pens),
            str(one.total),
        ]
        for one in guide.sets
    ]
    print_rows(console, columns, rows)
    if guide.room.incubator is not None:
        most = max(one.total for one in guide.sets)
        say(
            console,
            f"The incubator takes {guide.room.incubator} eggs a week; the fullest set has {most}.",
        )
    for sentence in _by_hen(guide):
        say(console, sentence)


def _by_hen(guide: SeasonGuide) -> list[str]:
    """Where eggs are told apart by hen: how many of each in all, a sentence a pen."""
    eggs = eggs_by_hen(guide)
    told = [
        f"Pen {pen}, by hen: " + ", ".join(f"{hen} {n}" for hen, n in sorted(eggs[pen].items()))
        for pen in sorted(eggs, key=natural)
    ]
    return [f"{one}." for one in told]


def eggs_by_hen(guide: SeasonGuide) -> dict[str, dict[str, int]]:
    """The eggs to set by pen and hen, of pens in which they are told apart."""
    eggs: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for lot, count in guide.rows:
        if lot.hen:
            eggs[lot.pen][lot.hen] += count
    return eggs


def _print_broods(console: Console, guide: SeasonGuide) -> None:
    if not guide.broods:
        return
    _heading(console, "Chicks to expect")
    columns = [
        Column(heading="Chicks join"),
        Column(heading="Pen"),
        Column(heading="Eggs", number=True),
        Column(heading="Hatch", number=True),
        Column(heading="Raised", number=True),
        Column(heading="Wanted: cockerels", number=True),
        Column(heading="pullets", number=True),
        Column(heading="Not wanted", number=True),
    ]
    print_rows(console, columns, [brood_row(one) for one in guide.broods])
    if guide.room.rearing is not None:
        raised = sum(one.raised for one in guide.broods)
        say(
            console,
            f"In all {chicks_text(raised)} chicks are raised if none is given away before; there "
            f"is room for {guide.room.rearing:g}.",
        )
    say(console, surplus_sentence(guide), style="bold")
    say(console, SURPLUS)
    for sentence in class_sentences(guide):
        say(console, sentence)
    say(console, EXPECTED)


def brood_row(one: Brood) -> list[str]:
    """Line or test, pen, eggs, hatched, raised, wanted cockerels and pullets, not wanted."""
    return [
        one.line or f"test of {one.tested}",
        one.pen,
        str(one.eggs),
        chicks_text(one.hatched),
        chicks_text(one.raised),
        chicks_text(one.wanted[Sex.COCK]),
        chicks_text(one.wanted[Sex.HEN]),
        chicks_text(one.unwanted(Sex.COCK) + one.unwanted(Sex.HEN)),
    ]


def _print_rates(console: Console, guide: SeasonGuide) -> None:
    _heading(console, "What your eggs give")
    columns = [
        Column(heading="Rate"),
        Column(heading="Counted with", number=True),
        Column(heading="90 % sure"),
        Column(heading="From", sentence=True),
    ]
    print_rows(console, columns, [_rate_row(one) for one in guide.rates.all])
    for sentence in (cock_sentence(guide), trust_sentence(), *rate_remarks(guide)):
        if sentence:
            say(console, sentence)


def _rate_row(one: Rate) -> list[str]:
    def told(number: float) -> str:
        return f"{number:.1f}" if one.key == "lay_per_week" else percent(number)

    source = one.words.partition(", ")[2]
    return [RATES[one.key], told(one.value), f"{told(one.low)} to {told(one.high)}", source]
