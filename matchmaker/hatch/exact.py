"""How well counted chicks fit what was expected: an exact test, no rule of thumb.

All ways in which so many chicks can fall into the classes are gone through, and the chances of
those no likelier than what was counted are added up (exact multinomial test; Read & Cressie 1988,
Goodness-of-fit statistics for discrete multivariate data, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import comb, lgamma, prod, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Counts = NDArray[np.int64]

MOST_CELLS: Final = 6_000_000
"""Ways × what the parents may be; beyond it ways are drawn at random, not gone through."""

DRAWS: Final = 200_000
"""Ways drawn where there are too many to go through."""

SEED: Final = 20270302
"""Fixed, so that the same chicks give the same figure."""

TIE: Final = 1e-7
"""Chances that differ by less, relatively, are the same: rounding of logarithms."""

CHUNK: Final = 200_000
"""Ways looked at together, to bound memory."""

PIECES: Final = 500
"""Pieces of ways put together before they are looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Chance of a hatch at most as likely as the one counted, if all is as expected.

    ``chance`` is that of this very hatch; ``p`` that of one as unlikely or more so. ``error`` is
    the standard error of ``p``: 0 where every way was gone through, else it was drawn ``draws``
    times. ``ways`` is in how many ways so many chicks can fall into the classes.
    """

    p: float
    chance: float
    ways: int
    draws: int = 0
    error: float = 0.0

    @property
    def impossible(self) -> bool:
        """Whether a chick was counted that these parents cannot have."""
        return self.chance == 0.0


def exact_fit(
    counts: Sequence[int],
    chances: Sequence[Sequence[float]],
    weights: Sequence[float] = (1.0,),
    *,
    split: int = 0,
) -> Fit:
    """Return how well counts fit.

    Parameters
    ----------
    counts
        Chicks in each class.
    chances
        Chance of each class, one row for each thing the parents may be; each row sums to one.
    weights
        How likely each of those is, summing to one. The parents stay the same for all chicks of a
        hatch, so the chance of a hatch is the mean over what they may be.
    split
        So many classes, the first, are of one sex, the others of the other: how many there are of
        each is then taken as given, for who was looked at may hang on it.

    Raises
    ------
    ValueError
        If the shapes do not agree, or weights or a row of chances do not sum to one.

    Examples
    --------
    Fourteen black chicks of two birds that should give black and lavender alike: 1 in 16,384 for
    this, and as much for fourteen lavender ones.

    >>> found = exact_fit((14, 0), [(0.5, 0.5)])
    >>> round(1 / found.chance), round(1 / found.p), found.ways
    (16384, 8192, 15)
    >>> exact_fit((9, 1), [(1.0, 0.0)]).impossible
    True

    Eight gold daughters, and no son looked at:

    >>> exact_fit((0, 8), [(0.5, 0.5)], split=1).p
    1.0
    """
    own = np.asarray(counts, dtype=np.int64)
    table, share = np.asarray(chances, dtype=float), np.asarray(weights, dtype=float)
    _check(own, table, share)
    total, classes = int(own.sum()), len(own)
    mixture = _Mixture.of(table, share, total)
    first = int(own[:split].sum())
    given = _chance_of_split(table, share, (split, first, total - first)) if split else 1.0
    chance = float(mixture.chances(own[None, :])[0]) / given if given else 0.0
    sizes = ((first, split), (total - first, classes - split)) if split else ((total, classes),)
    ways = prod(comb(chicks + part - 1, part - 1) for chicks, part in sizes)
    if ways * len(share) > MOST_CELLS:
        return _drawn(mixture, own, (chance * given, given), ways, split)
    p = sum(
        float(found[found <= chance * given * (1 + TIE)].sum())
        for found in map(mixture.chances, _in_chunks(_ways_of(sizes)))
    )
    return Fit(p=min(p / given, 1.0) if given else 0.0, chance=chance, ways=ways)


def _chance_of_split(chances: Array, weights: Array, numbers: tuple[int, int, int]) -> float:
    """The chance of so many chicks in the first classes and in the others."""
    split, first, rest = numbers
    grouped = np.stack([chances[:, :split].sum(axis=1), chances[:, split:].sum(axis=1)], axis=1)
    return likelihood((first, rest), grouped.tolist(), weights.tolist())


def _ways_of(sizes: Sequence[tuple[int, int]]) -> Iterator[Counts]:
    """Every way to share out the chicks of each group among its classes."""
    chicks, classes = sizes[0]
    if len(sizes) == 1:
        yield from _all_ways(chicks, classes)
        return
    for rest in _ways_of(sizes[1:]):
        for own in _all_ways(chicks, classes):
            yield np.hstack([np.repeat(own, len(rest), axis=0), np.tile(rest, (len(own), 1))])


def likelihood(
    counts: Sequence[int], chances: Sequence[Sequence[float]], weights: Sequence[float] = (1.0,)
) -> float:
    """Return the chance of these very counts, as ``exact_fit`` takes them.

    Examples
    --------
    >>> round(likelihood((1, 1), [(0.5, 0.5), (1.0, 0.0)], (0.5, 0.5)), 12)
    0.25
    """
    own = np.asarray(counts, dtype=np.int64)
    mixture = _Mixture.of(np.asarray(chances, float), np.asarray(weights, float), int(own.sum()))
    return float(mixture.chances(own[None, :])[0])


def _check(counts: Counts, chances: Array, weights: Array) -> None:
    if counts.ndim != 1 or chances.shape != (len(weights), len(counts)) or (counts < 0).any():
        msg = f"counts {counts.shape}, chances {chances.shape}, weights {weights.shape}"
        raise ValueError(msg)
    if not np.allclose(chances.sum(axis=1), 1.0) or not np.isclose(weights.sum(), 1.0):
        msg = "chances and weights must sum to one"
        raise ValueError(msg)


@dataclass(frozen=True, slots=True)
class _Mixture:
    """Chances of hatches of one size: logarithms of chances by class, and of factorials."""

    logs: Array
    weights: Array
    factorials: Array
    open: NDArray[np.bool_]

    @classmethod
    def of(cls, chances: Array, weights: Array, total: int) -> _Mixture:
        possible = chances > 0
        logs = np.log(np.where(possible, chances, 1.0))
        factorials = np.array([lgamma(n + 1) for n in range(total + 1)])
        return cls(logs, weights, factorials, possible)

    def chances(self, ways: Counts) -> Array:
        """The chance of each way, shape (ways,)."""
        total = int(ways[0].sum())
        arranged = self.factorials[total] - self.factorials[ways].sum(axis=1)
        found = np.zeros(len(ways))
        for logs, weight, possible in zip(self.logs, self.weights, self.open, strict=True):
            own = np.exp(arranged + ways @ logs)
            if not possible.all():
                own[ways[:, ~possible].any(axis=1)] = 0.0
            found += weight * own
        return found


def _all_ways(total: int, classes: int) -> Iterator[Counts]:
    """Every way to share out chicks among classes, in pieces of bounded size."""
    if classes == 1:
        yield np.array([[total]], dtype=np.int64)
        return
    if classes == 2:
        first = np.arange(total + 1, dtype=np.int64)
        for at in range(0, len(first), CHUNK):
            piece = first[at : at + CHUNK]
            yield np.stack([piece, total - piece], axis=1)
        return
    for last in range(total + 1):
        for rest in _all_ways(total - last, classes - 1):
            yield np.column_stack([rest, np.full(len(rest), last, dtype=np.int64)])


def _in_chunks(pieces: Iterator[Counts]) -> Iterator[Counts]:
    """Small pieces put together: each call for the chances of some ways has its own cost."""
    held: list[Counts] = []
    for piece in pieces:
        held.append(piece)
        if sum(map(len, held)) >= CHUNK or len(held) >= PIECES:
            yield np.concatenate(held)
            held.clear()
    if held:
        yield np.concatenate(held)


def _drawn(
    mixture: _Mixture, counts: Counts, chance: tuple[float, float], ways: int, split: int
) -> Fit:
    """The same by drawing hatches at random; the hatch itself counts as one of them.

    ``chance`` is that of the hatch, and that of so many chicks of each sex.
    """
    rng = np.random.default_rng(SEED)
    parts = [slice(0, split), slice(split, None)] if split else [slice(None)]
    sizes = [int(counts[part].sum()) for part in parts]
    tables = np.where(mixture.open, np.exp(mixture.logs), 0.0)
    weights = mixture.weights * [
        prod(float(row[part].sum()) ** size for part, size in zip(parts, sizes, strict=True))
        for row in tables
    ]
    which = rng.multinomial(DRAWS, weights / weights.sum())
    hits = 0
    for row, number in zip(tables, which, strict=True):
        if number:
            drawn = [
                rng.multinomial(size, row[part] / row[part].sum(), size=int(number))
                if size
                else np.zeros((int(number), len(row[part])), dtype=np.int64)
                for part, size in zip(parts, sizes, strict=True)
            ]
            hits += int((mixture.chances(np.hstack(drawn)) <= chance[0] * (1 + TIE)).sum())
    p = (hits + 1) / (DRAWS + 1)
    own = chance[0] / chance[1]
    return Fit(p=p, chance=own, ways=ways, draws=DRAWS, error=sqrt(p * (1 - p) / DRAWS))
