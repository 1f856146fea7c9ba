"""Where a bird's prediction comes from: its own scores, its kin's, and other traits."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.flock.pedigree import LIKELY
from matchmaker.genetics.kin.ancestry import Drawn
from matchmaker.genetics.traits.combined import Combined
from matchmaker.genetics.traits.together import Together

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from matchmaker.genetics.kin.ancestry import Ancestry, Nodes
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Records


class Source(StrEnum):
    """Whose scores a part of a prediction comes from, nearest first."""

    OWN = "own"
    PARENTS = "parents"
    PROGENY = "progeny"
    SIBS = "sibs"
    OTHERS = "others"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What some scores add to a prediction, in the trait's unit: of how many birds, how many."""

    value: float
    birds: int
    scores: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """A bird's prediction in parts that sum to it.

    ``parts`` holds every ``Source``, with nothing where there are no scores. ``other_traits`` is
    what scores of correlated traits add, 0 if the trait was predicted alone. All in the trait's
    unit.
    """

    bird: int
    parts: Mapping[Source, Part]
    other_traits: float

    @property
    def total(self) -> float:
        """The prediction."""
        return sum(part.value for part in self.parts.values()) + self.other_traits


def origin(bird: int, prediction: Prediction, records: Records, ancestry: Ancestry) -> Origin:
    """Share out the prediction of bird number ``bird`` over whose scores it comes from.

    Each score counts its deviation from the level and slopes as estimated from all scores, times
    its weight in the prediction. A bird that is several things to another is the nearest
    (``Source``); one with a chance of less than ``LIKELY`` of being a parent is no parent here.

    Raises
    ------
    IndexError
        If there is no such bird.

    Examples
    --------
    A hen, her two full sisters and their sire, all scored, among others of their hatch:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.model import predict
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> flock = ancestry_of_parents([-1, -1, 0, 0, 0, -1, -1], [-1, -1, 1, 1, 1, -1, -1])
    >>> weight = Records.of_one_group("weight", [0, 2, 3, 4, 5, 6], [3.4, 2.5, 2.4, 2.3, 2.1, 2.0])
    >>> found = predict(kindred_of(flock), weight, Heredity(h2=0.4, repeatability=0.4))
    >>> hen = origin(2, found, weight, flock)
    >>> for source, part in hen.parts.items():
    ...     print(source, round(part.value, 3), part.scores)
    own 0.04 1
    parents 0.095 1
    progeny 0.0 0
    sibs -0.006 2
    others 0.0 2
    >>> round(hen.total, 3), round(float(found.values[2]), 3)
    (0.129, 0.129)
    """
    if not 0 <= bird < len(ancestry.sires):
        raise IndexError(f"birds go from 0 to {len(ancestry.sires) - 1}")
    adds = prediction.solved.weights(bird) * prediction.deviations
    if prediction.genetic_sd == 0:
        adds = np.zeros(len(records.birds))
    source_of = _sources(bird, ancestry)[records.birds]
    parts = {}
    for code, source in enumerate(Source):
        chosen = source_of == code
        parts[source] = Part(
            value=float(adds[chosen].sum()),
            birds=len(np.unique(records.birds[chosen])),
            scores=int(chosen.sum()),
        )
    return Origin(bird=bird, parts=parts, other_traits=_other_traits(bird, prediction))


def _other_traits(bird: int, prediction: Prediction) -> float:
    solved = prediction.solved
    return solved.other_traits(bird) if isinstance(solved, Together | Combined) else 0.0


def _sources(bird: int, ancestry: Ancestry) -> NDArray[np.int8]:
    """What every bird is to one, as the number of its ``Source``, shape (birds,)."""
    sides = np.array([ancestry.sires[bird], ancestry.dams[bird]])
    parents = _likely_birds(ancestry, sides)
    codes = np.full(len(ancestry.sires), len(Source) - 1, dtype=np.int8)
    shared = np.concatenate((_or_likely(ancestry, parents), _drawn_for_all(ancestry, sides)))
    own = np.array([ancestry.first_bird + bird])
    marks = {
        Source.SIBS: _chicks(ancestry, shared),
        Source.PROGENY: _chicks(ancestry, _or_likely(ancestry, own)),
        Source.PARENTS: parents - ancestry.first_bird,
        Source.OWN: np.array([bird]),
    }
    order = list(Source)
    for source, birds in marks.items():
        codes[birds] = order.index(source)
    return codes


def _likely_birds(ancestry: Ancestry, sides: Nodes) -> Nodes:
    """Birds that are, or are likely to be, one of two parental nodes."""
    of = _mixture_of_members(ancestry)
    likely = np.isin(of, sides) & (ancestry.chances >= LIKELY)
    nodes = np.concatenate((sides, ancestry.members[likely]))
    are_birds = (nodes >= ancestry.first_bird) & (nodes < ancestry.first_mixture)
    return np.asarray(nodes[are_birds])


def _or_likely(ancestry: Ancestry, birds: Nodes) -> Nodes:
    """Birds, and the mixtures that are likely to be one of them."""
    likely = np.isin(ancestry.members, birds) & (ancestry.chances >= LIKELY)
    return np.concatenate((birds, _mixture_of_members(ancestry)[likely]))


def _chicks(ancestry: Ancestry, parents: Nodes) -> Nodes:
    """Numbers of the birds with one of some parental nodes."""
    return np.flatnonzero(np.isin(ancestry.sires, parents) | np.isin(ancestry.dams, parents))


def _drawn_for_all(ancestry: Ancestry, sides: Nodes) -> Nodes:
    """Those of two parental nodes that are the one unknown parent of a clutch."""
    mixtures = sides[sides >= ancestry.first_mixture]
    drawn = ancestry.drawn[mixtures - ancestry.first_mixture]
    return np.asarray(mixtures[drawn != Drawn.FOR_EACH])


def _mixture_of_members(ancestry: Ancestry) -> Nodes:
    mixtures = ancestry.first_mixture + np.arange(len(ancestry.drawn))
    return np.repeat(mixtures, np.diff(ancestry.starts))
