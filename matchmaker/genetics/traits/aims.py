"""Where each scored trait shall go, how much it counts and which numbers of heredity it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.published import (
    FROM_MEMORY,
    GENERAL_H2,
    GENERAL_REPEATABILITY,
    PublishedTrait,
    published_traits,
    recognised,
)
from matchmaker.genetics.traits.records import Heredity
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.settings import Settings, TraitSettings

WEIGHT_WORDS: Final = {"must improve": 0.30, "must not fall": 0.15, "ignore": 0.0}
"""What the keeper's words count: a chick one genetic SD better counts this much more."""

DEFAULT_WEIGHT: Final = 0.15

HIGHEST: Final = 0.99
"""Heritability and repeatability are cut here: a score without any chance in it cannot be true."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitAim:
    """Where a trait shall go, how much it counts, and what is taken of its heredity.

    ``sign`` is +1 or −1 for a direction and 0 where only an ``optimum`` or a ``floor`` is given;
    ``weight`` is in shares of a wanted chick per genetic SD. ``depression`` is the change in the
    trait's unit from no inbreeding to full, as the keeper gave it; where he gave none (``None``),
    ``depression_percent`` is the change for every 10 % of inbreeding in per cent of the mean.
    ``sex`` is the only one scored, ``published`` the published trait whose numbers serve where
    none are given, and ``estimate`` asks for the heritability from the flock's own scores.
    """

    trait: str
    sign: int
    weight: float
    optimum: float | None
    floor: float | None
    heredity: Heredity
    unit: str = ""
    sex: Sex | None = None
    depression: float | None = None
    depression_percent: float = 0.0
    published: str | None = None
    estimate: bool = False

    def depression_at(self, mean: float) -> float:
        """Change from no inbreeding to full, in the trait's unit, where its mean is ``mean``."""
        if self.depression is not None:
            return self.depression
        return 10 * self.depression_percent / 100 * abs(mean)


def trait_aims(settings: Settings, traits: Sequence[str]) -> tuple[TraitAim, ...]:
    """The aims of all traits that have scores and settings, in order of their names.

    Raises
    ------
    KeyError
        If a trait is said to be like one that is not published here.

    Examples
    --------
    >>> from matchmaker.settings import Settings, TraitSettings
    >>> settings = Settings(
    ...     season=2027,
    ...     recurrent="sussex",
    ...     target={"O": 2},
    ...     traits={"eggs": TraitSettings(direction="up", weight="must improve")},
    ... )
    >>> (aim,) = trait_aims(settings, ["eggs", "weight"])
    >>> aim.trait, aim.sign, aim.weight, aim.published, aim.heredity.h2
    ('eggs', 1, 0.3, 'egg number', 0.22)
    """
    return tuple(
        _aim(trait, settings.traits[trait]) for trait in sorted(traits) if trait in settings.traits
    )


def _aim(trait: str, wanted: TraitSettings) -> TraitAim:
    published = _published(trait, wanted)
    percent = published.depression_percent if published else 0.0
    return TraitAim(
        trait=trait,
        sign={"up": 1, "down": -1, None: 0}[wanted.direction],
        weight=_weight(wanted),
        optimum=wanted.optimum,
        floor=wanted.floor,
        heredity=_heredity(wanted, published),
        unit=wanted.unit,
        sex=None if wanted.sex is None else Sex(wanted.sex),
        depression=None if wanted.depression is None else 10 * wanted.depression,
        depression_percent=0.0 if wanted.depression is not None else percent,
        published=published.name if published else None,
        estimate=wanted.h2 == "estimate",
    )


def _published(trait: str, wanted: TraitSettings) -> PublishedTrait | None:
    return recognised(trait) if wanted.like is None else published_traits()[wanted.like]


def _heredity(wanted: TraitSettings, published: PublishedTrait | None) -> Heredity:
    """Given, else published, else general; repeatability never below heritability."""
    given = None if isinstance(wanted.h2, str) else wanted.h2
    h2 = published.h2 if published else GENERAL_H2
    repeatability = published.repeatability if published else GENERAL_REPEATABILITY
    h2 = h2 if given is None else given
    repeatability = repeatability if wanted.repeatability is None else wanted.repeatability
    return Heredity(h2=min(h2, HIGHEST), repeatability=min(max(h2, repeatability), HIGHEST))


