"""What ``--json`` prints: one document per command, its schema named and versioned inside.

Keys are only ever added within a version, never renamed (the list is in DEVELOPERS.md).
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from matchmaker import __version__
from matchmaker.pairs.risk import lines_at_risk
from matchmaker.report.defaults import defaults_of
from matchmaker.report.line_sentences import risk_sentence
from matchmaker.report.odd_scores import odd_entries, uncounted_entries
from matchmaker.report.precautions import precautions_entries
from matchmaker.report.response import response_entries
from matchmaker.report.wording import (
    change_sentence,
    rule_sentence,
    unused_sentence,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.errors import Fault
    from matchmaker.explain.prices import Cost
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.table import Key, PairTable
    from matchmaker.plan.arithmetic.result import LineTotal, PlannedPen
    from matchmaker.plan.season.changes import Change
    from matchmaker.plan.season.score import PlanScore
    from matchmaker.plan.season.season_plan import FilledPen, SeasonNeeds, SeasonPlan
    from matchmaker.rebalance.spares import Precautions
    from matchmaker.tables.folder import FolderTables
    from matchmaker.tables.records import Sex

Document = dict[str, Any]


def as_json(document: Document) -> str:
    """The document as UTF-8 JSON text, two spaces deep, ending in a newline."""
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def document_head(name: str, tables: FolderTables, defaults: Iterable[str] = ()) -> Document:
    """What every document starts with: schema, version, fingerprints of the files, defaults."""
    return {
        "schema": f"matchmaker/{name}/1",
        "version": __version__,
        "inputs": dict(sorted(tables.inputs.items())),
        "defaults": list(defaults),
    }


def faults_document(tables: FolderTables | None, faults: Iterable[Fault], command: str) -> Document:
    """What any command prints when faults stop it."""
    head = (
        document_head(command, tables)
        if tables
        else {"schema": f"matchmaker/{command}/1", "version": __version__}
    )
    return {**head, "faults": [fault_entry(fault) for fault in faults]}


def fault_entry(fault: Fault) -> Document:
    """One fault or doubt."""
    return {
        "kind": fault.kind,
        "file": fault.file,
        "row": fault.row,
        "column": fault.column,
        "value": fault.value,
        "problem": fault.problem,
        "mend": fault.mend,
        "mends": [
            {
                "table": mend.table,
                "row": mend.row,
                "column": mend.column or None,
                "was": mend.was,
                "becomes": mend.becomes,
            }
            for mend in fault.mends
        ],
        "safe": fault.safe,
        "birds": list(fault.birds),
    }


def pairs_document(table: PairTable, costs: Mapping[Key, Cost] | None = None) -> Document:
    """Every pair with its verdict, rules and terms; with its cost, if costs are given."""
    return {
        **document_head("pairs", table.study.flock.tables, defaults_of(table)),
        "pairs": [
            pair_entry(pair)
            if costs is None
            else pair_entry(pair) | cost_entry(costs.get(pair.key))
            for pair in table.pairs
        ],
    }


def cost_entry(cost: Cost | None) -> Document:
    """What a pair costs the plan; nulls where nothing is known, or no plan holds it."""
    if cost is None or cost.impossible:
        return {"costs_at_least": None, "costs_at_most": None, "no_plan": cost is not None}
    return {"costs_at_least": cost.at_least, "costs_at_most": cost.at_most, "no_plan": False}


def pair_entry(pair: Pair) -> Document:
    """One pair; what depends on a row is null where no row is open."""
    crossing = pair.crossing
    return {
        "hen": pair.hen,
        "cock": pair.cock,
        "row": crossing and crossing.name,
        "purpose": crossing and str(crossing.purpose),
        "line": pair.line,
        "allowed": pair.allowed,
        "waived_by_wish": pair.waived,
        "rules": [rule_entry(broken) for broken in pair.broken],
        "kinship": pair.kinship,
        "recurrent_share": pair.recurrent_share,
        "wanted_chance": pair.wanted_chance,
        "wanted_by_sex": _by_sex(pair.wanted_by_sex),
        "wanted_by_sex_untold": _by_sex(pair.true_by_sex),
        "merit": pair.merit,
        "gains": dict(pair.gains),
        "chicks": pair.chicks,
        "worth": pair.worth,
        "value": pair.value,
        "approximate": pair.approximate,
    }


def rule_entry(broken: Broken) -> Document:
    """One broken rule with its sentence."""
    return {
        "rule": str(broken.rule),
        "measured": broken.measured,
        "limit": broken.limit,
        "detail": rule_sentence(broken),
    }


def _by_sex(chances: Mapping[Sex, float] | None) -> dict[str, float] | None:
    return None if chances is None else {str(sex): chance for sex, chance in chances.items()}


def plan_document(plan: SeasonPlan, care: Precautions | None = None) -> Document:
    """The plan with its proof, pens, lines, changes, and what losses would mean, if known."""
    proof = plan.solution.proof
    return {
        **document_head("plan", plan.table.study.flock.tables, defaults_of(plan.table)),
        "outcome": str(plan.solution.outcome),
        "stopped": plan.solution.proof.stopped or None,
        "value": plan.solution.value,
        "best_value": proof.best_value,
        "bound": proof.bound,
        "gap": proof.gap,
        "solver": proof.solver,
        "solver_version": proof.solver_version,
        "seconds": round(proof.build_seconds + proof.solve_seconds, 3),
        "pens": [pen_entry(pen) for pen in plan.pens],
        "unused": [{"bird": unused.bird, "why": unused_sentence(unused)} for unused in plan.unused],
        **precautions_entries(care),
        "lines": line_entries(plan),
        "risks": risk_entries(plan.table),
        "response": response_entries(plan),
        "odd_scores": odd_entries(plan.table.study),
        "traits_not_counted": uncounted_entries(plan.table.study),
        "needs": _needs_entry(plan.needs),
        "flock": {
            "mean_inbreeding": plan.figures.mean_inbreeding,
            "group_kinship": plan.figures.group_kinship,
            "effective_size": plan.figures.effective_size,
        },
        "changes": [_change_entry(change) for change in plan.changes],
        "conflict": None,
    }


def _needs_entry(needs: SeasonNeeds) -> Document:
    return {
        "chicks": needs.chicks,
        "wanted": needs.wanted,
        "eggs_a_week": needs.eggs,
        "chicks_max": needs.chicks_max,
        "eggs_max": needs.eggs_max,
    }


def _change_entry(change: Change) -> Document:
    return {
        "hen": change.hen,
        "cock_before": change.cock_before,
        "cock_after": change.cock_after,
        "pen_before": change.pen_before,
        "pen_after": change.pen_after,
        "cause": str(change.cause),
        "worth": change.worth,
        "sentence": change_sentence(change),
    }


def risk_entries(table: PairTable) -> list[Document]:
    """Lines about to die out, and why."""
    return [
        {"line": risk.line, "peril": str(risk.peril), "sentence": risk_sentence(risk)}
        for risk in lines_at_risk(table)
    ]


def no_plan_document(table: PairTable, conflict: Document) -> Document:
    """What clashes where no plan exists."""
    return {
        **document_head("plan", table.study.flock.tables, defaults_of(table)),
        "outcome": "none",
        **dict.fromkeys(("value", "best_value", "bound", "gap", "solver", "solver_version")),
        "seconds": None,
        **{key: [] for key in ("pens", "unused", "spares", "losses", "lines", "response")},
        "changes": [],
        "odd_scores": odd_entries(table.study),
        "traits_not_counted": uncounted_entries(table.study),
        "flock": None,
        "conflict": conflict,
    }


def pen_entry(pen: FilledPen) -> Document:
    """One pen with its hens."""
    return {
        "pen": pen.pen,
        "line": " + ".join(pen.lines),
        "cock": pen.cock,
        "turn": pen.turn,
        "hens": [
            {
                "hen": pair.hen,
                "row": pair.crossing and pair.crossing.name,
                "line": pair.line,
                "kinship": pair.kinship,
                "wanted_chance": pair.wanted_chance,
                "recurrent_share": pair.recurrent_share,
                "merit": pair.merit,
                "chicks": pair.chicks,
                "value": chosen.value,
                "chicks_to_raise": chosen.chicks,
                "eggs_a_week": chosen.eggs,
                "tests": chosen.tested,
            }
            for pair, chosen in zip(pen.pairs, pen.chosen, strict=True)
        ],
    }


def planned_pens_entry(pens: Iterable[PlannedPen]) -> list[Document]:
    """The pens of a plan beside the one that is shown: who stands where, for which row."""
    return [
        {
            "pen": pen.pen,
            "turn": pen.turn,
            "cock": pen.cock,
            "hens": [{"hen": pair.hen, "row": pair.row, "line": pair.line} for pair in pen.pairs],
        }
        for pen in pens
    ]


def line_entries(plan: SeasonPlan) -> list[Document]:
    """Per line: what it wants and what the plan gives it."""
    goals = {goal.line: goal for goal in plan.problem.lines}
    return [
        {
            "line": total.line,
            "importance": goals[total.line].importance,
            "chicks_wanted": goals[total.line].chicks_wanted,
            **_total_entry(total),
            "mean_kinship": plan.mean_kinship(total.line),
        }
        for total in plan.solution.lines
    ]


def _total_entry(total: LineTotal) -> Document:
    return {
        "cocks": total.cocks,
        "hens": total.hens,
        "worth": round(total.worth, 6),
        "counted": round(total.counted, 6),
        "wanted": total.wanted,
    }


def score_document(table: PairTable, score: PlanScore, best: float) -> Document:
    """A hand-made plan: its value, what it breaks, its lines."""
    return {
        **document_head("score", table.study.flock.tables, defaults_of(table)),
        "value": score.value,
        "best_value": best,
        "hens": score.hens,
        "rejected": [pair_entry(pair) for pair in score.rejected],
        "broken": list(score.broken),
        "lines": [{"line": total.line, **_total_entry(total)} for total in score.lines],
    }
