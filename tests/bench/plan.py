"""Measure the plan on invented flocks beside a textbook model: ``python -m tests.bench plan``.

Each solve runs in a process of its own, so that its peak memory is its own; the memory of a large
problem itself is in it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from math import inf, isfinite
from statistics import median
from typing import TYPE_CHECKING, Final

from matchmaker.errors import NoPlanError, SolverStoppedError
from matchmaker.plan.arithmetic.verify import evaluate
from matchmaker.plan.searching.solve import solve_plan
from tests.bench.by_hand import BY_HAND
from tests.bench.flocks import (
    flock_problem,
    hens_and_cocks,
    hungry,
    kind_of,
    size_of,
    with_all_rows,
)
from tests.bench.measuring import agreed, peak_memory, timed
from tests.bench.own_process import in_own_process
from tests.bench.rows import SECONDS, Row, Size, amounts
from tests.bench.running import Bench, Option
from tests.bench.textbook import solve_textbook, textbook

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterator

    from matchmaker.plan.posing.problem import PlanProblem

    Solver = Callable[[PlanProblem, float], tuple[float, float, float]]

SIZES: Final = ("20x4", "60x8", "200x20", "600x60")
LARGE: Final = ("2000x200", "10000x1000")
SIGNS: Final = ("", "+")
ALL_RULES: Final = ("60x8*", "60x8+*")
"""Hens x cocks. With "+" behind, lines want more than the pens can give; without, they have all
they need, and what is left to prove is that no fewer pairs would do. With "*" the flock has every
kind of rule, which the peers do not know."""

TEXTBOOK_MOST: Final = 2_000
"""Hens up to which the textbook model is tried: building a larger one takes gigabytes."""

WITHIN: Final = 1e-4
"""What the values of two proved plans may differ by, in chicks wanted."""

CHICKS: Final = "chicks wanted"


def rows(chosen: Namespace) -> Iterator[Row]:
    """For each size the proof of the value beside the textbook, all stages, and plans by hand."""
    for size in chosen.sizes:
        runs = Runs(size, chosen)
        if "first" in chosen.methods and "*" not in size:
            small = hens_and_cocks(size)[0] <= TEXTBOOK_MOST
            yield proved_row(runs, beside=small and "textbook" in chosen.methods)
        if "ours" in chosen.methods:
            yield own_row(runs, "ours")
        if "by hand" in chosen.methods and "*" not in size:
            yield from (by_hand_row(runs, method) for method in BY_HAND)


class Runs:
    """The runs of a size: a method on each flock, each in a process of its own, once."""

    def __init__(self, size: str, chosen: Namespace) -> None:
        self.size, self.seeds, self.seconds = size, range(chosen.seeds), chosen.seconds
        self._known: dict[str, list[dict[str, float]]] = {}

    def __getitem__(self, method: str) -> list[dict[str, float]]:
        if method not in self._known:
            self._known[method] = [
                in_own_process(measure, self.size, seed, method, self.seconds)
                for seed in self.seeds
            ]
        return self._known[method]


def problem_of(size: str, seed: int) -> PlanProblem:
    """Return the flock a size names."""
    problem = flock_problem(*hens_and_cocks(size), seed)
    if "+" in size:
        problem = hungry(problem)
    return with_all_rows(problem) if "*" in size else problem


def measure(size: str, seed: int, method: str, seconds: float) -> dict[str, float]:
    """Measure one solve: "ours" with all stages, "first" the best value only, or a peer.

    A value is -inf where no plan was found, and a gap inf where nothing was proved.
    """
    problem = problem_of(size, seed)
    given = peak_memory()
    total, (value, gap, build) = timed(lambda: SOLVERS[method](problem, seconds))
    return {
        "seconds": total,
        "build": build,
        "value": value,
        "gap": gap,
        "memory": peak_memory(),
        "given": given,
    }


def _by_textbook(problem: PlanProblem, seconds: float) -> tuple[float, float, float]:
    build, model = timed(lambda: textbook(problem))
    value, proved = solve_textbook(model, seconds)
    return value, 0.0 if proved else inf, build


def _ours(problem: PlanProblem, seconds: float, *, stages: bool) -> tuple[float, float, float]:
    try:
        proof = solve_plan(problem, time_limit=seconds, stages=stages).proof
    except (NoPlanError, SolverStoppedError):
        return -inf, inf, 0.0
    return proof.best_value, proof.gap, proof.build_seconds


def _by_hand(method: str, problem: PlanProblem, _seconds: float) -> tuple[float, float, float]:
    plan = BY_HAND[method](problem)
    return -inf if plan is None else evaluate(problem, plan).value, inf, 0.0


SOLVERS: Final[dict[str, Solver]] = {
    "ours": partial(_ours, stages=True),
    "first": partial(_ours, stages=False),
    "textbook": _by_textbook,
    **{method: partial(_by_hand, method) for method in BY_HAND},
}
"""Each gives the value of its plan, the gap left, and the seconds in which the model was built."""


def own_row(runs: Runs, method: str) -> Row:
    """Ours alone: "ours" for all stages, "first" for the value alone."""
    stages = "all stages" if method == "ours" else "value proved"
    ours = runs[method]
    return Row(
        task=f"{stages}{kind_of(runs.size)}",
        size=size_of(runs.size),
        ours=tuple(one["seconds"] for one in ours),
        memory=max(one["memory"] for one in ours),
        note=_proofs(ours),
    )


def proved_row(runs: Runs, *, beside: bool) -> Row:
    """The proof of the best value, beside the textbook's where that is asked for."""
    row = own_row(runs, "first")
    if not beside:
        return row
    ours, theirs = runs["first"], runs["textbook"]
    both = [pair for pair in zip(ours, theirs, strict=True) if not any(r["gap"] for r in pair)]
    agreement = agreed((abs(one["value"] - two["value"]) for one, two in both), WITHIN)
    proved = sum(one["gap"] == 0 for one in theirs)
    return replace(
        row,
        peer="textbook model, CBC",
        theirs=tuple(one["seconds"] for one in theirs),
        at_least=proved < len(theirs),
        peer_memory=max(one["memory"] for one in theirs),
        agreement=f"{agreement}, of {len(both)} proved by both" if both else "",
        note=f"{row.note}; the peer proved {proved} of {len(theirs)}",
    )


