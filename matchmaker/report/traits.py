"""The traits of the flock: what was taken for each, what was taken off, and who is really best."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.emphasis import TraitEmphasis, emphasis
from matchmaker.genetics.traits.published import published_traits
from matchmaker.genetics.traits.scores import Told
from matchmaker.report.looks_best import looks_best, looks_best_entries, looks_best_sentence
from matchmaker.report.numbers import amount, change_text, percent, without_dust
from matchmaker.report.response import aim_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import Console

    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.report.documents import Document

_COLUMNS: Final = (
    Column(heading="Trait", name=True),
    Column(heading="Aim"),
    *(
        Column(heading=heading, number=True)
        for heading in ("Counts", "Herit.", "Scored", "Vigour", "Trust", "Of merit")
    ),
)

SOURCE_WORDS: Final = {
    "own": "your figure",
    "publ.": "published for other flocks",
    "usual": "rule of thumb",
    "est.": "from your scores",
}
"""Where a heritability comes from, as the table and its legend have it."""

WITH_BREED: Final = "with breed"
"""Vigour that cannot be told from the share of the breed."""

NOTHING_BELOW: Final = 0.02
"""A trait whose share of the merit is negative by no more than this is shown at 0."""


def print_traits(console: Console, study: Study) -> None:
    """The table of traits with its legend, and for each the bird that only looks best."""
    traits = study.forecast.traits
    if not traits:
        return
    console.print()
    say(console, "Traits", style="bold")
    of_merit = {one.trait: one for one in emphasis(study)}
    rows = [_row(study, trait, of_merit.get(trait.aim.trait)) for trait in traits]
    print_rows(console, _COLUMNS, rows)
    say(console, traits_legend(study, of_merit))
    for sentence in trait_sentences(study):
        say(console, sentence)


def _row(study: Study, trait: TraitForecast, implied: TraitEmphasis | None) -> list[str]:
    aim = trait.aim
    return [
        aim.trait,
        aim_text(aim),
        f"{aim.weight:.2f}",
        f"{aim.heredity.h2:.2f} {heredity_source(study, trait)}",
        str(trait.scored.birds_scored),
        _vigour(trait),
        percent(_trust(study, trait)),
        "–" if implied is None else _part_of_merit(implied.share),
    ]


def _part_of_merit(share: float) -> str:
    """In per cent; a trait that goes against the merit has a negative part."""
    shown = 0.0 if -NOTHING_BELOW < share < 0 else share
    return f"{change_text(100 * shown, 100).removeprefix('+')} %"


def traits_legend(study: Study, of_merit: Mapping[str, TraitEmphasis]) -> str:
    """What the headings of the table mean, and those of its words that it holds."""
    traits = study.forecast.traits
    sources = {heredity_source(study, trait) for trait in traits}
    words = "; ".join(f"{word}: {said}" for word, said in SOURCE_WORDS.items() if word in sources)
    against = any(_part_of_merit(one.share).startswith("−") for one in of_merit.values())
    return (
        "Counts: what one genetic standard deviation more counts, in wanted chicks. Herit.: "
        "heritability, how much of the differences between contemporaries is inherited "
        f"({words}). {_vigour_legend(traits)}Trust: of the predictions of the living, on average. "
        "Of merit: how much of the differences in merit among the breeders this trait makes"
        f"{'; below 0 it runs against the rest' if against else ''}."
    )


def _vigour_legend(traits: Sequence[TraitForecast]) -> str:
    """What is said of vigour: nothing where no trait shows any."""
    shown = {_vigour(trait) for trait in traits} - {"–"}
    if not shown:
        return ""
    mixed = f" ({WITH_BREED}: the scores cannot tell it from the donor's breed; see below)"
    return (
        "Vigour: what a first cross shows more than the mean of its breeds, ± its standard error, "
        "taken off before birds "
        f"are compared{mixed if WITH_BREED in shown else ''}. "
    )


def heredity_source(study: Study, trait: TraitForecast) -> str:
    """Where a heritability comes from: own, estimated, published or usual."""
    if trait.estimate is not None and trait.estimate.enough:
        return "est."
    if isinstance(study.flock.settings.traits[trait.aim.trait].h2, float):
        return "own"
    return "publ." if trait.aim.published else "usual"


def _vigour(trait: TraitForecast) -> str:
    if trait.told in (Told.BOTH, Told.VIGOUR_ONLY) and trait.prediction is not None:
        error = amount(trait.vigour_error, trait.genetic_sd)
        return f"{change_text(trait.vigour, trait.genetic_sd)} ±{error}"
    return WITH_BREED if trait.told is Told.CONFOUNDED else "–"


def _trust(study: Study, trait: TraitForecast) -> float:
    living = [study.forecast.position(bird.band) for bird in study.flock.living]
    return float(trait.reliability[living].mean()) if living else 0.0


def trait_sentences(study: Study) -> Iterator[str]:
    """What the table cannot say: too few scores, estimates, breed with vigour, who looks best."""
    traits = study.forecast.traits
    yield from too_few(traits)
    yield from _estimates(traits)
    yield from _confounded(traits)
    for trait in traits:
        for found in looks_best(study, trait):
            yield looks_best_sentence(trait, found)


def too_few(traits: Sequence[TraitForecast]) -> Iterator[str]:
    """Which traits nothing can be told of yet."""
    few = [t.aim.trait for t in traits if t.prediction is None and t.mixed is None]
    if few:
        yield f"Too few birds are scored to tell anything yet of {listed(few)}."
    mixed = [trait.aim.trait for trait in traits if trait.mixed is not None]
    if mixed:
        yield f"In two units, and not counted until that is mended: {listed(mixed)}."


def _estimates(traits: Sequence[TraitForecast]) -> Iterator[str]:
    for trait in traits:
        found = trait.estimate
        if found is not None and found.enough:
            yield (
                f"The heritability of {trait.aim.trait} was estimated from your own scores: "
                f"{found.leaning:.2f}, in 19 of 20 cases between {found.likely[0]:.2f} and "
                f"{found.likely[1]:.2f}."
            )


def _confounded(traits: Sequence[TraitForecast]) -> Iterator[str]:
    """Where breed and vigour go together: what both make in a first cross."""
    found = [
        f"{trait.aim.trait} {_of_first_cross(trait)}"
        for trait in traits
        if trait.told is Told.CONFOUNDED and trait.prediction is not None
    ]
    if found:
        yield (
            "Too few birds are anything but pure or backcross to tell the vigour of a cross from "
            "the donor's breed. Both together were taken off; in a first cross, against a pure "
            f"bird, they make: {', '.join(found)}."
        )


def _of_first_cross(trait: TraitForecast) -> str:
    """What half the donor's breed with all the vigour makes, with its standard error."""
    sd, unit = trait.genetic_sd, trait.aim.unit
    error = amount(trait.share_error / 2, sd)
    return f"{change_text(-trait.share_slope / 2, sd)} ±{error} {unit}".rstrip()


