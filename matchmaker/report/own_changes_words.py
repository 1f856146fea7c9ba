"""How the pens that stand differ from the best plan, in words."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.rules import nearest_cause
from matchmaker.report.columns import Column, TextTable
from matchmaker.report.numbers import kinship_text
from matchmaker.report.why.costs import NOTHING, chicks, cost_text
from matchmaker.report.wording import reasons
from matchmaker.season.standing import Source

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import Key
    from matchmaker.season.own_changes import OwnChanges

FILES: Final[Mapping[Source, str]] = {Source.PLAN: "plan.csv", Source.MOVES: "moves.csv"}

AGREES: Final = (
    "The pens that stand are as good as any: nothing is given up. What you changed, if you did, "
    "the best plan has kept."
)


def own_changes_sentences(changed: OwnChanges) -> Iterator[str]:
    """What the keeper's own pens give up against the best plan, and what they break."""
    own = f"The pens of {FILES[changed.source]} are worth {changed.value:.2f}"
    best = f"the best plan {changed.best_value:.2f} wanted chicks as the plan counts them"
    if changed.given_up < NOTHING:
        yield f"{own}, {best}: nothing is given up."
    else:
        yield f"{own}, {best}: {chicks(changed.given_up)} given up."
    yield from fault_sentences(changed)


def fault_sentences(changed: OwnChanges) -> Iterator[str]:
    """What the keeper's own pens break, a sentence for each fault."""
    for pair in changed.rejected:
        why = reasons(nearest_cause(pair.broken))
        yield f"Against the rules: {pair.hen} with {pair.cock} ({why})."
    yield from (f"Broken: {sentence}." for sentence in changed.broken)


def beside_best_sentence(changed: OwnChanges) -> str:
    """Said where numbers are those of the best plan although other pens stand."""
    hens = len({pair.hen for pair in (*changed.only_standing, *changed.only_best)})
    stand = "1 hen stands" if hens == 1 else f"{hens} hens stand"
    otherwise = f"{stand} otherwise" if hens else "all hens stand the same"
    lost = "nothing is" if changed.given_up < NOTHING else f"{chicks(changed.given_up)} are"
    return (
        f"The numbers here are those of the best plan. In the pens of {FILES[changed.source]} "
        f"{otherwise}, and {lost} given up: see “Your own changes”, at the end of the page."
    )


def own_changes_table(changed: OwnChanges, costs: Mapping[Key, Cost] | None) -> TextTable:
    """A row for each pair that only the pens that stand, or only the best plan, has."""
    columns = [
        Column(heading="Hen"),
        Column(heading="With"),
        Column(heading="Instead of"),
        Column(heading="Kinship", number=True),
        Column(heading="Costs, wanted chicks", number=True),
    ]
    best: dict[str, list[str]] = defaultdict(list)
    for pair in changed.only_best:
        best[pair.hen].append(pair.cock)
    rows = [
        [
            pair.hen,
            pair.cock,
            best[pair.hen].pop(0) if best[pair.hen] else "no pen",
            kinship_text(pair.kinship),
            _cost(pair, costs),
        ]
        for pair in changed.only_standing
    ]
    rows += [[hen, "no pen", cock, "–", "–"] for hen, cocks in best.items() for cock in cocks]
    legend = (
        f"With: as {FILES[changed.source]} has it. Instead of: by the best plan. Costs: what the "
        "best plan that holds the pair falls short of the best of all, each pair by itself and all "
        "other pens free to change for it: left as they are, more is given up."
    )
    return TextTable(columns=columns, rows=sorted(rows), legend=legend)


def _cost(pair: Pair, costs: Mapping[Key, Cost] | None) -> str:
    if not pair.allowed:
        return "rejected"
    return "not worked out" if costs is None else cost_text(costs.get(pair.key))
