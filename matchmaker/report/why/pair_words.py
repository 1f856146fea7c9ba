"""Every sentence of an explanation, in plain words with the numbers first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.pair import Verdict
from matchmaker.pairs.rules import Rule
from matchmaker.report.locus_sentences import plain_name
from matchmaker.report.numbers import percent
from matchmaker.report.ways import edit_sentence
from matchmaker.report.why.costs import CLOSES, NOTHING, change_text
from matchmaker.report.wording import counted, listed, rule_sentence, rule_state

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from matchmaker.explain.forced import Forced
    from matchmaker.explain.pair import PairAnswer, Tried
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import PairTable


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
    count = len(pair.broken)
    return f"{names}: rejected, for {counted(count, 'reason')}"


WAIVED: Final = "Your written wish allows it all the same."
"""What is said behind the rules of a pair that a wish allows."""


def rule_heading(broken: Broken) -> str:
    """The rule's state and its sentence."""
    state, sentence = rule_state(broken), rule_sentence(broken)
    told = sentence if broken.rule in _SAID_ALREADY else f"{state}: {sentence}"
    return f"{told[0].upper()}{told[1:]}."


_SAID_ALREADY: Final = (Rule.WISHED_APART, Rule.LINE_CLOSED)
"""Rules whose sentence begins with what the state says."""


