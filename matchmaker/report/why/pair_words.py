"""Every sentence of an explanation, in plain words with the numbers first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.pair import Verdict
from matchmaker.pairs.rules import Rule
from matchmaker.report.numbers import percent
from matchmaker.report.ways import edit_sentence
from matchmaker.report.why.costs import NOTHING, chicks
from matchmaker.report.wording import listed, rule_sentence, rule_state

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from matchmaker.explain.forced import Forced
    from matchmaker.explain.pair import PairAnswer, Tried
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable

WAIVED_CAUTION: Final = (
    "Close inbreeding costs hatch and vigour, harmful genes cost chicks: think of the birds first, "
    "and ask a veterinarian where they may suffer."
)


def verdict_sentence(answer: PairAnswer) -> str:
    """The answer in one line."""
    pair = answer.pair
    names = f"{pair.hen} with {pair.cock}"
    if answer.verdict is Verdict.PAIRED:
        return f"{names}: paired, in pen {answer.pen}"
    if answer.verdict is Verdict.COULD_PAIR:
        wish = " by your wish, against the rules" if pair.waived else ""
        chosen = "" if answer.plan is None else ", but not chosen"
        return f"{names}: could pair{wish}{chosen}"
    rules = len(list(dict.fromkeys(one.rule for one in pair.broken)))
    return f"{names}: rejected, by {'1 rule' if rules == 1 else f'{rules} rules'}"


def rule_heading(broken: Broken) -> str:
    """The rule's state and its sentence."""
    state, sentence = rule_state(broken), rule_sentence(broken)
    told = sentence if broken.rule in _SAID_ALREADY else f"{state}: {sentence}"
    return f"{told[0].upper()}{told[1:]}."


_SAID_ALREADY: Final = (Rule.WISHED_APART, Rule.LINE_CLOSED)
"""Rules whose sentence begins with what the state says."""


def evidence(answer: PairAnswer, broken: Broken) -> Iterator[str]:
    """What a rule rests on, beyond its own sentence."""
    if broken.rule is Rule.LINE_CLOSED:
        yield from _open_rows(answer.table, broken)
    if broken.rule in (Rule.NO_WANTED_CHICKS, Rule.LETHAL_CHICKS):
        yield from _carriers(answer, broken)
    if broken.rule is Rule.UNPROVEN:
        yield (
            f"matchmaker flock {broken.facts['bird']} shows what that rests on, matchmaker tests "
            "whether a test is worth it."
        )


def _open_rows(table: PairTable, broken: Broken) -> Iterator[str]:
    """Where the hens and the cocks of the two lines may go this season instead."""
    facts = broken.facts
    for kind, line in (("hens", str(facts["hens"])), ("cocks", str(facts["cocks"]))):
        rows = [row for row in table.crossings if line in getattr(row, kind)]
        mates = sorted(
            {mate for row in rows for mate in (row.cocks if kind == "hens" else row.hens)}
        )
        names = listed([f"\u201c{row.name}\u201d" for row in rows]) if rows else ""
        other = "cocks" if kind == "hens" else "hens"
        yield (
            f"{line} {kind} go with {listed(mates)} {other} this season ({names})."
            if rows
            else f"No row is open for {line} {kind} this season."
        )


def _carriers(answer: PairAnswer, broken: Broken) -> Iterator[str]:
    """What hen and cock carry of the loci that a rule is about."""
    genotypes = answer.table.study.genotypes
    for locus in str(broken.facts["locus"]).split(" and "):
        if locus not in genotypes:
            continue
        chance = genotypes[locus].carrier_probability
        hen, cock = answer.pair.hen, answer.pair.cock
        yield (
            f"{hen} carries {locus} with {percent(chance(hen))}, {cock} with "
            f"{percent(chance(cock))}."
        )


def forced_sentences(answer: PairAnswer, forced: Forced) -> Iterator[str]:
    """What the plan is worth with the pair in it, in one sentence or two."""
    waived = answer.verdict is Verdict.REJECTED
    head = "If the rules were waived for this pair alone" if waived else "If it were forced"
    if forced.loss is None or forced.value is None:
        yield f"{head}: {_no_plan(forced)}."
        return
    best = forced.value + forced.loss
    yield f"{head}: {_price(forced)}. Best plan with it {forced.value:.2f}, best of all {best:.2f}."


def _no_plan(forced: Forced) -> str:
    """Why there is no plan with a pair, or none was found."""
    if not forced.conflict:
        return "no plan with it was found in the time there was (--thorough looks longer)"
    return f"no plan can have it. Against it stand: {'; '.join(forced.conflict)}"


def _price(forced: Forced) -> str:
    loss, least = forced.loss or 0.0, forced.least_loss or 0.0
    if forced.proved and loss == 0:
        return "nothing is lost, a plan with it is worth as much"
    if loss < 0:
        return f"the plan would be worth {chicks(loss)} more"
    if forced.proved:
        return f"it costs {chicks(loss)}"
    return (
        f"it costs {loss:.2f} wanted chicks at most, {max(0.0, least):.2f} at least (--thorough "
        "closes that)"
    )


def banned_sentence(banned: Forced) -> str:
    """What the plan would be without the pair."""
    if banned.loss is None or banned.value is None:
        return f"Without it: {_no_plan(banned)}."
    if banned.proved and banned.loss == 0:
        return "Without it nothing is lost: another plan is worth as much."
    word = "" if banned.proved else " at most"
    return (
        f"Without it the best plan is worth {chicks(banned.loss)} less{word} "
        f"({banned.value:.2f} in place of {banned.value + banned.loss:.2f})."
    )


def tried_sentence(tried: Tried) -> str:
    """A remedy, as the edits to make, and what the pair then costs."""
    edits = "; and ".join(edit_sentence(edit) for edit in tried.remedy.edits)
    forced = tried.forced
    if forced.loss is None:
        end = f"then it is allowed, but {_no_plan(forced)}"
    elif forced.proved and forced.loss == 0:
        end = "then it is allowed, and a best plan can have it"
    else:
        end = f"then it is allowed, but {_price(forced)}"
    return f"{edits[0].upper()}{edits[1:]} → {end}."


def fixed_sentence(broken: Broken) -> str:
    """Why no limit helps against a rule."""
    return f"{rule_state(broken)}: {_FIXED.get(broken.rule, _no_limit)(broken)}"


def _no_limit(_: Broken) -> str:
    return "no limit changes that"


_FIXED: Final[Mapping[Rule, Callable[[Broken], str]]] = {
    Rule.TOO_RELATED: lambda _: "no limit is raised above 0.25, the kinship of full sibs",
    Rule.LETHAL_CHICKS: lambda one: (
        "no wish and no limit allows it" if one.final else "no limit is raised for it"
    ),
    Rule.NOT_AVAILABLE: lambda one: (
        "it is gone" if one.final else "write release_on in birds.csv once it is free"
    ),
    Rule.NO_WANTED_CHICKS: lambda _: "no limit gives it a wanted chick",
    Rule.UNPROVEN: lambda one: (
        "only another finding would: a test, or chicks that show it"
        if (one.measured or 0.0) < NOTHING
        else "no limit is lowered so far"
    ),
    Rule.UNFIT: lambda one: (
        f"unless the floor of {one.facts['trait']} is lowered to {one.measured:g}"
        if "trait" in one.facts
        else "unless the record of the defect is wrong"
    ),
    Rule.NOTHING_TO_TEST: lambda _: "there is nothing to find out",
}
