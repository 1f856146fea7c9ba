"""What the scores say of every bird, trait by trait, and of the chicks it may have."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.errors import InputError
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.shares.share import recurrent_shares
from matchmaker.genetics.traits.aims import HIGHEST, TraitAim, trait_aims
from matchmaker.genetics.traits.faults import correlation_matrix, trait_faults
from matchmaker.genetics.traits.heterozygosity import heterozygosity_of
from matchmaker.genetics.traits.kindred import Kindred, kindred_of
from matchmaker.genetics.traits.mixed import MixedUnits, mixed_units
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.odd import OddScore, odd_among
from matchmaker.genetics.traits.records import Heredity
from matchmaker.genetics.traits.scores import (
    SHARE,
    VIGOUR,
    Composition,
    Scored,
    Told,
    listed_scores,
    trait_records,
)
from matchmaker.genetics.traits.surprise import outliers
from matchmaker.genetics.traits.together import predict_together
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.flock import Flock
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.genetics.traits.prediction import Prediction
    from matchmaker.genetics.traits.records import Records
    from matchmaker.genetics.traits.reml import Estimate

FEWEST_BIRDS: Final = 6
"""With fewer scored birds than this a trait tells nothing yet."""

FEWEST_LEFT: Final = 5
"""Nor with fewer scores than this beyond the levels and slopes that are taken from them: the
spread of birds would be a guess."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TraitForecast:
    """What is known of one trait in every bird.

    ``values`` (shape (birds,)) are the predicted breeding values in the trait's unit, with breed
    and vigour taken out, and ``reliability`` (shape (birds,)) how far to trust them, 0 to 1; both
    are 0 where ``prediction`` is ``None``, too few birds being scored. ``pure_level`` is where a
    pure bird of the recurrent breed would be, of average merit and not inbred. ``share_slope`` is
    the difference between the recurrent breed and the donors, ``vigour`` that between a first
    cross and the mean of its breeds, each with its standard error, and 0 if the scores do not tell
    it (``told``); where they are confounded ``share_slope`` stands for both. ``depression`` is
    the change from no inbreeding to full. All are in the trait's unit. ``aim`` holds the
    heredity that was used, ``estimate`` what the flock's own scores say of it, if that was asked.
    ``odd`` are scores too far from what is expected of them, each of which counts less far off;
    ``mixed`` says that scores are in two units, so that nothing is predicted from them.
    """

    aim: TraitAim
    scored: Scored
    prediction: Prediction | None
    genetic_sd: float
    values: Matrix
    reliability: Matrix
    pure_level: float
    share_slope: float = 0.0
    vigour: float = 0.0
    share_error: float = 0.0
    vigour_error: float = 0.0
    told: Told = Told.NEITHER
    depression: float = 0.0
    estimate: Estimate | None = None
    odd: tuple[OddScore, ...] = ()
    mixed: MixedUnits | None = None

    @property
    def levels(self) -> Matrix:
        """Where a pure bird with each bird's genes would be, in the trait's unit, (birds,)."""
        return np.asarray(self.pure_level + self.values)

    def chick_level(
        self, share: Matrix, heterozygosity: Matrix, inbreeding: Matrix, middle: Matrix
    ) -> Matrix:
        """Where chicks are expected, in the trait's unit; all arguments of one shape, or numbers.

        ``share`` of the recurrent breed, ``heterozygosity`` between breeds and ``inbreeding`` are
        the chicks' own (0 to 1), ``middle`` is the mean of their parents' ``values``.
        """
        breed = self.share_slope * (np.asarray(share) - 1) + self.vigour * heterozygosity
        return np.asarray(self.pure_level + breed + middle + self.depression * inbreeding)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forecast:
    """What the scores say of every bird in all traits that have an aim.

    ``birds`` are the bands in the order of the pedigree; ``shares`` of the recurrent breed,
    ``inbreeding`` and ``heterozygosity`` between breeds (each of shape (birds,)) are 0 to 1.
    ``correlations`` (traits, traits) are those of breeding values, ``bird_errors`` (birds, traits,
    traits) the (co)variances of the errors of each bird's predictions, in the traits' units.
    """

    birds: tuple[str, ...]
    traits: tuple[TraitForecast, ...]
    shares: Matrix
    inbreeding: Matrix
    heterozygosity: Matrix
    correlations: Matrix
    bird_errors: Matrix
    _positions: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        positions = {bird: at for at, bird in enumerate(self.birds)}
        object.__setattr__(self, "_positions", positions)

    @property
    def aims(self) -> tuple[TraitAim, ...]:
        """The aims of all traits, with the heredity that was used."""
        return tuple(found.aim for found in self.traits)

    def position(self, bird: str) -> int:
        """Number of a band in every array.

        Raises
        ------
        KeyError
            If the bird is not in the books.
        """
        return self._positions[bird]

    def trait(self, name: str) -> TraitForecast:
        """The forecast of one trait.

        Raises
        ------
        KeyError
            If the trait has no scores or no aim.
        """
        return {found.aim.trait: found for found in self.traits}[name]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Prepared:
    """One trait before it is predicted; ``alone`` is a prediction that can still be used."""

    aim: TraitAim
    scored: Scored
    estimate: Estimate | None
    odd: tuple[OddScore, ...] = ()
    mixed: MixedUnits | None = None
    alone: Prediction | None = None

    @property
    def enough(self) -> bool:
        records = self.scored.records
        left = len(records.values) - records.group_count - len(records.names)
        many = self.scored.birds_scored >= FEWEST_BIRDS and left >= FEWEST_LEFT
        return many and self.mixed is None