def evidence(answer: PairAnswer, broken: Broken) -> Iterator[str]:
    """What a rule rests on, beyond its own sentence."""
    unproven = any(one.rule is Rule.UNPROVEN for one in answer.pair.broken)
    if broken.rule is Rule.LINE_CLOSED:
        yield from _open_rows(answer.table, broken)
    if broken.rule is Rule.LETHAL_CHICKS:
        yield from _carriers(answer, broken)
    if broken.rule is Rule.NO_WANTED_CHICKS and not unproven:
        yield from _carriers(answer, broken)
    if broken.rule is Rule.UNPROVEN:
        bird, locus = str(broken.facts["bird"]), str(broken.facts["locus"])
        yield (
            f"{locus} is {plain_name(answer.table.study.loci[locus])}. matchmaker flock {bird} "
            "shows which records that rests on."
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
            f"The chance that {hen} carries {locus} is {percent(chance(hen))}, that {cock} does "
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
    found = "best" if forced.proved else "best found"
    yield (
        f"{head}, the plan {_change(forced)}{'' if forced.proved else CLOSES}: {found} with it "
        f"{forced.value:.2f}, best of all {best:.2f}."
    )


def _change(forced: Forced) -> str:
    """What the plan gains or loses with a pair in it."""
    if forced.loss is None or forced.least_loss is None:
        return change_text(None, None)
    return change_text(0.0 - forced.loss, 0.0 - forced.least_loss)


def _no_plan(forced: Forced) -> str:
    """Why there is no plan with a pair, or none was found."""
    if not forced.conflict:
        return "no plan with it is known yet (--thorough looks longer)"
    return f"no plan can have it. Against it stand: {'; '.join(forced.conflict)}"


def banned_sentence(banned: Forced) -> str:
    """What the plan would be without the pair."""
    if banned.loss is None or banned.value is None:
        if banned.conflict:
            return f"It is in every plan there can be: {'; '.join(banned.conflict)}."
        return "A plan without it is not known yet (--thorough looks longer)."
    if banned.proved and banned.loss == 0:
        return "Without it nothing is lost: another plan is worth as much."
    best = banned.value + banned.loss
    found = "best" if banned.proved else "best found"
    return (
        f"Without it the plan {_change(banned)}{'' if banned.proved else CLOSES}: {found} "
        f"{banned.value:.2f}, best of all {best:.2f}."
    )


def tried_sentence(tried: Tried) -> str:
    """A remedy, as the edits to make, and what the plan is then worth against today's."""
    edits = "; and ".join(edit_sentence(edit) for edit in tried.remedy.edits)
    lets = "" if not tried.others else f" (lets in {tried.others} other pairs too)"
    lets = lets.replace("1 other pairs", "1 other pair")
    if any(edit.matings for edit in tried.remedy.edits):
        lets += ", and all pairs of the line are measured anew"
    return f"{edits[0].upper()}{edits[1:]} → then it is allowed{lets}. {_then(tried)}"


def _then(tried: Tried) -> str:
    """What the best plan is then worth, and what it is worth with the pair in it."""
    gain, forced = tried.gain, tried.forced
    best = f"The best plan then {change_text(gain.low, gain.high)}"
    if forced.loss is None:
        return f"{best}; {_no_plan(forced)}."
    open_ = "" if gain.proved and forced.proved else CLOSES
    if (gain.low, gain.high) == (0.0 - forced.loss, 0.0 - (forced.least_loss or 0.0)):
        return f"{best}, with the two paired too{open_}."
    return f"{best}; with the two paired it {_change(forced)}{open_}."


def cautions(answer: PairAnswer) -> Iterator[str]:
    """What to mind before a rule is set aside, each only where its rule speaks."""
    told: dict[str, None] = {}
    for broken in answer.pair.broken:
        key = broken.facts.get("why") if broken.rule is Rule.NOT_AVAILABLE else broken.rule
        if key in _CAUTIONS:
            told[_CAUTIONS[str(key)](broken)] = None
    yield from filter(None, told)


_CAUTIONS: Final[Mapping[str, Callable[[Broken], str]]] = {
    str(Rule.TOO_RELATED): lambda _: (
        "Close inbreeding costs hatch and vigour in this brood and the next; what is counted here "
        "is this season only."
    ),
    str(Rule.LETHAL_CHICKS): lambda one: (
        f"{percent(one.measured or 0.0)} of the chicks would die or suffer, and the figures above "
        f"do not take them off. Test both for {one.facts['locus']} first, and ask a veterinarian."
    ),
    str(Rule.UNFIT): lambda one: (
        "" if "trait" in one.facts else "A defect may be inherited: ask a veterinarian first."
    ),
    str(Rule.WISHED_APART): lambda _: "They were parted for a reason: think of the birds first.",
    str(Rule.TOO_YOUNG): lambda _: "A bird too young lays and treads poorly, and may be hurt.",
    "quarantine": lambda one: (
        f"{one.facts['bird']} may bring disease to the whole flock: let the quarantine run out, "
        "follow the rules where you live, and ask a veterinarian."
    ),
    "rest": lambda one: f"{one.facts['bird']} was to recover: think of the bird first.",
}


def fixed_sentence(answer: PairAnswer, broken: Broken) -> str:
    """Why no limit helps against a rule; one that only an opened row brings up is told whole."""
    why = _FIXED.get(broken.rule, _no_limit)(broken)
    if broken not in answer.pair.broken:
        return f"Opening the crossing would not help, {rule_sentence(broken)}: {why}"
    return f"{rule_state(broken)[0].upper()}{rule_state(broken)[1:]}: {why}"


def _no_limit(_: Broken) -> str:
    return "no limit changes that"


_FIXED: Final[Mapping[Rule, Callable[[Broken], str]]] = {
    Rule.TOO_RELATED: lambda _: "no limit is raised above 0.25, the kinship of full sibs",
    Rule.LETHAL_CHICKS: lambda one: (
        "no wish and no limit allows it" if one.final else "no limit is raised for it"
    ),
    Rule.NOT_AVAILABLE: lambda one: (
        "it is gone"
        if one.final
        else "it is free when no more eggs are kept, or its release_on is not written in birds.csv"
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
    Rule.TOO_YOUNG: lambda one: (
        f"it is old enough {(one.limit or 0.0) - (one.measured or 0.0):.0f} days later, when no "
        "more eggs are kept"
    ),
}
