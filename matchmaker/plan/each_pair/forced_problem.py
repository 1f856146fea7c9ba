"""A problem in which one pair is a wish, or is no candidate at all."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from matchmaker.errors import MatchmakerError
from matchmaker.plan.posing.problem import PairTogether

if TYPE_CHECKING:
    from matchmaker.plan.posing.problem import Candidate, PlanProblem


class SeveralTurnsError(MatchmakerError):
    """A pair open in several turns cannot be forced into one of them under limits of kinship."""

    def __init__(self, candidate: Candidate) -> None:
        super().__init__(
            f"{candidate.hen} with {candidate.cock} may mate in several turns: with a limit or a "
            "price on the kinship of the parents one turn alone cannot be forced; leave the "
            "limit out, or leave the pair open in one turn only"
        )


def problem_with(problem: PlanProblem, candidate: Candidate) -> PlanProblem:
    """Return the problem with a pair as a wish; its other rows and turns are left out."""
    rest = tuple(
        one for one in problem.candidates if one == candidate or not _same_birds(one, candidate)
    )
    wish = PairTogether(name=_name(candidate), hen=candidate.hen, cock=candidate.cock)
    return replace(problem, candidates=rest, demands=(*problem.demands, wish))


def problem_without(problem: PlanProblem, candidate: Candidate) -> PlanProblem:
    """Return the problem without a pair in its row and turn."""
    rest = tuple(one for one in problem.candidates if one != candidate)
    return replace(problem, candidates=rest)


def check_one_turn(problem: PlanProblem, candidate: Candidate) -> None:
    """Raise ``SeveralTurnsError`` if the birds of a pair may mate in another turn too."""
    same = (one for one in problem.candidates if _same_birds(one, candidate))
    if any(one.turn != candidate.turn for one in same):
        raise SeveralTurnsError(candidate)


def _same_birds(one: Candidate, other: Candidate) -> bool:
    return (one.hen, one.cock) == (other.hen, other.cock)


def _name(one: Candidate) -> str:
    when = f", {one.turn}" if one.turn else ""
    return f"{one.hen} with {one.cock} ({one.row}{when})"
