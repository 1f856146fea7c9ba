"""From traits to one merit: aims, weights and the sum of standardised predictions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.merit import Heredity, Measurement, TraitPrediction, predict_trait

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock
    from matchmaker.settings import Settings, TraitSettings

WEIGHT_WORDS: Final = {"must improve": 0.30, "must not fall": 0.15, "ignore": 0.0}
"""What the keeper's words count: a chick one genetic SD better counts this much more."""

DEFAULT_WEIGHT: Final = 0.15
DEFAULT_H2: Final = 0.30
DEFAULT_REPEATABILITY: Final = 0.50


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitAim:
    """Where a trait shall go and how much it counts.

    ``sign`` is +1 or −1 for a direction and 0 where only an ``optimum`` or a ``floor`` is given;
    ``weight`` is in shares of a wanted chick per genetic SD.
    """

    trait: str
    sign: int
    weight: float
    optimum: float | None
    floor: float | None
    heredity: Heredity
    unit: str


def trait_aims(settings: Settings, traits: Sequence[str]) -> tuple[TraitAim, ...]:
    """The aims of all traits that have scores and settings, in order of their names.

    Examples
    --------
    >>> from matchmaker.settings import Settings, TraitSettings
    >>> settings = Settings(
    ...     season=2027,
    ...     recurrent="sussex",
    ...     target={"O": 2},
    ...     traits={"eggs": TraitSettings(direction="up", weight="must improve")},
    ... )
    >>> [(aim.trait, aim.sign, aim.weight) for aim in trait_aims(settings, ["eggs", "weight"])]
    [('eggs', 1, 0.3)]
    """
    return tuple(
        _aim(trait, settings.traits[trait]) for trait in sorted(traits) if trait in settings.traits
    )


def _aim(trait: str, wanted: TraitSettings) -> TraitAim:
    h2 = DEFAULT_H2 if wanted.h2 is None else wanted.h2
    repeatability = DEFAULT_REPEATABILITY if wanted.repeatability is None else wanted.repeatability
    return TraitAim(
        trait=trait,
        sign={"up": 1, "down": -1, None: 0}[wanted.direction],
        weight=_weight(wanted),
        optimum=wanted.optimum,
        floor=wanted.floor,
        heredity=Heredity(h2=h2, repeatability=max(repeatability, h2)),
        unit=wanted.unit,
    )


def _weight(wanted: TraitSettings) -> float:
    if wanted.direction is None and wanted.optimum is None:
        return 0.0
    if wanted.weight is None:
        return DEFAULT_WEIGHT
    return WEIGHT_WORDS[wanted.weight] if isinstance(wanted.weight, str) else wanted.weight


def trait_defaults(settings: Settings, traits: Sequence[str]) -> tuple[str, ...]:
    """Sentences on what was assumed of the scored traits.

    Examples
    --------
    >>> from matchmaker.settings import Settings
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2})
    >>> trait_defaults(settings, ["eggs"])
    ('scored but not used, no aim being given: eggs',)
    """
    known = [trait for trait in sorted(traits) if trait in settings.traits]
    aimed = [
        t for t in known if settings.traits[t].direction or settings.traits[t].optimum is not None
    ]
    assumed = {
        f"weight {DEFAULT_WEIGHT}": [t for t in aimed if settings.traits[t].weight is None],
        f"heritability {DEFAULT_H2}": [t for t in aimed if settings.traits[t].h2 is None],
        f"repeatability {DEFAULT_REPEATABILITY}": [
            t for t in aimed if settings.traits[t].repeatability is None
        ],
    }
    sentences = [
        f"{what} taken for: {', '.join(names)}" for what, names in assumed.items() if names
    ]
    without = [trait for trait in sorted(traits) if trait not in settings.traits]
    if without:
        sentences.append(f"scored but not used, no aim being given: {', '.join(without)}")
    return tuple(sentences)


def measurements(flock: Flock, trait: str) -> list[Measurement]:
    """All scores of one trait with their contemporary groups, in order of band and row.

    The groups are hatch × sex × the group given, then season × sex × that group, then season ×
    sex. Scores of birds of the other sex than the trait's, if it names one, are left out.
    """
    birds = flock.by_band()
    rows = sorted(flock.tables.scores, key=lambda row: (row.bird, row.row))
    return [
        _measurement(birds[row.bird], row.traits[trait], row.group)
        for row in rows
        if trait in row.traits and _scored(birds.get(row.bird), flock.settings.traits.get(trait))
    ]


def _scored(bird: Bird | None, wanted: TraitSettings | None) -> bool:
    sex = wanted.sex if wanted else None
    return bird is not None and (sex is None or bird.sex == sex)


def _measurement(bird: Bird, value: float, group: str) -> Measurement:
    hatch = str(bird.hatched) if bird.hatched else ""
    season = hatch[:4]
    sex = str(bird.sex or "")
    groups = ((hatch, sex, group), (season, sex, group), (season, sex))
    return Measurement(bird=bird.band, value=value, groups=groups)


def predict_traits(flock: Flock, aims: Sequence[TraitAim]) -> dict[str, TraitPrediction]:
    """Predictions of every trait that has an aim."""
    return {
        aim.trait: predict_trait(
            aim.trait, measurements(flock, aim.trait), aim.heredity, flock.pedigree
        )
        for aim in aims
    }


def trait_gains(
    hen: str, cock: str, aims: Sequence[TraitAim], predictions: Mapping[str, TraitPrediction]
) -> dict[str, float]:
    """What a pair's chicks are expected to be worth per trait, in genetic SDs, more being better.

    For a direction, the mean of the parents' predictions; for an optimum, less the distance of
    the expected chick from it. With the same bird on both sides, the bird's own standing.

    Examples
    --------
    A hen one genetic SD above the mean and a cock of whom nothing is known:

    >>> up = TraitAim(
    ...     trait="eggs",
    ...     sign=1,
    ...     weight=0.3,
    ...     optimum=None,
    ...     floor=None,
    ...     heredity=Heredity(h2=0.3, repeatability=0.5),
    ...     unit="",
    ... )
    >>> found = TraitPrediction(
    ...     trait="eggs",
    ...     mean=50.0,
    ...     genetic_sd=4.0,
    ...     standardised={"H": 1.0, "C": 0.0},
    ...     reliability={"H": 0.3, "C": 0.0},
    ... )
    >>> trait_gains("H", "C", [up], {"eggs": found})
    {'eggs': 0.5}
    """
    return {aim.trait: _gain(hen, cock, aim, predictions[aim.trait]) for aim in aims if aim.weight}


def _gain(hen: str, cock: str, aim: TraitAim, found: TraitPrediction) -> float:
    if found.genetic_sd == 0:
        return 0.0
    middle = (found.standardised[hen] + found.standardised[cock]) / 2
    if aim.optimum is None:
        return aim.sign * middle
    return -abs(found.mean + found.genetic_sd * middle - aim.optimum) / found.genetic_sd


def merit_of(gains: Mapping[str, float], aims: Sequence[TraitAim]) -> float:
    """Weighted sum of gains: by how much of a wanted chick they raise or lower a chick's worth.

    Examples
    --------
    >>> up = TraitAim(
    ...     trait="eggs",
    ...     sign=1,
    ...     weight=0.3,
    ...     optimum=None,
    ...     floor=None,
    ...     heredity=Heredity(h2=0.3, repeatability=0.5),
    ...     unit="",
    ... )
    >>> merit_of({"eggs": 0.5}, [up])
    0.15
    """
    weights = {aim.trait: aim.weight for aim in aims}
    return sum(weights[trait] * gain for trait, gain in gains.items())
