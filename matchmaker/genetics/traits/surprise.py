"""Scores that nothing else leads to expect: slips of the pen, or remarkable birds."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.equations import surroundings
from matchmaker.genetics.traits.prediction import Precise

if TYPE_CHECKING:
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Records

BY_CHANCE: Final = 0.01
"""In so many flocks with sound scores, normally spread, one may be called odd."""

FEW_UNSURE: Final = 9.0
"""Of n scores the robust SD is so unsure that the limit is 1 + 9/n times as far (by simulation)."""

TO_SD: Final = 1.4826
"""SD of a normal distribution in units of its median absolute deviation."""

MOST_ASIDE: Final = 0.1
"""At most about so many of the scores are set aside."""

FEW_VALUES: Final = 10
"""A scale of so many whole numbers at most is no place to look for slips ..."""

FEW_STEPS: Final = 9
"""... if it reaches no further than this from its lowest number to its highest."""

FEWEST_SCORES: Final = 12
"""With fewer scores their own spread is too uncertain to judge one by it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """A score far from what all other scores lead to expect.

    ``record`` is its number among the records. ``value`` is as in the records, ``expected`` what
    its group, its bird's other scores and kin lead to expect with standard deviation ``sd``, all in
    the trait's unit; ``sd`` is robust, so the score itself does not widen it. ``distance`` is how
    many of them it is off, with its sign, and ``limit`` beyond how many it surprises.
    """

    record: int
    value: float
    expected: float
    sd: float
    limit: float
    distance: float


def outliers(
    prediction: Prediction, records: Records, scores: Matrix | None = None
) -> list[Surprise]:
    """Scores that are surprising, the most surprising first; nothing is dropped for it.

    ``scores`` (shape (records,)) are the scores as written, where the records hold them less
    something: on a scale of at most ``FEW_VALUES`` whole numbers nothing is surprising, nor among
    fewer than ``FEWEST_SCORES`` scores.

    Notes
    -----
    Each score's standardised deletion residual (Py)ᵢ / √Pᵢᵢ is divided by a robust SD of all of
    them, their median absolute deviation times 1.4826, so that a slip cannot hide in the variance
    that it caused itself. The worst is set aside and the rest is judged anew, as long as one is
    surprising and at most a tenth of all: what a slip would say of kin and contemporaries is not
    held against them. What is expected comes from the scores that were not set aside.

    Examples
    --------
    Twenty hens of one hatch; somebody wrote 153 for 53:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.model import predict
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> eggs = Records.of_one_group("eggs", np.arange(20), [153.0, *range(43, 62)])
    >>> flock = kindred_of(ancestry_of_parents([-1] * 20, [-1] * 20))
    >>> (found,) = outliers(predict(flock, eggs, Heredity(h2=0.2, repeatability=0.4)), eggs)
    >>> found.record, round(found.expected), round(found.distance)
    (0, 52, 13)
    """
    written = records.values if scores is None else scores
    if prediction.phenotypic_sd == 0 or len(written) < FEWEST_SCORES or few_steps(written):
        return []
    differences, variances = deletions(prediction, records)
    search = _Search.of(differences, variances)
    while len(search.aside) <= len(written) * MOST_ASIDE:
        worst = search.worst()
        if worst is None:
            break
        search.set_aside(worst, _precise(prediction).projected(worst))
    return _surprises(search, records)


def surprising_among(scores: int) -> float:
    """How many robust SDs off a score must be to surprise among so many.

    Notes
    -----
    The two-sided normal quantile of ``BY_CHANCE`` / n, widened for few scores. In 20,000 simulated
    flocks of 12, 20, 40 and 100 unrelated birds 1 % had a score beyond 5.9, 5.0, 4.5 and 4.3 SDs.

    Examples
    --------
    >>> [round(surprising_among(scores), 1) for scores in (12, 20, 40, 100, 2000)]
    [5.8, 5.0, 4.5, 4.2, 4.6]
    """
    quantile = NormalDist().inv_cdf(1 - BY_CHANCE / 2 / scores)
    return quantile * (1 + FEW_UNSURE / scores)


