"""What a plan breaks of the sums it must keep, in words with amounts: lines, limits, carriers."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from matchmaker.plan.arithmetic.bounds import is_above, is_below
from matchmaker.plan.arithmetic.group_arithmetic import group_kinship_of, matings_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.plan.posing.problem import (
        Candidate,
        GroupKinship,
        LineCarriers,
        LineGoal,
        PlanLimits,
        PlanProblem,
    )

MINIMUMS = {
    "wanted": "wanted chicks",
    "wanted_cocks": "wanted sons",
    "wanted_hens": "wanted daughters",
    "sure_cocks": "wanted sons on the safe side (for its certainty)",
    "sure_hens": "wanted daughters on the safe side (for its certainty)",
}
"""Fields of candidates of which a line may need a least sum, in words; with ``_min``, those of its
goal."""


def broken_sums(problem: PlanProblem, pairs: Sequence[Candidate]) -> Iterator[str]:
    """Yield every minimum of a line and every limit of the plan that these pairs break."""
    for goal in problem.lines:
        yield from _broken_line(goal, [pair for pair in pairs if pair.line == goal.line])
    yield from _broken_limits(problem.limits, pairs)
    yield from _broken_eggs(problem, pairs)
    for carriers in problem.carriers:
        yield from _broken_carriers(carriers, pairs)
    if problem.group is not None:
        yield from _broken_group(problem.group, pairs)


def _broken_line(goal: LineGoal, own: Sequence[Candidate]) -> Iterator[str]:
    cocks, hens = len({pair.cock for pair in own}), len({pair.hen for pair in own})
    if cocks < goal.cocks_min:
        yield f"line {goal.line} has {cocks} cocks, at least {goal.cocks_min}"
    if hens < goal.hens_min:
        yield f"line {goal.line} has {hens} hens, at least {goal.hens_min}"
    for field, words in MINIMUMS.items():
        least, amount = getattr(goal, f"{field}_min"), sum(getattr(one, field) for one in own)
        if least and is_below(amount, least):
            yield f"line {goal.line} expects {amount:.2f} {words}, at least {least:g}"
    yield from _broken_share(f" of line {goal.line}", goal.sire_share_max, own)


def _broken_share(of_what: str, share: float | None, pairs: Sequence[Candidate]) -> Iterator[str]:
    if share is None:
        return
    for cock, count in sorted(Counter(pair.cock for pair in pairs).items()):
        if is_above(count - share * len(pairs), 0.0):
            part = f"{count} of {len(pairs)} pairs{of_what}"
            yield f"{cock} has {part} ({count / len(pairs):.0%}), at most {share:.0%}"


def _broken_limits(limits: PlanLimits, pairs: Sequence[Candidate]) -> Iterator[str]:
    most = limits.mean_inbreeding_max
    if most is not None and is_above(sum(pair.kinship - most for pair in pairs), 0.0):
        mean = sum(pair.kinship for pair in pairs) / len(pairs)
        yield f"the chicks' mean inbreeding is {mean:.4f}, at most {most:g}"
    yield from _broken_share("", limits.sire_share_max, pairs)
    chicks = sum(pair.chicks for pair in pairs)
    if limits.chicks_max is not None and is_above(chicks, limits.chicks_max):
        yield f"{chicks:.1f} chicks are to be raised, at most {limits.chicks_max:g}"
    if limits.pairs is not None and len(pairs) != limits.pairs:
        yield f"the plan has {len(pairs)} pairs, {limits.pairs} are asked for"


def _broken_eggs(problem: PlanProblem, pairs: Sequence[Candidate]) -> Iterator[str]:
    """Eggs of turns that overlap are set in the same weeks."""
    most = problem.limits.eggs_max
    if most is None:
        return
    for together in problem.turns:
        eggs = sum(pair.eggs for pair in pairs if pair.turn in together)
        if is_above(eggs, most):
            when = f" ({', '.join(together)})" if any(together) else ""
            yield f"{eggs:.1f} eggs are to be set a week{when}, at most {most:g}"


def gone(carriers: LineCarriers, pairs: Iterable[Candidate]) -> set[str]:
    """Return the carriers that breed for other lines only."""
    home: set[str] = set()
    away: set[str] = set()
    for pair in pairs:
        (home if pair.line == carriers.line else away).update((pair.hen, pair.cock))
    return (away - home) & set(carriers.birds)


def _broken_carriers(carriers: LineCarriers, pairs: Sequence[Candidate]) -> Iterator[str]:
    lost = gone(carriers, pairs)
    if len(lost) == len(carriers.birds):
        names = ", ".join(sorted(lost))
        count = "its last carrier" if len(lost) == 1 else f"all its {len(lost)} carriers"
        yield f"line {carriers.line} loses {count} to other lines: {names}"


def _broken_group(group: GroupKinship, pairs: Sequence[Candidate]) -> Iterator[str]:
    if group.limit is None:
        return
    kinship = group_kinship_of(group, matings_of(pairs), len(pairs))
    if is_above(kinship, group.limit):
        yield f"the parents' mean kinship is {kinship:.5f}, at most {group.limit:g}"
