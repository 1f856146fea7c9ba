"""Families of plans around one plan whose members can be counted without listing them.

Every cock keeps his pens and rows. Hens of the plan may be left out, exchanged for unused ones
or, between two cocks of one line, change places; each hen belongs to one cluster of at most two
blocks, so that choices in different clusters never touch.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING, TypeAlias

from matchmaker import tolerance
from matchmaker.plan.nearly_best.near_limits import limits_of
from matchmaker.plan.posing.problem import (
    BirdInPen,
    BirdNotInPen,
    BirdUsed,
    HensApart,
    HensTogether,
    PairTogether,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from matchmaker.plan.arithmetic.result import PlannedPen
    from matchmaker.plan.nearly_best.near_limits import Limit
    from matchmaker.plan.posing.problem import Candidate, Demand, PlanProblem

BlockKey: TypeAlias = tuple[str, str, str, str]
"""Cock, row, line and turn: whose hens are alike to pens and lines."""


@dataclass(slots=True)
class Block:
    """The hens of one cock in one row, line and turn, and how many there may be.

    ``fixed`` hens always stay, ``free`` are the others of the plan.
    """

    key: BlockKey
    fixed: tuple[Candidate, ...]
    free: tuple[Candidate, ...]
    least: int
    most: int


@dataclass(slots=True)
class Cluster:
    """One or two blocks of one line and the hens they choose among.

    ``options`` gives, per hen, her pair in each block where she may stand, by the block's place
    in ``blocks``; ``home`` is the block of the hens that the plan itself has there. ``guests`` are
    unused hens let in. Unless ``swaps`` is set, a hen of the plan stands at home or nowhere.
    """

    blocks: tuple[Block, ...]
    options: dict[str, dict[int, Candidate]]
    home: dict[str, int]
    guests: list[str] = field(default_factory=list)
    swaps: bool = False

    @property
    def line(self) -> str:
        """The line of all its pairs."""
        return self.blocks[0].key[2]

    def choices(self, hen: str) -> dict[int, Candidate]:
        """Her pair in each block where a hen may stand."""
        own = self.options[hen]
        if hen in self.home and not self.swaps:
            return {self.home[hen]: own[self.home[hen]]}
        return own

    def worst(self, limit: Limit) -> float:
        """A bound on how much more of a limit any choice uses than the plan does."""
        used = sum(limit.use(self.options[hen][at]) for hen, at in self.home.items())
        return sum(self._most_used(at, limit) for at in range(len(self.blocks))) - used

    def _most_used(self, at: int, limit: Limit) -> float:
        """Most that one block can use, as if the other one took no hen from it."""
        block = self.blocks[at]
        pairs = (self.choices(hen).get(at) for hen in (*self.home, *self.guests))
        uses = sorted((limit.use(pair) for pair in pairs if pair is not None), reverse=True)
        least, most = block.least - len(block.fixed), block.most - len(block.fixed)
        return sum(use for nth, use in enumerate(uses[:most]) if nth < least or use > 0)


def family_of(problem: PlanProblem, pens: Sequence[PlannedPen]) -> tuple[Cluster, ...]:
    """Return clusters around a plan whose choices, in any combination, break no rule.

    Whatever could break one is left out: hens that demands name stay where they are, and every
    limit must hold even if each cluster takes the choice that uses most of it.
    """
    unmoved = _named(problem.demands) | _last_carriers(problem, pens)
    blocks = _blocks(pens, unmoved)
    pairs = _possible(problem, pens, blocks)
    clusters = _clusters(blocks, pairs)
    _invite(problem, clusters, pairs, unmoved | {pair.hen for pen in pens for pair in pen.pairs})
    _widen(problem, pens, clusters)
    return tuple(clusters)


def _named(demands: Iterable[Demand]) -> set[str]:
    """The birds that demands speak of."""
    named: set[str] = set()
    for one in demands:
        match one:
            case PairTogether():
                named |= {one.hen, one.cock}
            case BirdInPen() | BirdNotInPen() | BirdUsed():
                named.add(one.bird)
            case HensTogether() | HensApart():
                named |= {one.first, one.second}
    return named


def _last_carriers(problem: PlanProblem, pens: Sequence[PlannedPen]) -> set[str]:
    """One bird of each line that has to keep a carrier, such as stays with it in the plan."""
    lines: dict[str, set[str]] = defaultdict(set)
    for pair in (pair for pen in pens for pair in pen.pairs):
        lines[pair.hen].add(pair.line)
        lines[pair.cock].add(pair.line)
    kept: set[str] = set()
    for one in problem.carriers:
        staying = (b for b in sorted(one.birds) if not lines[b] or one.line in lines[b])
        kept.update([next(staying, "")])
    return kept - {""}


def _key(pair: Candidate) -> BlockKey:
    return (pair.cock, pair.row, pair.line, pair.turn)


def _blocks(pens: Sequence[PlannedPen], unmoved: set[str]) -> list[Block]:
    """The blocks of the plan as they are; those of test pairs never change."""
    members: dict[BlockKey, list[Candidate]] = defaultdict(list)
    for pair in (pair for pen in pens for pair in pen.pairs):
        members[_key(pair)].append(pair)
    places = Counter(pair.hen for own in members.values() for pair in own)
    stays = unmoved | {hen for hen, count in places.items() if count > 1}
    return [
        Block(
            key=key,
            fixed=tuple(pair for pair in own if pair.hen in stays),
            free=tuple(pair for pair in own if pair.hen not in stays),
            least=len(own),
            most=len(own),
        )
        for key, own in sorted(members.items())
        if not any(pair.tested for pair in own)
    ]


def _possible(
    problem: PlanProblem, pens: Sequence[PlannedPen], blocks: Iterable[Block]
) -> dict[tuple[str, BlockKey], Candidate]:
    """The pairs that could stand in the pens the blocks have."""
    known = {(pen, kind.turn) for kind in problem.kinds if kind.dam_known for pen in kind.pens}
    untold = {_key(pair) for pen in pens for pair in pen.pairs if (pen.pen, pair.turn) not in known}
    keys = {block.key for block in blocks}
    return {
        (one.hen, _key(one)): one
        for one in problem.candidates
        if _key(one) in keys and not one.tested and not (one.dams_known and _key(one) in untold)
    }


def _clusters(
    blocks: Sequence[Block], pairs: Mapping[tuple[str, BlockKey], Candidate]
) -> list[Cluster]:
    """Blocks of one line and turn two by two, first those between which most hens could change."""

    def changing(one: Block, other: Block) -> int:
        there = sum((pair.hen, other.key) in pairs for pair in one.free)
        return min(there, sum((pair.hen, one.key) in pairs for pair in other.free))

    free = dict(enumerate(blocks))
    scored = [
        (-changing(one, other), here, there)
        for (here, one), (there, other) in combinations(free.items(), 2)
        if one.key[0] != other.key[0] and one.key[2:] == other.key[2:]
    ]
    found = []
    for score, here, there in sorted(scored):
        if score < 0 and here in free and there in free:
            found.append(_cluster((free.pop(here), free.pop(there)), pairs))
    return [*found, *(_cluster((block,), pairs) for block in free.values())]


def _cluster(blocks: tuple[Block, ...], pairs: Mapping[tuple[str, BlockKey], Candidate]) -> Cluster:
    home = {pair.hen: at for at, block in enumerate(blocks) for pair in block.free}
    options = {hen: _standing(hen, blocks, pairs) for hen in home}
    for block_at, block in enumerate(blocks):
        for pair in block.free:
            options[pair.hen][block_at] = pair
    return Cluster(blocks=blocks, options=options, home=home)


def _standing(
    hen: str, blocks: Sequence[Block], pairs: Mapping[tuple[str, BlockKey], Candidate]
) -> dict[int, Candidate]:
    return {
        at: pairs[hen, block.key] for at, block in enumerate(blocks) if (hen, block.key) in pairs
    }


def _invite(
    problem: PlanProblem,
    clusters: Sequence[Cluster],
    pairs: Mapping[tuple[str, BlockKey], Candidate],
    closed: set[str],
) -> None:
    """Show each unused hen to the one cluster where she would cost least; let in later."""
    importance = {goal.line: goal.importance for goal in problem.lines}
    where: dict[BlockKey, Cluster] = {}
    cost: dict[BlockKey, float] = {}
    for cluster in clusters:
        for block in cluster.blocks:
            where[block.key] = cluster
            cost[block.key] = min((pair.value for pair in block.free), default=0.0)
    best: dict[str, tuple[float, BlockKey]] = {}
    for (hen, key), pair in sorted(pairs.items()):
        if hen not in closed:
            loss = importance[pair.line] * (cost[key] - pair.value)
            best[hen] = min(best.get(hen, (loss, key)), (loss, key))
    for hen, (_, key) in sorted(best.items(), key=lambda item: (item[1], item[0])):
        where[key].options[hen] = _standing(hen, where[key].blocks, pairs)


@dataclass(frozen=True, slots=True)
class _Change:
    """One way to let a cluster choose more; ``undo`` takes it back."""

    cluster: Cluster
    guest: str = ""
    block: Block | None = None
    sizes: tuple[int, int] = (0, 0)

    def make(self) -> None:
        if self.guest:
            self.cluster.guests.append(self.guest)
        elif self.block is not None:
            self.block.least, self.block.most = self.sizes
        else:
            self.cluster.swaps = True

    def undo(self) -> None:
        if self.guest:
            self.cluster.guests.remove(self.guest)
        elif self.block is not None:
            own = len(self.block.fixed) + len(self.block.free)
            self.block.least = self.block.most = own
        else:
            self.cluster.swaps = False


def _widen(problem: PlanProblem, pens: Sequence[PlannedPen], clusters: Sequence[Cluster]) -> None:
    """Let clusters choose more, step by step, while every limit holds whatever is chosen."""
    limits = limits_of(problem, [pair for pen in pens for pair in pen.pairs])
    worst = {at: [0.0 for _ in limits] for at in range(len(clusters))}
    for at, cluster in enumerate(clusters):
        for change in _changes(problem, pens, cluster):
            before = worst[at]
            change.make()
            worst[at] = [cluster.worst(limit) for limit in limits]
            used = [sum(parts) for parts in zip(*worst.values(), strict=True)]
            if any(
                u > limit.slack + tolerance.LIMIT for u, limit in zip(used, limits, strict=True)
            ):
                change.undo()
                worst[at] = before


def _changes(
    problem: PlanProblem, pens: Sequence[PlannedPen], cluster: Cluster
) -> Iterator[_Change]:
    if len(cluster.blocks) > 1:
        yield _Change(cluster)
    for hen in [hen for hen in cluster.options if hen not in cluster.home]:
        yield _Change(cluster, guest=hen)
    for block in cluster.blocks:
        sizes = _sizes(problem, pens, block)
        if sizes != (block.least, block.most):
            yield _Change(cluster, block=block, sizes=sizes)


def _sizes(problem: PlanProblem, pens: Sequence[PlannedPen], block: Block) -> tuple[int, int]:
    """How many hens a block may have: more or fewer only where its cock has but one pen and row."""
    own = [pen for pen in pens if pen.cock == block.key[0]]
    if len(own) > 1 or {_key(pair) for pair in own[0].pairs} != {block.key}:
        return block.least, block.most
    kind = next(
        kind for kind in problem.kinds if own[0].pen in kind.pens and kind.turn == block.key[3]
    )
    limit = next(limit for limit in problem.cocks if limit.cock == block.key[0])
    least = max(1, kind.hens_min, len(block.fixed))
    return least, min(kind.hens_max, limit.hens_max)