def by_hand_row(runs: Runs, method: str) -> Row:
    """What a plan by hand is worth beside ours; that it is never worth more is checked."""
    both = [
        (ours["value"], theirs["value"])
        for ours, theirs in zip(runs["ours"], runs[method], strict=True)
        if isfinite(ours["value"]) and isfinite(theirs["value"])
    ]
    agreed((theirs - ours for ours, theirs in both), WITHIN)
    without = len(runs[method]) - len(both)
    note = f"no plan in {without} of {len(runs[method])}"
    empty = Row(
        task=f"worth of the plan{kind_of(runs.size)}",
        size=Size(size_of(runs.size).words),
        unit=CHICKS,
        note=f"by hand, {method}: {note}",
    )
    if not both:
        return empty
    lost = [100 * (ours - theirs) / ours for ours, theirs in both]
    return replace(
        empty,
        ours=tuple(ours for ours, _ in both),
        peer=f"by hand, {method}",
        theirs=tuple(theirs for _, theirs in both),
        note=f"loses {median(lost):.1f} % (median), {max(lost):.1f} % at most; {note}",
    )


def _proofs(runs: list[dict[str, float]]) -> str:
    """How many plans were proved best, the worst gap left, how long building took."""
    left = [run["gap"] for run in runs if 0 < run["gap"] < inf]
    gap = f" (gap left {max(left):.0e})" if left else ""
    build = amounts(tuple(run["build"] for run in runs), SECONDS)
    given = max(run["given"] for run in runs)
    proved = sum(run["gap"] == 0 for run in runs)
    return f"proved {proved} of {len(runs)}{gap}; built in {build}; the flock itself {given:.0f} MB"


def _with_signs(sizes: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{size}{sign}" for size in sizes for sign in SIGNS)


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="sizes",
            help="hens x cocks, with + and *",
            whole=(*_with_signs(SIZES), *ALL_RULES),
            short=(*_with_signs(SIZES[:2]), "200x20+", "60x8+*"),
            full=(*_with_signs((*SIZES, *LARGE)), *ALL_RULES),
        ),
        Option(name="seeds", help="flocks of a size", whole=3, short=1),
        Option(name="seconds", help="limit of one solve", whole=15.0, short=5.0, full=180.0),
        Option(
            name="methods",
            help="ours (all stages), first (value proved), textbook, by hand",
            whole=("ours", "first", "textbook", "by hand"),
        ),
    ),
)
