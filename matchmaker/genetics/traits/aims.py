"""Where each scored trait shall go, how much it counts and which numbers of heredity it takes."""

from __future__ import annotations

import re
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


OTHER_FLOCKS: Final = "what is published was found in other flocks; yours may differ"
"""Said once, after all that was taken from published traits."""


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
    published = recognised_as(trait, wanted)
    percent = published.depression_percent if published else 0.0
    return TraitAim(
        trait=trait,
        sign={"up": 1, "down": -1, None: 0}[wanted.way],
        weight=_weight(wanted),
        optimum=wanted.optimum,
        floor=wanted.floor,
        heredity=_heredity(wanted, published),
        unit=wanted.unit,
        sex=_sex(wanted, published),
        depression=None if wanted.depression is None else 10 * wanted.depression,
        depression_percent=0.0 if wanted.depression is not None else percent,
        published=published.name if published else None,
        estimate=wanted.h2 == "estimate",
    )


def recognised_as(trait: str, wanted: TraitSettings) -> PublishedTrait | None:
    """The published trait that a trait is like: as written, else by its name.

    Examples
    --------
    >>> from matchmaker.settings import TraitSettings
    >>> recognised_as("eggs", TraitSettings(direction="up", like="egg weight")).name
    'egg weight'
    """
    return recognised(trait) if wanted.like is None else published_traits()[wanted.like]


def _heredity(wanted: TraitSettings, published: PublishedTrait | None) -> Heredity:
    """Given, else published, else general; repeatability never below heritability."""
    given = None if isinstance(wanted.h2, str) else wanted.h2
    h2 = published.h2 if published else GENERAL_H2
    repeatability = published.repeatability if published else GENERAL_REPEATABILITY
    h2 = h2 if given is None else given
    repeatability = repeatability if wanted.repeatability is None else wanted.repeatability
    return Heredity(h2=min(h2, HIGHEST), repeatability=min(max(h2, repeatability), HIGHEST))


def _sex(wanted: TraitSettings, published: PublishedTrait | None) -> Sex | None:
    if wanted.sex is not None:
        return Sex(wanted.sex)
    return published.sex if published else None


def _weight(wanted: TraitSettings) -> float:
    if wanted.way is None and wanted.optimum is None:
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
    sentences += _sexes_said(known)
    sentences += _published_said(known)
    sentences += _general_said(known)
    without = [trait for trait in sorted(traits) if trait not in settings.traits]
    if without:
        sentences.append(f"scored but not used, no aim being given: {', '.join(without)}")
    return tuple(sentences)


def _weights_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    aimed = [t for t, wanted in known.items() if wanted.way or wanted.optimum is not None]
    unweighted = [trait for trait in aimed if known[trait].weight is None]
    if unweighted:
        yield f"weight {DEFAULT_WEIGHT:g} taken for: {', '.join(unweighted)}"
    for words, weight in WEIGHT_WORDS.items():
        meant = [trait for trait in aimed if known[trait].weight == words]
        if meant:
            counts = f"{weight:g} of a wanted chick for each genetic SD" if weight else "nothing"
            yield f'"{words}" counts {counts}: {", ".join(meant)}'
    upward = [trait for trait in aimed if known[trait].way and not known[trait].direction]
    if upward:
        yield f'direction up taken, as "must not fall" is given alone: {", ".join(upward)}'


def _sexes_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    for sex in Sex:
        taken = [
            trait
            for trait, wanted in known.items()
            if wanted.sex is None and _sex(wanted, recognised_as(trait, wanted)) is sex
        ]
        if taken:
            yield f"taken to be scored on {sex}s alone: {', '.join(taken)}"


def _published_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    """Every number taken from a published trait with its source, then the warning."""
    alike = {trait: recognised_as(trait, wanted) for trait, wanted in known.items()}
    by_words: dict[str, list[str]] = {}
    for trait, published in alike.items():
        if published is not None:
            for words, figure in _figures_of(known[trait], published):
                by_words.setdefault(words, []).append(f"{trait} {figure}")
    for words in sorted(by_words, key=_PUBLISHED_ORDER.index):
        yield f"{words}: {', '.join(by_words[words])}"
    if by_words:
        yield OTHER_FLOCKS


_HERITABILITY: Final = "heritability as published"
_REPEATABILITY: Final = "repeatability as published"
_LASTING: Final = "repeatability taken as the published heritability and 0.20, without a source"
_DEPRESSION: Final = "change of the mean with 10 % of inbreeding as published"
_PUBLISHED_ORDER: Final = (_HERITABILITY, _REPEATABILITY, _LASTING, _DEPRESSION)


def _figures_of(wanted: TraitSettings, published: PublishedTrait) -> Iterator[tuple[str, str]]:
    """What was taken from a published trait: the number in words, its figure with its source."""
    heredity = _heredity(wanted, published)
    if not isinstance(wanted.h2, float):
        said = "; ".join(part for part in (_range(published), _origin(published.source)) if part)
        yield _HERITABILITY, f"{heredity.h2:g} ({said})"
    if wanted.repeatability is None:
        source = published.repeatability_source
        figure = f"{heredity.repeatability:g}"
        yield (_REPEATABILITY, f"{figure} ({source})") if source else (_LASTING, figure)
    if wanted.depression is None and published.depression_percent:
        percent = f"{published.depression_percent:+g}".replace("-", "−")
        yield _DEPRESSION, f"{percent} % ({published.depression_source})"


def _origin(sources: str) -> str:
    """The sources in short: one of them, with its year if one has authors, and how many more."""
    if sources == FROM_MEMORY:
        return "figure from memory"
    listed = sources.split("; ")
    first = next((source for source in listed if " et al. " in source), listed[0])
    more = len(listed) - 1
    short = re.sub(r"^(a|two) (study|studies) (of|in) |[,(].*", "", first).strip()
    return f"{short} and {more} other{'s' if more > 1 else ''}" if more else short


def _range(published: PublishedTrait) -> str:
    if published.lowest is None or published.lowest == published.highest:
        return ""
    return f"{published.lowest:g}–{published.highest:g}"


def _general_said(known: dict[str, TraitSettings]) -> Iterator[str]:
    """What was taken for traits of which nothing is published here, those alike together."""
    alike: dict[str, list[str]] = {}
    for trait, wanted in known.items():
        if recognised_as(trait, wanted) is None:
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
