"""Scores far from what all others lead to expect, and what may have been meant by them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.forecast import Forecast, TraitForecast
    from matchmaker.genetics.traits.scores import Scored
    from matchmaker.genetics.traits.surprise import Surprise

SLIPS: Final = (0.1, 10.0, 0.01, 100.0, 0.001, 1000.0)
"""What a slipped or forgotten decimal point, a figure too many or another unit leave undone."""

WITHIN: Final = 3.0
"""What was meant lies within so many SDs of what is expected."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OddScore:
    """A score far from what is expected of it; it is pulled in, never dropped.

    ``record`` is its number among the trait's records, ``row`` the row of the table, ``raw`` the
    score as written, ``expected`` what contemporaries and kin lead to expect, with standard
    deviation ``sd``; it surprises beyond ``limit`` of them. ``guess`` is what may have been meant,
    ``None`` if nothing suggests itself. All are in the trait's unit.
    """

    band: str
    trait: str
    record: int
    row: int
    raw: float
    expected: float
    sd: float
    limit: float
    guess: float | None

    @property
    def counted(self) -> float:
        """What it counts as until it is mended: what may have been meant, else less far off.

        That is, as far as would be no surprise, the same way.
        """
        if self.guess is not None:
            return self.guess
        return self.expected + math.copysign(self.limit * self.sd, self.raw - self.expected)


def odd_scores(forecast: Forecast) -> tuple[OddScore, ...]:
    """Odd scores of all traits, in order of traits, the most surprising of each first.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> eggs, weight = SimpleNamespace(odd=("530", "5")), SimpleNamespace(odd=("24",))
    >>> odd_scores(SimpleNamespace(traits=(eggs, weight)))
    ('530', '5', '24')
    """
    return tuple(odd for trait in forecast.traits for odd in trait.odd)


def odd_among(
    scored: Scored, surprises: Iterable[Surprise], bands: Sequence[str]
) -> tuple[OddScore, ...]:
    """Surprising scores of a trait as the keeper knows them; ``bands`` are those of all birds.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> from matchmaker.genetics.traits.surprise import Surprise
    >>> records = SimpleNamespace(trait="eggs", birds=np.array([0, 1, 2]))
    >>> scored = SimpleNamespace(
    ...     records=records, rows=np.array([2, 3, 4]), raw=np.array([50.0, 530.0, 41.0])
    ... )
    >>> far = Surprise(record=1, value=530.0, expected=45.0, sd=8.0, limit=4.5, distance=60.6)
    >>> (found,) = odd_among(scored, [far], ("V1", "V2", "V3"))
    >>> found.band, found.row, found.guess, found.counted
    ('V2', 3, 53.0, 53.0)
    """
    return tuple(
        OddScore(
            band=bands[int(scored.records.birds[found.record])],
            trait=scored.records.trait,
            record=found.record,
            row=int(scored.rows[found.record]),
            raw=raw,
            expected=expected,
            sd=found.sd,
            limit=found.limit,
            guess=guess_of(raw, expected, found.sd, np.delete(scored.raw, found.record)),
        )
        for found in surprises
        for raw in [float(scored.raw[found.record])]
        for expected in [raw - (found.value - found.expected)]
    )


def means_as_counted(trait: TraitForecast, bands: Sequence[str]) -> dict[str, float]:
    """Mean score of each scored bird, for its floor; none where scores are in two units.

    A slip of the pen must not cull: an odd score counts as what was meant by it, if that can be
    told, and else only where the bird has no other. ``bands`` are those of all birds.

    Examples
    --------
    Of two scores of the first hen one is beyond belief, of the second all that there is:

    >>> from types import SimpleNamespace
    >>> records = SimpleNamespace(birds=np.array([0, 0, 1]))
    >>> scored = SimpleNamespace(records=records, raw=np.array([50.0, -7.0, 20.0]))
    >>> odd = tuple(SimpleNamespace(record=record, guess=None) for record in (1, 2))
    >>> trait = SimpleNamespace(scored=scored, odd=odd, mixed=None)
    >>> means_as_counted(trait, ("V1", "V2"))
    {'V1': 50.0, 'V2': 20.0}
    """
    if trait.mixed is not None:
        return {}
    odd = {one.record: one for one in trait.odd}
    sound: dict[str, list[float]] = {}
    beyond_belief: dict[str, list[float]] = {}
    owners = trait.scored.records.birds.tolist()
    for record, (bird, raw) in enumerate(zip(owners, trait.scored.raw.tolist(), strict=True)):
        guess = odd[record].guess if record in odd else raw
        scores = beyond_belief if guess is None else sound
        scores.setdefault(bands[bird], []).append(raw if guess is None else guess)
    return {band: fmean(scores) for band, scores in sorted({**beyond_belief, **sound}.items())}


def guess_of(raw: float, expected: float, sd: float, others: Matrix) -> float | None:
    """What may have been meant by a score, ``None`` if no slip leads near what is expected.

    ``others`` (shape (m,)) are the trait's other scores: where all are whole numbers, so is what
    was meant.

    Examples
    --------
    >>> eggs = np.array([41.0, 47.0, 52.0])
    >>> guess_of(530.0, 45.0, 8.0, eggs), guess_of(5.3, 45.0, 8.0, eggs)
    (53.0, 53.0)
    >>> guess_of(533.0, 45.0, 8.0, eggs), guess_of(110.0, 45.0, 8.0, eggs)
    (None, None)
    """
    whole = bool((others == np.round(others)).all())
    for slip in SLIPS:
        meant = float(f"{raw * slip:.12g}")  # without the dust of binary fractions
        if abs(meant - expected) <= WITHIN * sd and not (whole and meant != round(meant)):
            return meant
    return None


def odd_score_text(odd: OddScore, unit: str) -> str:
    """The score and what is expected of it, both as the keeper would write them.

    Examples
    --------
    >>> odd = OddScore(
    ...     band="V01",
    ...     trait="eggs",
    ...     record=1,
    ...     row=3,
    ...     raw=530.0,
    ...     expected=44.6,
    ...     sd=8.2,
    ...     limit=4.5,
    ...     guess=53.0,
    ... )
    >>> odd_score_text(odd, "eggs")  # doctest: +NORMALIZE_WHITESPACE
    'eggs 530, where 45 ± 8 eggs is expected from its contemporaries and kin (did you mean
    53?)'
    """
    numbers = f"{rounded(odd.expected, odd.sd)} ± {rounded(odd.sd, odd.sd)}"
    after = f" {unit}" if unit else ""
    meant = "" if odd.guess is None else f" (did you mean {odd.guess:g}?)"
    return (
        f"{odd.trait} {odd.raw:g}, where {numbers}{after} is expected from its contemporaries and "
        f"kin{meant}"
    )


def rounded(value: float, error: float) -> str:
    """A number with no more decimals than its error leaves it.

    Examples
    --------
    >>> rounded(51.84, 7.2), rounded(2.8731, 0.412), rounded(2233.1, 160.0)
    ('52', '2.9', '2233')
    """
    decimals = max(0, -int(np.floor(np.log10(error)))) if error > 0 else 2
    return f"{value:.{decimals}f}"