def forecast(flock: Flock) -> Forecast:
    """Predict every trait that has scores and an aim, for all birds of the books.

    Notes
    -----
    Each trait is predicted by itself unless the settings say how the genes for some go together
    (``together``). Heritabilities are those given, published ones, or, where asked for
    and the flock is large enough, estimated from its own scores (``reml``).

    Raises
    ------
    InputError
        If the settings of traits cannot be used: an unknown published trait, or correlations that
        cannot all be true.
    """
    faults = trait_faults(flock.tables)
    if faults:
        raise InputError(tuple(faults))
    kindred = kindred_of(ancestry_of(flock.pedigree))
    composition = _composition(flock, kindred)
    listed, bands = listed_scores(flock), flock.pedigree.birds
    prepared = [
        _prepared(kindred, bands, aim, trait_records(flock, listed, aim, composition))
        for aim in trait_aims(flock.settings, flock.tables.traits)
    ]
    correlations = correlation_matrix(
        flock.settings.correlations, [one.aim.trait for one in prepared]
    )
    predictions, errors = _predicted(kindred, prepared, correlations)
    return Forecast(
        birds=flock.pedigree.birds,
        traits=tuple(
            _trait_forecast(one, found, len(kindred.birds))
            for one, found in zip(prepared, predictions, strict=True)
        ),
        shares=composition.share,
        inbreeding=composition.inbreeding,
        heterozygosity=composition.heterozygosity,
        correlations=correlations,
        bird_errors=errors,
    )


def _composition(flock: Flock, kindred: Kindred) -> Composition:
    shares = recurrent_shares(flock.pedigree, flock.settings.recurrent)
    return Composition(
        share=np.array([shares[bird] for bird in flock.pedigree.birds], dtype=np.float64),
        heterozygosity=heterozygosity_of(flock.pedigree),
        inbreeding=np.asarray(kindred.own - 1),
    )


def _prepared(kindred: Kindred, bands: Sequence[str], aim: TraitAim, scored: Scored) -> _Prepared:
    """The trait with odd scores pulled in, and the heredity to use: estimated, where asked for."""
    mixed = mixed_units(scored.raw)
    found = _Prepared(aim=aim, scored=scored, estimate=None, mixed=mixed)
    if not found.enough:
        return found
    alone = predict(kindred, scored.records, aim.heredity)
    odd = odd_among(scored, outliers(alone, scored.records, scored.raw), bands)
    if odd:
        scored = replace(scored, records=_pulled_in(scored, odd))
        found = replace(found, scored=scored, odd=odd)
    else:
        found = replace(found, alone=alone)
    return _estimated(kindred, found) if aim.estimate else found


