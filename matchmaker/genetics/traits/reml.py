"""How heritable a trait is in the keeper's own flock, by restricted maximum likelihood.

The likelihood of all that the scores say once levels and slopes are taken out (Patterson & Thompson
1971, Biometrika 58:545, from memory), largest over h² and, where birds have several scores, the
repeatability. The variance of scores has a closed form given both.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.aims import HIGHEST
from matchmaker.genetics.traits.likelihood import likelihood_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.kindred import Kindred
    from matchmaker.genetics.traits.likelihood import Likelihood, Spectrum
    from matchmaker.genetics.traits.records import Records

FEWEST_TO_ESTIMATE: Final = 50
"""With fewer scored birds than this nothing is estimated."""

WIDEST: Final = 0.5
"""An interval of h² wider than this tells too little."""

WORTH_OF_PRIOR: Final = 10.0
"""What was expected of h² counts as so many observations beside the flock's own scores."""

MOST_BIRDS: Final = 2000
"""With more scored birds than this the estimate would take too long."""

MOST_UNKNOWNS: Final = 4000
"""With more birds and forebears than this it would too."""

STEPS: Final = 99
"""How many steps of h² are tried before the best is searched for."""

NODES: Final = 16
"""At how many strengths of lasting surroundings the likelihood is worked out."""

STRONGEST: Final = 0.95
"""Most that lasts of all that is not genes."""

GOLDEN: Final = (5**0.5 - 1) / 2

WITHIN_95: Final = 1.920729
"""Half of the 95 % point of χ² with one degree of freedom: how far the likelihood may fall."""


