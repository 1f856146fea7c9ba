"""What ``why`` prints of a hen and a cock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.pair import Verdict
from matchmaker.pairs.rules import Rule
from matchmaker.plan.repair import Act
from matchmaker.report.alternatives import difference_sentences
from matchmaker.report.numbers import kinship_text
from matchmaker.report.screen import print_rows, say
from matchmaker.report.ways import toml_rows
from matchmaker.report.why.choice_words import choosing_sentences, wish_sentence
from matchmaker.report.why.kin_drawing import drawn, side_by_side
from matchmaker.report.why.kin_words import kinship_heading, path_sentences
from matchmaker.report.why.pair_words import (
    WAIVED_CAUTION,
    banned_sentence,
    evidence,
    fixed_sentence,
    forced_sentences,
    rule_heading,
    tried_sentence,
    verdict_sentence,
)
from matchmaker.report.why.terms import (
    beside_sentences,
    columns_beside,
    term_columns,
    term_rows,
)

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.explain.forced import Forced
    from matchmaker.explain.pair import PairAnswer, Tried
    from matchmaker.genetics.kin.wright_paths import Path

MOST_DRAWN: Final = 3
"""Paths drawn."""

MOST_FOREBEARS: Final = 4
"""Common forebears told one by one."""

MOST_MOVES: Final = 6
"""Changes of the pens told one by one."""

FAR: Final = 0.03
"""Below this kinship nothing is drawn: the birds are further apart than second cousins."""


def print_pair_answer(console: Console, answer: PairAnswer) -> None:
    """The whole answer about a hen and a cock."""
    say(console, f"{verdict_sentence(answer)}.", style="bold")
    _print_rules(console, answer)
    _print_kin(console, answer)
    _print_terms(console, answer)
    _print_prices(console, answer)
    _print_remedies(console, answer)
    _print_wishes(console, answer)


def _print_rules(console: Console, answer: PairAnswer) -> None:
    broken = answer.pair.broken
    for one in broken:
        say(console, rule_heading(one), indent=2)
        for sentence in evidence(answer, one):
            say(console, sentence, indent=4)
    if answer.pair.waived:
        say(console, f"Your written wish allows it all the same. {WAIVED_CAUTION}", indent=2)
    for other in answer.others:
        if other.crossing is not None and answer.pair.crossing is not None:
            state = "could pair there too" if other.allowed else "rejected there too"
            say(console, f"In the row \u201c{other.crossing.name}\u201d: {state}.", indent=2)


def _print_kin(console: Console, answer: PairAnswer) -> None:
    console.print()
    say(console, kinship_heading(answer), style="bold")
    if not answer.kin.listed:
        return
    for sentence in path_sentences(answer, MOST_FOREBEARS):
        say(console, sentence, indent=2)
    related = any(one.rule is Rule.TOO_RELATED for one in answer.pair.broken)
    if related or answer.pair.kinship >= FAR:
        plain = not (console.encoding or "").lower().startswith("utf")
        drawings = [_drawing(answer, path, plain=plain) for path in answer.kin.listed[:MOST_DRAWN]]
        console.print()
        for line in side_by_side(drawings, console.width - 4):
            _print_as_is(console, f"    {line}")


def _drawing(answer: PairAnswer, path: Path, *, plain: bool) -> list[str]:
    birds = answer.table.study.flock.by_band()
    pair = answer.pair

    def named(band: str) -> str:
        sex = birds[band].sex
        if band in (pair.hen, pair.cock):
            return f"{sex} {band}"
        return f"{'sire' if sex == 'cock' else 'dam'} {band}"

    first = [*map(named, path.first[:-1]), path.ancestor]
    second = [*map(named, path.second[:-1]), path.ancestor]
    if path.ancestor in (pair.hen, pair.cock):
        first[-1] = second[-1] = named(path.ancestor)
    return drawn(first, second, kinship_text(float(path.kinship)), plain=plain)


def _print_terms(console: Console, answer: PairAnswer) -> None:
    beside = columns_beside(answer)
    console.print()
    say(console, "What it is worth, beside the plan's own choices", style="bold")
    print_rows(console, term_columns(beside), list(term_rows(answer, beside)))
    for sentence in beside_sentences(answer, beside):
        say(console, sentence)


def _print_prices(console: Console, answer: PairAnswer) -> None:
    if answer.plan is None:
        console.print()
        say(console, "There is no plan at present, so it has no price: matchmaker plan says why.")
        return
    if answer.if_forced is None and answer.if_banned is None:
        return
    console.print()
    if answer.verdict is Verdict.PAIRED and answer.if_banned is not None:
        say(console, banned_sentence(answer.if_banned))
        _print_moves(console, answer, answer.if_banned)
    elif answer.if_forced is not None:
        for sentence in forced_sentences(answer, answer.if_forced):
            say(console, sentence)
        _print_moves(console, answer, answer.if_forced)


def _print_moves(console: Console, answer: PairAnswer, forced: Forced) -> None:
    """Which pens change, in a few sentences."""
    assert answer.plan is not None  # noqa: S101  a price comes of a plan
    if not forced.pens:
        return
    sentences = difference_sentences(answer.plan, forced.pens)
    for sentence in sentences[:MOST_MOVES]:
        say(console, sentence, indent=2)
    more = len(sentences) - MOST_MOVES
    if more > 0:
        say(console, f"And {more} more such changes, as --json lists them.", indent=2)


def _print_remedies(console: Console, answer: PairAnswer) -> None:
    if answer.remedies is not None:
        console.print()
        say(console, "What it would take for it to be allowed", style="bold")
        for one in answer.remedies.fixed:
            say(console, fixed_sentence(one), indent=2)
        for tried in answer.tried:
            say(console, tried_sentence(tried), indent=2)
            _print_new_rows(console, tried)
        if answer.tried:
            say(console, WAIVED_CAUTION, indent=2)
    if answer.choosing is not None:
        console.print()
        for sentence in choosing_sentences(answer, answer.choosing):
            say(console, sentence)


def _print_new_rows(console: Console, tried: Tried) -> None:
    for edit in tried.remedy.edits:
        if edit.act is Act.OPEN_ROW:
            for line in toml_rows(edit.matings).splitlines():
                console.print(
                    f"      {line}", markup=False, highlight=False, no_wrap=True, crop=False
                )


def _print_as_is(console: Console, line: str) -> None:
    console.print(line.rstrip(), markup=False, highlight=False, no_wrap=True, crop=False)


def _print_wishes(console: Console, answer: PairAnswer) -> None:
    if answer.wishes:
        console.print()
        say(console, "Your wishes about the two, and what each costs", style="bold")
        for one in answer.wishes:
            say(console, f"{wish_sentence(one)}.", indent=2)
