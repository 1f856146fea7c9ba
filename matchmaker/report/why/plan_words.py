"""Sentences about what shapes a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.explain.whole import FactKind
from matchmaker.pairs.rules import Rule
from matchmaker.report.one_more import thing
from matchmaker.report.why.choice_words import wish_name
from matchmaker.report.wording import PAIR_STATES

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
    if fact.worth.amount is None:
        return "all"
    about = "" if fact.worth.proved else "about "
    return f"{about}{fact.worth.amount:.2f}"


def fact_sentence(fact: Fact) -> str:
    """What a fact says."""
    return _SENTENCES[fact.kind](fact)


def _cock(fact: Fact) -> str:
    hens = fact.facts["hens"]
    with_hens = "1 hen" if hens == 1 else f"{hens} hens"
    if fact.worth.amount is None:
        return f"without cock {fact.subject} ({with_hens}) there would be no plan at all"
    return f"lost without cock {fact.subject} ({with_hens}), the rest planned anew"


def _line(fact: Fact) -> str:
    return (
        f"given up by the other lines for {fact.subject}, which brings {fact.facts['brings']:.2f} "
        f"with {fact.facts['hens']} hens"
    )


def _rule(fact: Fact) -> str:
    pairs = fact.facts["pairs"]
    number = "1 pair" if pairs == 1 else f"{pairs} pairs"
    return (
        f"cost of the rule \u201c{PAIR_STATES[Rule(fact.subject)]}\u201d, which alone rejects "
        f"{number}"
    )


def _minimum(fact: Fact) -> str:
    return (
        f"cost of asking at least {fact.facts['least']:g} "
        f"{_MINIMUM_WORDS[fact.facts['minimum']]} for {fact.subject}"
    )


def _wish(fact: Fact) -> str:
    wish, price = fact.facts["wish"], fact.facts["price"]
    if price is None:
        return f"without your wish {wish_name(wish)} there would be no plan at all"
    return f"{'cost of' if price > 0 else 'brought in by'} your wish {wish_name(wish)}"


_SENTENCES: Final[Mapping[FactKind, Callable[[Fact], str]]] = {
    FactKind.COCK: _cock,
    FactKind.LINE: _line,
    FactKind.RULE: _rule,
    FactKind.MINIMUM: _minimum,
    FactKind.WISH: _wish,
    FactKind.ONE_MORE: lambda fact: f"would be added by {thing(fact.facts['gain'])}",
}
