"""Sentences about what shapes a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.whole import FactKind
from matchmaker.pairs.rules import Rule
from matchmaker.report.one_more import thing
from matchmaker.report.why.choice_words import wish_name
from matchmaker.report.wording import PAIR_STATES, counted

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from matchmaker.explain.whole import Fact

_MINIMUM_WORDS: Final = {
    "cocks_min": "cocks",
    "hens_min": "hens",
    "wanted_min": "wanted chicks",
    "wanted_cocks_min": "wanted sons",
    "wanted_hens_min": "wanted daughters",
    "sure_cocks_min": "sons, expected, to be sure enough",
    "sure_hens_min": "daughters, expected, to be sure enough",
}


def fact_amount(fact: Fact) -> str:
    """What a fact is worth, for a table."""
    worth = fact.worth
    if worth.impossible:
        return "all"
    if worth.high is None:
        return f"≥ {max(0.0, worth.low):.2f}"
    low, high = f"{max(0.0, worth.low):.2f}", f"{worth.high:.2f}"
    return high if low == high else f"{low} to {high}"


def fact_sentence(fact: Fact) -> str:
    """What a fact says."""
    return _SENTENCES[fact.kind](fact)


def _cock(fact: Fact) -> str:
    hens = fact.facts["hens"]
    with_hens = counted(hens, "hen")
    if fact.worth.impossible:
        return f"without cock {fact.subject} ({with_hens}) there would be no plan at all"
    return f"lost without cock {fact.subject} ({with_hens}), the rest planned anew"


def _line(fact: Fact) -> str:
    return (
        f"that the other lines could have more if nothing were bred for {fact.subject} (its own "
        f"{fact.facts['hens']} hens count {fact.facts['brings']:.2f})"
    )


def _rule(fact: Fact) -> str:
    pairs, rule = fact.facts["pairs"], Rule(fact.subject)
    number = counted(pairs, "pair")
    what = "not proven to carry, or to be free" if rule is Rule.UNPROVEN else PAIR_STATES[rule]
    return f"cost of the rule \u201c{what}\u201d, which alone rejects {number}"


def _minimum(fact: Fact) -> str:
    return (
        f"cost of asking at least {fact.facts['least']:g} "
        f"{_MINIMUM_WORDS[fact.facts['minimum']]} for {fact.subject}"
    )


def _wish(fact: Fact) -> str:
    wish = fact.facts["wish"]
    if fact.worth.impossible:
        return f"without your wish {wish_name(wish)} there would be no plan at all"
    brings = wish.wish == "allow"
    return f"{'brought in by' if brings else 'cost of'} your wish {wish_name(wish)}"


_SENTENCES: Final[Mapping[FactKind, Callable[[Fact], str]]] = {
    FactKind.COCK: _cock,
    FactKind.LINE: _line,
    FactKind.RULE: _rule,
    FactKind.MINIMUM: _minimum,
    FactKind.WISH: _wish,
    FactKind.ONE_MORE: lambda fact: f"would be added by {thing(fact.facts['gain'])}",
}
