"""The printed plan: pens first, then lines, spares, changes, birds without a pen, and the proof."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import tolerance
from matchmaker.pairs.rules import nearest_cause
from matchmaker.plan.arithmetic.result import Outcome, Proof
from matchmaker.report.days import whole_day
from matchmaker.report.numbers import (
    chicks_text,
    kinship_digits,
    kinship_text,
    percent,
    share_text,
    signed,
)
from matchmaker.report.odd_scores import print_odd_scores
from matchmaker.report.plan_remarks import (
    SURPLUS_LEGEND,
    VALUE_LEGEND,
    certainty_sentences,
    change_sentences,
    idle_pen_sentences,
    lines_table,
    unused_by_reason,
    warning_sentences,
)
from matchmaker.report.precautions import loss_box, print_spares
from matchmaker.report.response import print_response
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.terminal import print_defaults, print_risks
from matchmaker.report.wording import (
    PURPOSES,
    breed_name,
    counted,
    listed,
    reasons,
)

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.arithmetic.result import Stopped
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.plan.season.score import PlanScore
    from matchmaker.plan.season.season_plan import FilledPen, SeasonNeeds, SeasonPlan
    from matchmaker.rebalance.spares import Precautions

KEPT = "to keep pairs that stand"

SOLVERS = {"highs": "HiGHS", "cbc": "CBC"}

NOT_PROVED: dict[Stopped, str] = {
    "time": "time ran out",
    "interrupt": "you stopped the search",
    "size": "the search ended with too much left open",
    "": "the search ended early",
}


SURPLUS_CAUTION = (
    "Half the chicks are cockerels: know where they go before eggs are set. Cull, house and move "
    "birds by your local rules, and ask a veterinarian when birds are ill."
)


def print_plan(
    console: Console, plan: SeasonPlan, care: Precautions | None = None, cause: str = KEPT
) -> None:
    """The whole plan; with what to do if a cock dies, if that is known; ``cause`` as proved."""
    settings = plan.table.study.flock.settings
    say(
        console,
        f"Pens for {settings.season}, to be made up on {whole_day(settings.pen_up)}",
        style="bold",
    )
    console.print()
    for pen in plan.pens:
        _print_pen(console, plan, pen, care)
    say(console, _legend(breed_name(settings.recurrent), _merit_words(plan)))
    console.print()
    _print_lines(console, plan)
    print_response(console, plan)
    print_odd_scores(console, plan.table.study)
    _print_warnings(console, plan)
    if care is not None:
        print_spares(console, plan, care)
    _print_unused(console, plan)
    _print_changes(console, plan)
    print_defaults(console, plan.table)
    console.print()
    say(console, SURPLUS_CAUTION)
    say(console, proof_line(plan, cause))


def _print_pen(
    console: Console, plan: SeasonPlan, pen: FilledPen, care: Precautions | None
) -> None:
    purposes = dict.fromkeys(PURPOSES[p.crossing.purpose] for p in pen.pairs if p.crossing)
    share = plan.table.study.recurrent_share[pen.cock]
    breed = breed_name(plan.table.study.flock.settings.recurrent)
    say(
        console,
        f"Pen {pen.pen}{f', {pen.turn}' if pen.turn else ''}: cock {pen.cock} ({breed} "
        f"{share_text(share)}), for {listed(pen.lines) or 'no line'} ({', '.join(purposes)})",
        style="bold",
    )
    merit = _merit_counts(plan)
    columns = [
        Column(heading="Hen"),
        Column(heading="Of line"),
        Column(heading="Chicks join"),
        Column(heading="Kinship", number=True),
        Column(heading=breed, number=True),
        *([Column(heading="Merit", number=True)] if merit else []),
        Column(heading="Wanted", number=True),
        Column(heading="Raise", number=True),
    ]
    birds = plan.table.study.flock.by_band()
    rows = [
        _hen_row(pair, chosen, birds[pair.hen].line, merit=merit)
        for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
    ]
    print_rows(console, columns, rows)
    box = "" if care is None else loss_box(plan.table.study.flock, care, pen.cock)
    if box:
        say(console, box)
    console.print()


def _merit_counts(plan: SeasonPlan) -> bool:
    """Whether any trait that is predicted has a weight; else the merit of all birds is 0."""
    return any(one.aim.weight and one.genetic_sd for one in plan.table.study.forecast.traits)


def _hen_row(pair: Pair, chosen: Candidate, line: str, *, merit: bool) -> list[str]:
    return [
        pair.hen,
        line,
        pair.line or f"tests {chosen.tested}",
        kinship_text(pair.kinship),
        share_text(pair.recurrent_share),
        *([signed(pair.merit)] if merit else []),
        percent(pair.wanted_chance or 0.0),
        chicks_text(chosen.chicks),
    ]


def _merit_words(plan: SeasonPlan) -> str:
    """What merit means in a pair; "" where nothing counts."""
    if not _merit_counts(plan):
        return ""
    traits = plan.table.study.forecast.traits
    near = any(one.aim.weight and one.aim.optimum is not None and one.genetic_sd for one in traits)
    return (
        "Merit: how much more a wanted chick counts, by the mean of its parents"
        f"{', by how near it comes to an optimum' if near else ''} and by what inbreeding takes. "
    )


def _legend(breed: str, merit: str) -> str:
    return (
        f"Kinship: of hen and cock, which is the inbreeding of their chicks (0 to 1). {breed}: "
        f"expected share of that breed in the chicks. {merit}Wanted: chance that a chick is worth "
        "keeping for its line. Raise: chicks to be raised from this hen for all that she counts."
    )


def _print_lines(console: Console, plan: SeasonPlan) -> None:
    say(console, "Lines", style="bold")
    table = lines_table(plan)
    print_rows(console, table.columns, table.rows)
    for sentence in (needs_sentence(plan.needs), flock_sentence(plan), table.legend):
        say(console, sentence)


def needs_sentence(needs: SeasonNeeds) -> str:
    """What has to be raised and set, against the room there is."""
    room = "" if needs.chicks_max is None else f" (room for {needs.chicks_max:g})"
    eggs = "" if needs.eggs_max is None else f" (the incubator takes {needs.eggs_max:g})"
    return (
        f"To raise: {chicks_text(needs.chicks)} chicks in all{room}, about half of them cockerels; "
        f"{chicks_text(needs.wanted)} are expected to be wanted, the others need another home. For "
        f"that, set {chicks_text(needs.eggs)} eggs a week{eggs}."
    )


def flock_sentence(plan: SeasonPlan) -> str:
    """The kinship of the parents as a group, with its limit or price where there is one."""
    figures, group = plan.figures, plan.problem.group
    limit = "" if group is None or group.limit is None else f", limit {group.limit:g}"
    price = (
        ""
        if group is None or group.price is None
        else f"; every 0.01 of it costs {group.price:g} wanted chicks"
    )
    return (
        f"Kinship of the parents as a group {kinship_digits(figures.group_kinship)}{limit} (two of "
        f"their genes drawn by chance are copies of one so often{price}). Chicks' inbreeding "
        f"{kinship_text(figures.mean_inbreeding)} on average; effective size of the parents "
        f"{figures.effective_size:.1f}."
    )


def _print_warnings(console: Console, plan: SeasonPlan) -> None:
    for sentence in certainty_sentences(plan):
        say(console, sentence)
    print_risks(console, plan.table)
    for sentence in idle_pen_sentences(plan):
        say(console, sentence)
    for sentence in warning_sentences(plan):
        say(console, sentence, style="bold")


def _print_unused(console: Console, plan: SeasonPlan) -> None:
    """Birds in no pen, those with the same reason together."""
    found = unused_by_reason(plan)
    if found:
        console.print()
        say(console, "In no pen", style="bold")
    for reason, birds in found.items():
        say(console, f"{', '.join(birds)}: {reason}", indent=2)


def _print_changes(console: Console, plan: SeasonPlan) -> None:
    told = change_sentences(plan)
    if not told.sentences:
        return
    console.print()
    if told.heading:
        say(console, told.heading, style="bold")
    for sentence in told.sentences:
        say(console, sentence, indent=2 if told.heading else 0)


def proof_line(plan: SeasonPlan, cause: str = KEPT, *, timed: bool = True) -> str:
    """What was proved, with figures, or why not; ``cause`` is why the best may be passed over.

    Unless ``timed`` the seconds are left out: the same plan is then told in the same words.
    """
    proof = plan.solution.proof
    said = (
        "Proved: no better plan under your rules"
        if plan.solution.outcome is Outcome.OPTIMAL
        else f"Not proved: {NOT_PROVED[proof.stopped]}. A better plan can be worth "
        f"{proof.bound - proof.best_value:.2f} more at most, {percent(proof.gap, 1)}"
    )
    given_up = proof.best_value - plan.solution.value
    kept = (
        f" {given_up:.3f} of the best value is given up {cause}."
        if given_up > tolerance.OBJECTIVE
        else ""
    )
    return f"{said} ({_figures(plan.solution.value, proof, timed=timed)}).{kept}"


def _figures(value: float, proof: Proof, *, timed: bool) -> str:
    seconds = f", {proof.build_seconds + proof.solve_seconds:.2f} s" if timed else ""
    return (
        f"value {value:.3f}, best {proof.best_value:.3f}, bound {proof.bound:.3f}, "
        f"gap {proof.gap:.3g}; {SOLVERS[proof.solver]} {proof.solver_version}{seconds}"
    )


def print_score(console: Console, score: PlanScore, best: float) -> None:
    """A plan made by hand: its value beside the best, and what it breaks."""
    hens = counted(score.hens, "hen")
    say(
        console,
        f"Value of this plan: {score.value:.3f} ({hens}); the best plan is worth "
        f"{best:.3f}. {VALUE_LEGEND} {SURPLUS_LEGEND}",
    )
    if score.rejected or score.broken:
        say(console, "It breaks:", style="bold")
    for pair in score.rejected:
        say(
            console, f"{pair.hen} with {pair.cock}: {reasons(nearest_cause(pair.broken))}", indent=2
        )
    for sentence in score.broken:
        say(console, sentence, indent=2)
    if not score.rejected and not score.broken:
        say(console, "It breaks none of your rules.")