def trait_entries(study: Study) -> list[Document]:
    """The same for ``flock --json``; amounts are in the trait's unit."""
    of_merit = {one.trait: one for one in emphasis(study)}
    return [
        {
            "trait": trait.aim.trait,
            "unit": trait.aim.unit,
            "direction": {1: "up", -1: "down", 0: None}[trait.aim.sign],
            "optimum": trait.aim.optimum,
            "floor": trait.aim.floor,
            "weight": trait.aim.weight,
            "heritability": trait.aim.heredity.h2,
            "heritability_interval": _interval(trait),
            "heritability_source": _SOURCES[heredity_source(study, trait)],
            "published": _published_entry(trait),
            "heritability_published_in": _published_in(study, trait),
            "repeatability": trait.aim.heredity.repeatability,
            "birds_scored": trait.scored.birds_scored,
            "genetic_sd": trait.genetic_sd,
            "pure_level": trait.pure_level,
            "told": str(trait.told),
            "share_slope": without_dust(trait.share_slope),
            "share_slope_error": without_dust(trait.share_error),
            "vigour": without_dust(trait.vigour),
            "vigour_error": without_dust(trait.vigour_error),
            "depression": trait.depression,
            "mean_reliability": _trust(study, trait),
            **_implied_entry(of_merit.get(trait.aim.trait)),
            "looks_best": looks_best_entries(study, trait),
        }
        for trait in study.forecast.traits
    ]


def _interval(trait: TraitForecast) -> list[float] | None:
    """Between which values the flock's own scores leave the heritability, if that was asked."""
    found = trait.estimate
    return list(found.likely) if found is not None and found.told else None


def _published_entry(trait: TraitForecast) -> Document | None:
    """The published trait it was taken for, and how each of its figures was chosen."""
    if trait.aim.published is None:
        return None
    known = published_traits()[trait.aim.published]
    return {
        "name": known.name,
        "heritability_how": known.h2_how,
        "repeatability_how": known.repeatability_how,
        "depression_how": known.depression_how,
        "sure": known.sure,
    }


def _published_in(study: Study, trait: TraitForecast) -> str | None:
    """The works a published heritability was taken from; ``None`` if it was not."""
    known = trait.aim.published
    if known is None or heredity_source(study, trait) != "publ.":
        return None
    return published_traits()[known].source


_SOURCES: Final = {
    "est.": "estimated",
    "own": "settings",
    "publ.": "published",
    "usual": "common practice",
}


def _implied_entry(implied: TraitEmphasis | None) -> Document:
    return {
        "share_of_merit": implied and implied.share,
        "response_per_merit_sd": implied and implied.response,
        "direct_response": implied and implied.direct,
        "correlated_response": implied and implied.correlated,
    }
