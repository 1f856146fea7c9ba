"""What ``why`` prints of a hen and a cock."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.pair import Verdict
from matchmaker.pairs.rules import Rule
from matchmaker.plan.no_plan.repair import Act
from matchmaker.report.alternatives import difference_sentences
from matchmaker.report.numbers import kinship_text
from matchmaker.report.screen import print_rows, say
from matchmaker.report.ways import toml_rows
from matchmaker.report.why.choice_words import choosing_sentences, wish_sentence
from matchmaker.report.why.kin_drawing import drawn, side_by_side
from matchmaker.report.why.kin_words import MOST_FOREBEARS, joined, kinship_heading, path_sentences
from matchmaker.report.why.pair_words import (
    WAIVED,
    banned_sentence,
    cautions,
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
from matchmaker.report.wording import rule_state

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.explain.forced import Forced
    from matchmaker.explain.pair import PairAnswer, Tried
    from matchmaker.genetics.kin.wright_paths import Path

MOST_DRAWN: Final = 3
"""Paths drawn."""

MOST_MOVES: Final = 5
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
        say(console, WAIVED, indent=2)
        for caution in cautions(answer):
            say(console, caution, indent=2)
    for other in answer.others:
        if other.crossing is not None and answer.pair.crossing is not None:
            states = ", ".join(dict.fromkeys(map(rule_state, other.broken)))
            state = "could pair" if other.allowed else f"rejected ({states})"
            say(console, f"In the row \u201c{other.crossing.name}\u201d: {state}.", indent=2)


def _print_kin(console: Console, answer: PairAnswer) -> None:
    told = joined(answer)
    console.print()
    say(console, kinship_heading(told), style="bold")
    if not answer.kin.listed:
        return
    for sentence in path_sentences(told, MOST_FOREBEARS):
        say(console, sentence, indent=2)
    related = any(one.rule is Rule.TOO_RELATED for one in answer.pair.broken)
    if related or answer.pair.kinship >= FAR:
        plain = not (console.encoding or "").lower().startswith("utf")
        drawings = [_drawing(answer, path, plain=plain) for path in answer.kin.listed[:MOST_DRAWN]]
        console.print()
        if len(answer.kin.listed) > MOST_DRAWN:
            ways = len(answer.kin.listed)
            say(console, f"The {MOST_DRAWN} largest of its {ways} ways, drawn:", indent=2)
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
    own = ", beside the plan's own choices" if len(beside) > 1 else ""
    say(console, f"What it is worth{own}", style="bold")
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
    sentences = difference_sentences(answer.plan, forced.pens, with_pens=False)
    told = sentences if len(sentences) <= MOST_MOVES else sentences[: MOST_MOVES - 1]
    for sentence in told:
        say(console, sentence, indent=2)
    if len(told) < len(sentences):
        say(console, f"{len(sentences) - len(told)} more changes: --json lists them.", indent=2)


def _print_remedies(console: Console, answer: PairAnswer) -> None:
    if answer.remedies is not None:
        console.print()
        say(console, "What it would take for it to be allowed", style="bold")
        for one in answer.remedies.fixed:
            say(console, f"{fixed_sentence(answer, one)}.", indent=2)
        long_last = sorted(answer.tried, key=lambda one: any(e.matings for e in one.remedy.edits))
        for tried in long_last:
            say(console, tried_sentence(tried), indent=2)
            _print_new_rows(console, tried)
        for caution in cautions(answer) if answer.tried else ():
            say(console, caution, indent=2)
    told = () if answer.choosing is None else tuple(choosing_sentences(answer, answer.choosing))
    if told:
        console.print()
    for sentence in told:
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
        say(console, "Your wishes about either of them", style="bold")
        for one in answer.wishes:
            say(console, f"{wish_sentence(one)}.", indent=2)