class _Search:
    """Residuals and precisions of the scores, with those set aside taken out one by one.

    Taking score i out leaves P − PeᵢeᵢᵀP / Pᵢᵢ, so only columns of P are needed.
    """

    def __init__(self, pulled: Matrix, precisions: Matrix) -> None:
        self.pulled = pulled
        self.precisions = precisions
        self.first_pulled = pulled.copy()
        self.aside: list[int] = []
        self.columns: list[Matrix] = []
        self._taken: list[Matrix] = []
        self._smallest = 1e-9 * precisions

    @classmethod
    def of(cls, differences: Matrix, variances: Matrix) -> _Search:
        return cls(differences / variances, 1 / variances)

    def distances(self) -> tuple[Matrix, float]:
        """Residuals in their own SDs, and the robust SD of those that are judged."""
        judged = self.precisions > self._smallest
        judged[self.aside] = False
        residuals = np.zeros(len(judged))
        residuals[judged] = self.pulled[judged] / np.sqrt(self.precisions[judged])
        among = residuals[judged]
        spread = TO_SD * float(np.median(np.abs(among - np.median(among)))) if judged.any() else 0
        return residuals, spread

    def worst(self) -> int | None:
        """The most surprising score of those left, ``None`` if none is."""
        residuals, spread = self.distances()
        at = int(np.abs(residuals).argmax())
        return (
            at
            if spread > 0 and abs(residuals[at]) > surprising_among(len(residuals)) * spread
            else None
        )

    def set_aside(self, at: int, column: Matrix) -> None:
        """Take a score out; ``column`` is its column of P, that of all scores."""
        self.aside.append(at)
        self.columns.append(column)
        left = column - sum((taken * taken[at] for taken in self._taken), np.zeros(len(column)))
        taken = left / np.sqrt(left[at])
        self.pulled = self.pulled - taken * (self.pulled[at] / np.sqrt(left[at]))
        self.precisions = self.precisions - taken**2
        self._taken.append(taken)


def _surprises(search: _Search, records: Records) -> list[Surprise]:
    """Those set aside, seen from those that were not."""
    if not search.aside:
        return []
    aside = np.array(search.aside)
    errors = np.linalg.inv(np.array(search.columns)[:, aside])
    differences = errors @ search.first_pulled[aside]
    limit = surprising_among(len(search.pulled))
    sds = search.distances()[1] * np.sqrt(errors.diagonal())
    found = [
        Surprise(
            record=int(at),
            value=float(records.values[at]),
            expected=float(records.values[at] - difference),
            sd=float(sd),
            limit=limit,
            distance=float(difference / sd),
        )
        for at, difference, sd in zip(aside, differences, sds, strict=True)
        if abs(difference) > limit * sd
    ]
    return sorted(found, key=lambda one: (-abs(one.distance), one.record))


def deletions(prediction: Prediction, records: Records) -> tuple[Matrix, Matrix]:
    """Each score less what all others lead to expect, and the variance of that, (records,) both.

    A score that stands alone in its group has nothing to be compared with: difference 0, infinite
    variance.

    Notes
    -----
    (Py)ᵢ / Pᵢᵢ and 1 / Pᵢᵢ, P = V⁻¹ − V⁻¹X(XᵀV⁻¹X)⁻¹XᵀV⁻¹.

    Examples
    --------
    Two strangers with a score each: either is expected to be like the other.

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.model import predict
    >>> from matchmaker.genetics.traits.records import Heredity, Records
    >>> eggs = Records.of_one_group("eggs", [0, 1], [50.0, 54.0])
    >>> flock = kindred_of(ancestry_of_parents([-1, -1], [-1, -1]))
    >>> found = predict(flock, eggs, Heredity(h2=0.25, repeatability=0.5))
    >>> [part.round(6).tolist() for part in deletions(found, eggs)]
    [[-4.0, 4.0], [16.0, 16.0]]
    """
    around = surroundings(records, prediction.heredity)
    rest = prediction.deviations - prediction.values[records.birds]
    pulled = around.divide(rest) / prediction.phenotypic_sd**2
    precisions = _precise(prediction).precisions()
    alone = precisions <= 1e-9 * around.own / prediction.phenotypic_sd**2
    precisions[alone] = 1.0
    differences = np.where(alone, 0.0, pulled / precisions)
    return differences, np.where(alone, np.inf, 1 / precisions)


def _precise(prediction: Prediction) -> Precise:
    if not isinstance(prediction.solved, Precise):
        raise TypeError(f"{prediction.trait} was predicted with other traits: ask it alone")
    return prediction.solved


def few_steps(written: Matrix) -> bool:
    """Whether scores are on a scale of few whole numbers, as points from 1 to 5.

    Examples
    --------
    >>> few_steps(np.array([1.0, 3.0, 4.0])), few_steps(np.array([50.0, 51.0, 153.0]))
    (True, False)
    """
    distinct = np.unique(written)
    whole = bool((distinct == np.round(distinct)).all())
    if not whole or len(distinct) > FEW_VALUES:
        return False
    return not len(distinct) or bool(np.ptp(distinct) <= FEW_STEPS)
