"""Two places followed through a small pedigree by listing everything that can happen."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, TypeAlias

from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.flock.pedigree import Links, Pedigree

Gamete: TypeAlias = tuple[int, int]
"""Whether the first place and the second are of the breed."""

State: TypeAlias = tuple[tuple[Gamete, ...], ...]
"""The strands of each bird so far; on the Z, a hen has one."""

Options: TypeAlias = list[tuple[int, float]]
BOTH, NONE = (1, 1), (0, 0)


@dataclass(frozen=True)
class Question:
    """What to follow: the breed of each pool, recombination between the places, and on the Z?"""

    pedigree: Pedigree
    pure: tuple[int, ...]
    recombination: float
    on_z: bool = False


def both_from_breed(ask: Question, sexes: Mapping[int, Sex]) -> list[float]:
    """M(k, k) of every bird: two alleles drawn with replacement, one at each place."""
    states: dict[tuple[State, frozenset[tuple[tuple[int, int], int]]], float]
    states = {((), frozenset()): 1.0}
    for at in range(len(ask.pedigree.birds)):
        after: defaultdict[tuple[State, frozenset[tuple[tuple[int, int], int]]], float]
        after = defaultdict(float)
        for (state, drawn), chance in states.items():
            for strands, memory, part in _births(ask, at, state, dict(drawn), sexes):
                after[(*state, strands), frozenset(memory.items())] += chance * part
        states = dict(after)
    return [
        sum(p * _mean(state[at], 0) * _mean(state[at], 1) for (state, _), p in states.items())
        for at in range(len(ask.pedigree.birds))
    ]


def _mean(strands: tuple[Gamete, ...], place: int) -> float:
    return sum(strand[place] for strand in strands) / len(strands)


def _births(
    ask: Question,
    at: int,
    state: State,
    drawn: dict[tuple[int, int], int],
    sexes: Mapping[int, Sex],
) -> Iterator[tuple[tuple[Gamete, ...], dict[tuple[int, int], int], float]]:
    """Strands a bird may get, with the parents its clutch has drawn from then on."""
    sides = (ask.pedigree.sires[at], ask.pedigree.dams[at])
    pairs = product(*(_options(ask, at, side, links, drawn) for side, links in enumerate(sides)))
    for (sire, p_sire), (dam, p_dam) in pairs:
        clutch = ask.pedigree.clutch_of(at)
        memory = drawn if clutch is None else {**drawn, (clutch, 0): sire, (clutch, 1): dam}
        from_sire = _gametes(ask, state, sire, sides[0])
        from_dam = _gametes(ask, state, dam, sides[1])
        for (one, p_one), (two, p_two) in product(from_sire, from_dam):
            strands = (one,) if ask.on_z and sexes[at] is Sex.HEN else (one, two)
            yield strands, memory, p_sire * p_dam * p_one * p_two


def _options(
    ask: Question, at: int, side: int, links: Links, drawn: Mapping[tuple[int, int], int]
) -> Options:
    """Possible parents; pools are one option together, −1."""
    clutch = ask.pedigree.clutch_of(at)
    if clutch is not None and (clutch, side) in drawn:
        return [(drawn[clutch, side], 1.0)]
    first = ask.pedigree.first_bird
    birds = [(node - first, chance) for node, chance in links if node >= first]
    pools = sum(chance for node, chance in links if node < first)
    return [*birds, (-1, pools)] if pools else birds


def _gametes(ask: Question, state: State, parent: int, links: Links) -> list[tuple[Gamete, float]]:
    if parent < 0:
        return _founding(ask, links)
    strands = state[parent]
    if len(strands) == 1:
        return [(strands[0], 1.0)]
    whole, mixed = (1 - ask.recombination) / 2, ask.recombination / 2
    found: defaultdict[Gamete, float] = defaultdict(float)
    for x, y in product((0, 1), repeat=2):
        found[strands[x][0], strands[y][1]] += whole if x == y else mixed
    return list(found.items())


def _founding(ask: Question, links: Links) -> list[tuple[Gamete, float]]:
    """A pool's gamete; out of several pools one is put together as by one meiosis."""
    pools = [(ask.pure[node], p) for node, p in links if node < ask.pedigree.first_bird]
    total = sum(chance for _, chance in pools)
    part = sum(pure * chance for pure, chance in pools) / total
    together = part * (1 - part) * (1 - 2 * ask.recombination)
    chances = {
        BOTH: part**2 + together,
        NONE: (1 - part) ** 2 + together,
        (1, 0): part * (1 - part) - together,
        (0, 1): part * (1 - part) - together,
    }
    return [(gamete, chance) for gamete, chance in chances.items() if chance > 0]