def _weight(wanted: TraitSettings) -> float:
    if wanted.direction is None and wanted.optimum is None:
        return 0.0
    if wanted.weight is None:
        return DEFAULT_WEIGHT
    return WEIGHT_WORDS[wanted.weight] if isinstance(wanted.weight, str) else wanted.weight


def trait_defaults(settings: Settings, traits: Sequence[str]) -> tuple[str, ...]:
    """Sentences on what was assumed of the scored traits, and what words were turned into.

    Examples
    --------
    >>> from matchmaker.settings import Settings, TraitSettings
    >>> settings = Settings(
    ...     season=2027,
    ...     recurrent="sussex",
    ...     target={"O": 2},
    ...     traits={"comb": TraitSettings(direction="up", weight="must not fall")},
    ... )
    >>> for sentence in trait_defaults(settings, ["comb", "eggs"]):
    ...     print(sentence)
    "must not fall" counts 0.15 of a wanted chick for each genetic SD: comb
    heritability 0.3, repeatability 0.5 taken for comb: common practice, without a source
    scored but not used, no aim being given: eggs
    """
    known = {trait: settings.traits[trait] for trait in sorted(traits) if trait in settings.traits}
    sentences = [*_weights_said(known)]
    for trait, wanted in known.items():
        published = _published(trait, wanted)
        if published:
            sentences += _published_said(trait, wanted, published)
    sentences += _general_said(known)
    without = [trait for trait in sorted(traits) if trait not in settings.traits]
    if without:
        sentences.append(f"scored but not used, no aim being given: {', '.join(without)}")
    return tuple(sentences)


def _weights_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    aimed = [t for t, wanted in known.items() if wanted.direction or wanted.optimum is not None]
    unweighted = [trait for trait in aimed if known[trait].weight is None]
    if unweighted:
        yield f"weight {DEFAULT_WEIGHT:g} taken for: {', '.join(unweighted)}"
    for words, weight in WEIGHT_WORDS.items():
        meant = [trait for trait in aimed if known[trait].weight == words]
        if meant:
            counts = f"{weight:g} of a wanted chick for each genetic SD" if weight else "nothing"
            yield f'"{words}" counts {counts}: {", ".join(meant)}'


def _published_said(trait: str, wanted: TraitSettings, published: PublishedTrait) -> Iterator[str]:
    """One sentence, if any number was taken from the published trait."""
    heredity = _heredity(wanted, published)
    taken = []
    if not isinstance(wanted.h2, float):
        taken.append(f"heritability {heredity.h2:g}{_range(published)}")
    if wanted.repeatability is None:
        taken.append(f"repeatability {heredity.repeatability:g}")
    if wanted.depression is None and published.depression_percent:
        percent = f"{published.depression_percent:+g}".replace("-", "−")
        taken.append(f"{percent} % of its mean for every 10 % of inbreeding")
    if taken:
        yield (
            f"taken for {trait}, as {published.name}: {', '.join(taken)}; {_origin(published)}, "
            "yours may differ"
        )


def _origin(published: PublishedTrait) -> str:
    if published.source == FROM_MEMORY:
        return "figures from memory"
    return f"published for other flocks ({published.source})"


def _range(published: PublishedTrait) -> str:
    if published.lowest is None or published.highest is None:
        return ""
    if published.lowest == published.highest:
        return ""
    return f" (of {published.lowest:g} to {published.highest:g})"


def _general_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    """What was taken for traits of which nothing is published here, those alike together."""
    alike: dict[str, list[str]] = {}
    for trait, wanted in known.items():
        if _published(trait, wanted) is None:
            heredity = _heredity(wanted, None)
            taken = []
            if not isinstance(wanted.h2, float):
                taken.append(f"heritability {heredity.h2:g}")
            if wanted.repeatability is None:
                taken.append(f"repeatability {heredity.repeatability:g}")
            alike.setdefault(", ".join(taken), []).append(trait)
    for numbers, traits in alike.items():
        if numbers:
            yield f"{numbers} taken for {', '.join(traits)}: common practice, without a source"
