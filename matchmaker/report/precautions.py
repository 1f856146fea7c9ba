"""What is printed of losses before they happen: a box for each pen, the spares to keep."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.rebalance.brothers import full_brothers
from matchmaker.report.days import day_text
from matchmaker.report.numbers import percent
from matchmaker.report.screen import say
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from matchmaker.flock.flock import Flock
    from matchmaker.plan.season.season_plan import SeasonPlan
    from matchmaker.rebalance.losses import CockLoss
    from matchmaker.rebalance.robust import RobustChoice
    from matchmaker.rebalance.spares import Precautions
    from matchmaker.report.documents import Document


def loss_box(flock: Flock, care: Precautions, cock: str) -> str:
    """What to do if a cock dies, short enough for the pen sheet; "" if it was not worked out."""
    one = care.of(cock)
    if one is None:
        return ""
    kept, sure = (one.eggs_until - one.day).days, (one.sure_from - one.day).days
    stay = f"If {cock} dies: his hens' eggs stay his for {kept} days"
    if one.spare is None:
        then = "; no spare does better than sharing out his hens" if one.shares_out else ""
        then = then or "; nothing is won by another cock"
    else:
        brother = ", his full brother" if full_brothers(flock, (cock, one.spare)) else ""
        then = (
            f", then put in {one.spare}{brother}; chicks from eggs laid {sure} days after the "
            f"death are surely {one.spare}'s"
        )
    return f"{stay}{then}. {_cost(one)}{_risk(one)}"


def _cost(one: CockLoss) -> str:
    if one.loss < 0.05:
        return "Nothing is lost that counts."
    least = f"{one.loss:.1f}" if one.certain else f"at most {one.at_most:.1f}"
    moves = 0 if one.best is None else one.best.moves
    how = f" with {moves} birds moved" if moves > 1 else ""
    return f"Lost then{how}: {least} wanted chicks if on {day_text(one.day)}, less if later."


def _risk(one: CockLoss) -> str:
    words = []
    if one.at_risk:
        words.append(f"No spare saves {listed(one.at_risk)}.")
    if one.on_one_cock:
        words.append(f"{listed(one.on_one_cock)} then hang{_s(one.on_one_cock)} on one cock.")
    return "".join(f" {word}" for word in words)


def _s(names: tuple[str, ...]) -> str:
    return "s" if len(names) == 1 else ""


def print_spares(console: Console, plan: SeasonPlan, care: Precautions) -> None:
    """Which spare cocks to keep, and what no spare can save."""
    console.print()
    say(console, "Spare cocks", style="bold")
    for sentence in spare_sentences(plan, care):
        say(console, sentence, indent=2)


def spare_sentences(plan: SeasonPlan, care: Precautions) -> Iterator[str]:
    """Which spare cocks to keep, and what no spare can save."""
    pens = len({pen.cock for pen in plan.pens})
    yield (
        f"Keep {care.wanted} at least: half as many as the {pens} in the pens, two or more (a rule "
        "of thumb of rolling matings, Russell)."
    )
    if care.losses:
        yield from _of_losses(plan, care)
    if care.left_out:
        yield (
            f"Not worked out, for want of time: {listed(care.left_out)}. matchmaker rebalance "
            "--lost BAND tells what to do."
        )


def _of_losses(plan: SeasonPlan, care: Precautions) -> Iterator[str]:
    """What is known of the losses that were worked out, saying so where others were not."""
    known = listed([one.cock for one in care.losses]) if care.left_out else ""
    if care.kept:
        lines = {cock: [one.line for one in care.lines if one.cock == cock] for cock in care.kept}
        told = [f"{cock} (for {listed(own)})" if own else cock for cock, own in lines.items()]
        yield f"By what would be lost without them: {listed(told)}."
    else:
        which = f"any of {known}" if known else "one"
        yield f"None of the cocks in no pen would help if {which} is lost."
    lost = sorted({line for one in care.losses for line in one.at_risk})
    if lost:
        cocks = [one.cock for one in care.losses if one.at_risk]
        yield f"No spare saves {listed(lost)} if {listed(cocks, 'or')} dies."
    counted = f", the loss of {known} alone counted" if known else ""
    yield (
        f"A season in which one cock is lost by chance ({chance_words(plan)}) costs "
        f"{care.expected:.1f} wanted chicks on average{counted}{_no_source(plan)}."
    )


def _no_source(plan: SeasonPlan) -> str:
    own = plan.table.study.flock.settings.risk.model_fields_set
    return "" if own else "; the chances are common practice, without a source"


def chance_words(plan: SeasonPlan) -> str:
    """The chances of a cock's loss by his age, as the settings have them."""
    risk = plan.table.study.flock.settings.risk
    young, grown, old = map(percent, (risk.cock_young, risk.cock_grown, risk.cock_old))
    return f"{young} of those under a year, {grown} grown, {old} over three years"


def robust_sentence(choice: RobustChoice) -> str:
    """What making the plan bear a loss costs and gains."""
    chosen, best = choice.chosen, choice.best
    left = f"No plan can be expected to be worth {choice.at_most:.2f} more."
    if chosen is best:
        beside = f", nor is any of {choice.tried - 1} others tried" if choice.tried > 1 else ""
        return (
            f"The plan worth most if nothing is lost ({best.value:.2f}) is to be expected worth "
            f"{best.expected:.2f} wanted chicks if one cock may be lost; none better was found"
            f"{beside}. {left}"
        )
    return (
        f"Of {choice.tried} plans tried this one is to be expected worth most if one cock may be "
        f"lost: {chosen.expected:.2f} wanted chicks, {choice.gains:.2f} more than the plan worth "
        f"most if nothing is lost; that costs {max(0.0, choice.costs):.2f} if nothing is. {left} "
        f"The worst single loss costs {chosen.largest:.1f} ({chosen.cock}), by the other plan "
        f"{best.largest:.1f} ({best.cock})."
    )


def robust_entry(choice: RobustChoice) -> Document:
    """The choice as keys of a plan's document."""
    return {
        "tried": choice.tried,
        "expected": choice.chosen.expected,
        "expected_of_best": choice.best.expected,
        "costs_if_nothing_is_lost": choice.costs,
        "gains_expected": choice.gains,
        "at_most_more": choice.at_most,
        "largest_loss": choice.chosen.largest,
        "largest_loss_of_best": choice.best.largest,
    }


def precautions_entries(care: Precautions | None) -> Document:
    """The losses and the spares as keys of a plan's document."""
    if care is None:
        return {"spares": [], "spares_to_keep": None, "losses": [], "losses_left_out": []}
    return {
        "spares": [{"line": one.line, "cock": one.cock} for one in care.lines],
        "spares_to_keep": {"number": care.wanted, "cocks": list(care.kept)},
        "losses": [
            {
                "cock": one.cock,
                "pens": list(one.pens),
                "lines": list(one.lines),
                "chance": care.chances[one.cock],
                "day": str(one.day),
                "eggs_his_until": str(one.eggs_until),
                "spare": one.spare,
                "surely_the_spares_from": str(one.sure_from),
                "loss": one.loss,
                "loss_at_least": one.at_least,
                "loss_at_most": one.at_most,
                "moves": None if one.best is None else one.best.moves,
                "lines_lost": list(one.at_risk),
                "lines_on_one_cock": list(one.on_one_cock),
            }
            for one in care.losses
        ],
        "losses_left_out": list(care.left_out),
    }