class Reason(StrEnum):
    """Why an estimate is not to be used."""

    FEW_BIRDS = "few birds"
    """Fewer than ``FEWEST_TO_ESTIMATE`` scored."""
    MANY_BIRDS = "many birds"
    """More than can be worked out."""
    NO_SPREAD = "no spread"
    """Scores do not differ within their groups."""
    WIDE = "wide"
    """The interval of h² is wider than ``WIDEST``: the scores fit almost anything."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """What a flock's own scores say of the heredity of a trait.

    ``low`` and ``high`` bound h² by 95 % profile likelihood. ``loglik`` is the largest restricted
    log-likelihood, ``loglik_without`` the largest without heritability (constants left out).
    ``leaning`` is the h² to be used: the mean of what the scores leave possible, leaning on what
    was expected, with ``likely`` its 95 % interval, and ``lasting`` what then lasts in a bird of
    all that is not genes. ``birds`` were scored, ``reason`` says why the estimate is not to be
    used, if so; for ``FEW_BIRDS``, ``MANY_BIRDS`` and ``NO_SPREAD`` nothing was estimated, h² is 0
    and its interval all there is.
    """

    birds: int
    scores: int
    h2: float
    leaning: float
    likely: tuple[float, float]
    lasting: float
    repeatability: float
    phenotypic_sd: float
    low: float
    high: float
    loglik: float
    loglik_without: float
    reason: Reason | None

    @property
    def told(self) -> bool:
        """Whether anything was estimated, be it of use or not."""
        return self.reason in {None, Reason.WIDE}

    @property
    def enough(self) -> bool:
        """Whether the scores tell enough for the estimate to be used."""
        return self.reason is None


def estimate_heredity(
    kindred: Kindred, records: Records, *, repeated: bool, expected: float
) -> Estimate:
    """Estimate h² and, if ``repeated``, the repeatability from a flock's own scores.

    ``expected`` is the h² (0 to 1) that would be taken without an estimate.

    Without ``repeated``, and where no bird has several scores, the repeatability is taken to be
    h²: birds have no lasting surroundings, or none that could be told from chance.

    Notes
    -----
    Bounds are 0 and ``HIGHEST``, and h² is at most the repeatability. The interval holds each h² at
    which the likelihood, largest over the repeatability, is within ``WITHIN_95`` of the best; it
    ends at a bound where it would go beyond. It is not to be used with fewer than
    ``FEWEST_TO_ESTIMATE`` scored birds, or if it is wider than ``WIDEST``.

    In a small flock the peak often lies at 0, where nothing would be predicted any more. So what is
    used is the mean of h² weighted by the profile likelihood times a Beta density about
    ``expected``, worth ``WORTH_OF_PRIOR`` observations: it is never 0, and follows the scores as
    they grow in number.

    Examples
    --------
    Three hundred chicks of sixty sires, of invented weights, are not enough for half-sibs alone:

    >>> from matchmaker.genetics.kin.ancestry import ancestry_of_parents
    >>> from matchmaker.genetics.traits.kindred import kindred_of
    >>> from matchmaker.genetics.traits.records import Records
    >>> sires = np.concatenate((np.full(60, -1), np.repeat(np.arange(60), 5)))
    >>> flock = kindred_of(ancestry_of_parents(sires, np.full(360, -1)))
    >>> rng = np.random.default_rng(4)
    >>> weight = Records.of_one_group(
    ...     "weight",
    ...     np.arange(60, 360),
    ...     np.repeat(rng.normal(0, 0.3, 60), 5) + rng.normal(0, 0.9, 300),
    ... )
    >>> found = estimate_heredity(flock, weight, repeated=False, expected=0.5)
    >>> round(found.h2, 2), round(found.low, 2), round(found.high, 2), round(found.leaning, 2)
    (0.35, 0.0, 0.8, 0.45)
    >>> found.enough, found.reason.value
    (False, 'wide')
    """
    scored = len(np.unique(records.birds))
    reason = _out_of_reach(kindred, scored)
    if reason is not None:
        return _nothing(records, scored, reason)
    likelihood = likelihood_of(kindred, records)
    if likelihood is None:
        return _nothing(records, scored, Reason.NO_SPREAD)
    profile = _Profile.of(likelihood, several=repeated and scored < len(records.birds))
    return _estimate(likelihood, profile, scored, expected)


def _out_of_reach(kindred: Kindred, scored: int) -> Reason | None:
    if scored < FEWEST_TO_ESTIMATE:
        return Reason.FEW_BIRDS
    large = scored > MOST_BIRDS or kindred.unknowns > MOST_UNKNOWNS
    return Reason.MANY_BIRDS if large else None


def _nothing(records: Records, scored: int, reason: Reason) -> Estimate:
    return Estimate(
        birds=scored,
        scores=len(records.birds),
        h2=0.0,
        leaning=0.0,
        likely=(0.0, HIGHEST),
        lasting=0.0,
        repeatability=0.0,
        phenotypic_sd=0.0,
        low=0.0,
        high=HIGHEST,
        loglik=0.0,
        loglik_without=0.0,
        reason=reason,
    )


def _estimate(likelihood: Likelihood, profile: _Profile, scored: int, expected: float) -> Estimate:
    grid = np.linspace(0, HIGHEST, STEPS + 1)
    heights = np.array([profile.height(h2) for h2 in grid])
    top = int(heights.argmax())
    around = float(grid[max(top - 1, 0)]), float(grid[min(top + 1, STEPS)])
    about = _largest(profile.height, *around)
    # the ridge was interpolated; here it is exact
    spectrum = likelihood.spectrum(profile.lasting(about))
    h2 = _largest(spectrum.at, max(about - 0.01, 0.0), min(about + 0.01, HIGHEST))
    leaning, likely = _leaning(grid, heights, expected)
    low, high = _interval(profile, grid, heights, max(spectrum.at(h2), heights[top]) - WITHIN_95)
    return Estimate(
        birds=scored,
        scores=len(likelihood.values),
        h2=h2,
        leaning=leaning,
        likely=likely,
        lasting=profile.lasting(leaning),
        repeatability=min(h2 + spectrum.lasting * (1 - h2), HIGHEST),
        phenotypic_sd=spectrum.variance(h2) ** 0.5,
        low=low,
        high=high,
        loglik=spectrum.at(h2),
        loglik_without=float(heights[0]),
        reason=Reason.WIDE if high - low > WIDEST else None,
    )


def _leaning(grid: Matrix, heights: Matrix, expected: float) -> tuple[float, tuple[float, float]]:
    """Mean and 95 % interval of h² over the likelihood times a Beta density about ``expected``."""
    middles, logs = (grid[1:] + grid[:-1]) / 2, (heights[1:] + heights[:-1]) / 2
    centre = min(max(expected, 0.01), HIGHEST)
    logs = logs + (WORTH_OF_PRIOR * centre - 1) * np.log(middles)
    logs = logs + (WORTH_OF_PRIOR * (1 - centre) - 1) * np.log1p(-middles)
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    low, high = np.interp((0.025, 0.975), np.cumsum(weights), grid[1:])
    return float(weights @ middles), (float(low), float(high))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Profile:
    """The likelihood of h², largest over what lasts in a bird's surroundings.

    Likelihoods are exact for all h² at a few strengths of these (``spectra``), and a polynomial
    through them (Chebyshev nodes on a logarithmic scale) leads over to many: ``between`` (shape
    (many, nodes)) times the values at the nodes are those at ``fine``, −log(1 − strength).
    """

    spectra: tuple[Spectrum, ...]
    fine: Matrix
    between: Matrix

    @classmethod
    def of(cls, likelihood: Likelihood, *, several: bool) -> _Profile:
        """Return the profile; without ``several`` scores of a bird nothing lasts."""
        if not several:
            one = np.ones((1, 1))
            return cls(spectra=(likelihood.spectrum(0.0),), fine=np.zeros(1), between=one)
        end = -np.log(1 - STRONGEST)
        nodes = end * (1 - np.cos(np.pi * np.arange(NODES) / (NODES - 1))) / 2
        fine = np.linspace(0, end, 40 * NODES + 1)
        return cls(
            spectra=tuple(likelihood.spectrum(float(1 - np.exp(-node))) for node in nodes),
            fine=fine,
            between=_between(nodes, fine),
        )

    def height(self, h2: float) -> float:
        """The largest restricted log-likelihood at this h²."""
        return self._peak(h2)[0]

    def lasting(self, h2: float) -> float:
        """What lasts, as a part of all that is not genes, where the likelihood is largest."""
        return float(1 - np.exp(-self._peak(h2)[1]))

    def _peak(self, h2: float) -> tuple[float, float]:
        """Height and place (as in ``fine``) of the peak, by a parabola through its three points."""
        along = self._along(h2)
        top = int(along.argmax())
        if not 0 < top < len(along) - 1:
            return float(along[top]), float(self.fine[top])
        before, at, after = along[top - 1 : top + 2].tolist()
        bend, slope = before - 2 * at + after, before - after
        step = float(self.fine[1] - self.fine[0])
        return at - slope**2 / (8 * bend), float(self.fine[top]) + step * slope / (2 * bend)

    def _along(self, h2: float) -> Matrix:
        return np.asarray(self.between @ np.array([one.at(h2) for one in self.spectra]))


def _between(nodes: Matrix, fine: Matrix) -> Matrix:
    """Values at ``fine`` from those at Chebyshev nodes, ends included (barycentric formula)."""
    signs = (-1.0) ** np.arange(len(nodes))
    signs[[0, -1]] /= 2
    gaps = fine[:, None] - nodes
    at_node = np.abs(gaps) < 1e-12
    parts = signs / np.where(at_node, 1.0, gaps)
    parts[at_node.any(axis=1)] = 0
    parts[at_node] = 1
    return np.asarray(parts / parts.sum(axis=1, keepdims=True))


def _largest(height: Callable[[float], float], start: float, end: float) -> float:
    """Where a function with one peak from start to end is largest (golden section)."""
    low, high = start, end
    first, second = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_first, at_second = height(first), height(second)
    while high - low > 1e-7:
        if at_first >= at_second:
            high, second, at_second = second, first, at_first
            first = high - GOLDEN * (high - low)
            at_first = height(first)
        else:
            low, first, at_first = first, second, at_second
            second = low + GOLDEN * (high - low)
            at_second = height(second)
    return max((start, (low + high) / 2, end), key=height)


def _interval(
    profile: _Profile, grid: Matrix, heights: Matrix, least: float
) -> tuple[float, float]:
    """The outermost h² at which the profile is not below ``least``."""
    inside = np.flatnonzero(heights >= least)
    first, last = int(inside[0]), int(inside[-1])
    low, high = float(grid[first]), float(grid[last])
    if first > 0:
        low = _crossing(profile, least, inside=low, outside=float(grid[first - 1]))
    if last < len(grid) - 1:
        high = _crossing(profile, least, inside=high, outside=float(grid[last + 1]))
    return low, high


def _crossing(profile: _Profile, least: float, *, inside: float, outside: float) -> float:
    while abs(inside - outside) > 1e-6:
        middle = (inside + outside) / 2
        if profile.height(middle) >= least:
            inside = middle
        else:
            outside = middle
    return inside
