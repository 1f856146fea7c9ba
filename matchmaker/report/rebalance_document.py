"""The JSON document of ``rebalance``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.plan.season.season_plan import flock_figures, unused_birds
from matchmaker.plan.solvers.engine import choose_solver, solver_version
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import document_head, risk_entries
from matchmaker.report.rebalance_words import line_remark, orders_by_day
from matchmaker.report.wording import unused_sentence

if TYPE_CHECKING:
    from matchmaker.pairs.pair import Pair
    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.posing.problem import Candidate
    from matchmaker.rebalance.rebalancing import Rebalance
    from matchmaker.rebalance.steps import Step
    from matchmaker.report.documents import Document


def rebalance_document(answer: Rebalance) -> Document:
    """The response as a plan is told, with the moves, the eggs and what is lost."""
    flock = answer.table.study.flock
    response = answer.response
    pairs = [_pair(answer, one) for pen in response.pens for one in pen.pairs]
    figures = flock_figures([one for one in pairs if one is not None], answer.table.study.kinship)
    return {
        **document_head("rebalance", flock.tables, defaults_of(answer.table)),
        "day": str(answer.loss.day),
        "stays_from": "plan" if answer.standing.from_plan else "moves",
        "lost": [
            {"bird": bird, "pen": answer.lost_from.get(bird), "last_day": str(day)}
            for bird, day in sorted(answer.standing.lost.items())
        ],
        "closed_pens": list(answer.loss.closed),
        **_figures(answer),
        "moves": move_entries(answer),
        "what_to_do": [
            {"day": str(day), "sentences": sentences} for day, sentences in orders_by_day(answer)
        ],
        "eggs": _eggs(answer),
        "in_incubator": _incubator(answer),
        "steps": [_step(answer, step) for step in answer.steps],
        "pens": [_pen(answer, pen) for pen in response.pens],
        "lines": _lines(answer),
        "unused": _unused(answer, [one for one in pairs if one is not None]),
        "changes": _changes(answer),
        "conflict": None,
        "risks": risk_entries(answer.table),
        "cannot_be_kept": list(answer.broken),
        "group_kinship_left_out": answer.kinship_left_out,
        "wishes_dropped": [wish.name for wish in answer.dropped],
        "flock": {
            "mean_inbreeding": figures.mean_inbreeding,
            "group_kinship": figures.group_kinship,
            "effective_size": figures.effective_size,
        },
    }


def _figures(answer: Rebalance) -> Document:
    """The values, how well they are proved, and by what."""
    response, solver = answer.response, choose_solver(None)
    gap = answer.left_open / max(1.0, abs(response.value))
    return {
        "outcome": "optimal" if answer.proved else "feasible",
        "value": response.value,
        "best_value": answer.best.value,
        "bound": response.bound,
        "gap": gap,
        "solver": solver,
        "solver_version": solver_version(solver),
        "seconds": round(answer.seconds, 3),
        "old_value": answer.before,
        "lost_value": answer.lost_value,
    }


def _eggs(answer: Rebalance) -> list[Document]:
    """Whose the eggs are, by pen and days."""
    return [
        {
            "pen": eggs.pen,
            "hens": list(eggs.hens),
            "days": [
                {
                    "from": str(run.first),
                    "to": str(run.last),
                    "sire": run.cock,
                    "possible_sires": list(run.sires),
                }
                for run in eggs.runs
            ],
        }
        for eggs in answer.eggs
    ]


def _incubator(answer: Rebalance) -> list[Document]:
    return [
        {
            "row": eggs.row,
            "pen": eggs.pen,
            "hen": eggs.hen,
            "set_on": eggs.set_on and str(eggs.set_on),
            "eggs": eggs.eggs,
            "possible_sires": list(eggs.sires),
        }
        for eggs in answer.incubator
    ]


def _lines(answer: Rebalance) -> list[Document]:
    return [
        {
            "line": line.line,
            "chicks_wanted": answer.table.needs[line.line].chicks_wanted,
            "wanted_before": line.before,
            "wanted": line.after,
            "cocks": line.cocks,
            "hens": line.hens,
            "mind": line_remark(line),
        }
        for line in answer.lines
    ]


def move_entries(answer: Rebalance) -> list[Document]:
    """The birds to be moved, a row each."""
    return [
        {
            "bird": one.bird,
            "from": one.leaves,
            "to": one.enters,
            "out_on": one.out_on and str(one.out_on),
            "in_on": one.in_on and str(one.in_on),
            "with": one.mate,
            "eggs_credited_from": one.eggs_from and str(one.eggs_from),
        }
        for one in answer.orders
    ]


def _unused(answer: Rebalance, pairs: list[Pair]) -> list[Document]:
    gone = answer.standing.lost
    return [
        {"bird": one.bird, "why": unused_sentence(one)}
        for one in unused_birds(answer.table, pairs)
        if one.bird not in gone
    ]


def _changes(answer: Rebalance) -> list[Document]:
    """Every hen whose cock is another one than before."""
    whole = answer.whole
    before = {
        hen: (whole.cock_in(pen), pen)
        for hen, pen in whole.pen_of.items()
        if hen not in whole.diary.cocks
    }
    after = {one.hen: (pen.cock, pen.pen) for pen in answer.response.pens for one in pen.pairs}
    return [
        {
            "hen": hen,
            "cock_before": before.get(hen, (None, None))[0],
            "cock_after": after.get(hen, (None, None))[0],
            "pen_before": before.get(hen, (None, None))[1],
            "pen_after": after.get(hen, (None, None))[1],
        }
        for hen in sorted(before.keys() | after.keys())
        if before.get(hen, (None,))[0] != after.get(hen, (None,))[0]
    ]


def _step(answer: Rebalance, step: Step) -> Document:
    return {
        "moves": step.moves,
        "value": step.value,
        "proposed": step is answer.chosen,
        "breaks": list(step.broken),
        "moved": [] if step.answer is None else [bird for bird, _ in step.answer.moved],
    }


def _pen(answer: Rebalance, pen: PlannedPen) -> Document:
    lines = sorted({one.line for one in pen.pairs} - {""})
    return {
        "pen": pen.pen,
        "line": " + ".join(lines),
        "cock": pen.cock,
        "hens": [_hen(answer, one) for one in pen.pairs],
    }


def _hen(answer: Rebalance, one: Candidate) -> Document:
    pair = _pair(answer, one)
    begins = answer.posed.entries.get((one.hen, one.cock, one.turn))
    return {
        "hen": one.hen,
        "row": one.row or None,
        "line": one.line,
        "kinship": one.kinship,
        "wanted_chance": pair and pair.wanted_chance,
        "recurrent_share": pair and pair.recurrent_share,
        "merit": pair and pair.merit,
        "wanted": one.wanted,
        "value": one.value,
        "chicks_to_raise": one.chicks,
        "eggs_a_week": one.eggs,
        "eggs_credited_from": None if begins is None or one.kept else str(begins.eggs_from),
    }


def _pair(answer: Rebalance, one: Candidate) -> Pair | None:
    """The judged pair in the row it is counted in; of a tolerated pair any."""
    entries = answer.table.by_birds.get((one.hen, one.cock), ())
    named = [pair for pair in entries if pair.crossing and pair.crossing.name == one.row]
    return next(iter((*named, *entries)), None)
