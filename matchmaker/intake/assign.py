"""Each column gets what it most likely is, and nothing is given twice."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.tables.columns import TABLES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.intake.claims import Claim

NEAR: Final = 0.12
"""Two readings of a column whose scores differ by less are both likely."""

Target = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assigned:
    """What a column got, or ``None``; what else it may be; another column that wanted the same."""

    claim: Claim | None
    others: tuple[Claim, ...] = ()
    rival: Target | None = None
    sure: bool = False


def assign(
    claims: Sequence[Sequence[Claim]], taken: frozenset[Target] = frozenset()
) -> tuple[Assigned, ...]:
    """Return what each column gets: the best claim of all first, each target only once.

    ``taken`` are targets that are given already. Remarks may be of several columns; a second
    column of one trait becomes a trait of its own.
    """
    given: dict[int, Claim] = {}
    used = set(taken)
    ranked = sorted(
        ((claim, at) for at, own in enumerate(claims) for claim in own if not claim.offered),
        key=lambda pair: (-pair[0].score, pair[1], pair[0].target),
    )
    for claim, at in ranked:
        if at in given:
            continue
        claim = _free(claim, used)  # noqa: PLW2901  a second column of one trait is renamed
        if claim.target in used and claim.column != "notes":
            continue
        given[at] = claim
        used.add(claim.target)
    return tuple(_assigned(at, own, given, claims) for at, own in enumerate(claims))


def _as_likely(other: Claim, claim: Claim) -> bool:
    """Whether another reading is about as likely: by its score, and by the cells that suit."""
    return other.score > claim.score - NEAR and other.share > claim.share - NEAR / 2


def is_trait(claim: Claim) -> bool:
    """Whether a claim is for a trait, of which there may be any number."""
    declared = {column.name for column in TABLES["scores"].columns} | {"notes"}
    return claim.table == "scores" and claim.column not in declared


def _free(claim: Claim, used: set[Target]) -> Claim:
    """Return the claim under a name that is free, where it is for a trait."""
    name, count = claim.column, 1
    while is_trait(claim) and claim.target in used:
        count += 1
        claim = replace(claim, column=f"{name} {count}")
    return claim


def _assigned(
    at: int,
    own: Sequence[Claim],
    given: Mapping[int, Claim],
    claims: Sequence[Sequence[Claim]],
) -> Assigned:
    claim = given.get(at)
    if claim is None:
        wanted = [one for one in own if not one.offered]
        rival = wanted[0].target if wanted else None
        given_out = {one.target for one in given.values()}
        free = tuple(one for one in own if not one.offered or one.target not in given_out)
        return Assigned(claim=None, others=free[:4], rival=rival, sure=not free)
    winners = {one.target: one for place, one in given.items() if place != at}
    others = tuple(
        one
        for one in own
        if one.target != claim.target
        and (one.target not in winners or winners[one.target].score < one.score + NEAR)
        and one.score >= claim.score / 2
    )
    near = [one for one in others if _as_likely(one, claim) and one.target not in winners]
    contested = claim.column != "notes" and any(
        one.target == claim.target and one.score > claim.score - NEAR / 2 and one.agreed
        for place, column in enumerate(claims)
        if place != at
        for one in column
    )
    sure = claim.agreed and not near and not (contested and not is_trait(claim))
    return Assigned(claim=claim, others=others[:4], sure=sure)