def _pulled_in(scored: Scored, odd: Sequence[OddScore]) -> Records:
    """The records with each odd score less far off.

    A slip of the pen would otherwise decide what all birds are thought to differ by.
    """
    values = scored.records.values.copy()
    for one in odd:
        values[one.record] += one.counted - one.raw
    return replace(scored.records, values=values)


def _estimated(kindred: Kindred, found: _Prepared) -> _Prepared:
    # here, because it is seldom asked for
    from matchmaker.genetics.traits.reml import estimate_heredity

    aim, scored = found.aim, found.scored
    estimate = estimate_heredity(
        kindred, scored.records, repeated=scored.repeated, expected=aim.heredity.h2
    )
    if estimate.enough:
        aim = replace(aim, heredity=_usable(estimate, aim.heredity, repeated=scored.repeated))
        found = replace(found, alone=None)
    return replace(found, aim=aim, estimate=estimate)


def _usable(estimate: Estimate, assumed: Heredity, *, repeated: bool) -> Heredity:
    """The estimated heredity; without repeated scores repeatability stays as it was taken."""
    h2 = min(estimate.leaning, HIGHEST)
    estimated = h2 + estimate.lasting * (1 - h2)
    repeatability = estimated if repeated else assumed.repeatability
    return Heredity(h2=h2, repeatability=min(max(h2, repeatability), HIGHEST))


def _predicted(
    kindred: Kindred, prepared: Sequence[_Prepared], correlations: Matrix
) -> tuple[list[Prediction | None], Matrix]:
    """Predictions of all traits and the errors of each bird's, shape (birds, traits, traits)."""
    count = len(prepared)
    telling = [at for at, one in enumerate(prepared) if one.enough]
    predictions, together = predict_together(
        kindred,
        [prepared[at].scored.records for at in telling],
        [prepared[at].aim.heredity for at in telling],
        correlations[np.ix_(telling, telling)],
        [prepared[at].alone for at in telling],
    )
    found = dict(zip(telling, predictions, strict=True))
    errors = np.zeros((len(kindred.birds), count, count))
    errors[np.ix_(range(len(errors)), telling, telling)] = together
    return [found.get(at) for at in range(count)], errors


def _trait_forecast(one: _Prepared, prediction: Prediction | None, birds: int) -> TraitForecast:
    scored = one.scored
    plain = _unpredicted(one, birds)
    if prediction is None:
        return plain
    names = scored.records.names
    slopes = dict(zip(names, prediction.slopes.tolist(), strict=True))
    errors = dict(zip(names, prediction.slope_errors.tolist(), strict=True))
    level = _mean_of_hens(scored, prediction.levels[scored.records.groups])
    return replace(
        plain,
        prediction=prediction,
        genetic_sd=prediction.genetic_sd,
        values=prediction.values,
        reliability=prediction.reliability,
        pure_level=level + slopes.get(SHARE, 0.0),
        share_slope=slopes.get(SHARE, 0.0),
        vigour=slopes.get(VIGOUR, 0.0),
        share_error=errors.get(SHARE, 0.0),
        vigour_error=errors.get(VIGOUR, 0.0),
        told=scored.told,
    )


def _unpredicted(one: _Prepared, birds: int) -> TraitForecast:
    """What is known of a trait whose scores foretell nothing."""
    scored = one.scored
    return TraitForecast(
        aim=one.aim,
        scored=scored,
        prediction=None,
        genetic_sd=0.0,
        values=np.zeros(birds),
        reliability=np.zeros(birds),
        pure_level=_mean_of_hens(scored, scored.records.values),
        depression=scored.depression,
        estimate=one.estimate,
        odd=one.odd,
        mixed=one.mixed,
    )


def _mean_of_hens(scored: Scored, values: Matrix) -> float:
    """Mean over the records of hens, over all if there are none; 0 without records."""
    sexes = np.array([sex == Sex.HEN for sex in scored.contemporaries.sexes], dtype=np.bool_)
    hens = sexes[scored.records.groups] if len(values) else np.zeros(0, dtype=np.bool_)
    chosen = values[hens] if hens.any() else values
    return float(chosen.mean()) if len(chosen) else 0.0
