"""The traits of the flock: what was taken for each, what was taken off, and who is really best."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.adjusted import Adjusted
from matchmaker.genetics.traits.emphasis import TraitEmphasis, emphasis
from matchmaker.genetics.traits.scores import Told
from matchmaker.report.numbers import amount, change_text, digits_of, percent
from matchmaker.report.response import wanted_text
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.wording import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from rich.console import Console

    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.report.documents import Document
    from matchmaker.tables.records import Sex

LEGEND: Final = (
    "Herit.: heritability, how much of the differences between contemporaries is inherited. "
    "Vigour: what a first cross shows more than the mean of its breeds, taken off before "
    "birds are compared. Trust: how far to trust the predictions of the living, on average. Of "
    "merit: how much of the differences in merit among the breeders this trait makes."
)

_COLUMNS: Final = (
    Column(heading="Trait"),
    Column(heading="Wanted"),
    *(
        Column(heading=heading, number=True)
        for heading in ("Weight", "Herit.", "Scored", "Vigour", "Trust", "Of merit")
    ),
)

BREED_WORDS: Final = {False: "its breeds", True: "its breeds with the vigour of a cross"}
"""What goes with the share of the recurrent breed: that alone, or the vigour of crosses too."""

SMALL: Final = 0.05
"""A part of a score smaller than this share of the whole difference is left to the rest."""


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
    say(console, LEGEND)
    for sentence in trait_sentences(study):
        say(console, sentence)


def _row(study: Study, trait: TraitForecast, implied: TraitEmphasis | None) -> list[str]:
    aim = trait.aim
    return [
        aim.trait,
        wanted_text(aim),
        f"{aim.weight:.2f}",
        f"{aim.heredity.h2:.2f} {heredity_source(study, trait)}",
        str(trait.scored.birds_scored),
        _vigour(trait),
        percent(_trust(study, trait)),
        "–" if implied is None else _part_of_merit(implied.share),
    ]


def _part_of_merit(share: float) -> str:
    """In per cent; a trait that goes against the merit has a negative part."""
    return f"{change_text(100 * share, 100).removeprefix('+')} %"


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
    return "with breed" if trait.told is Told.CONFOUNDED else "–"


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
    few = [trait.aim.trait for trait in traits if trait.prediction is None]
    if few:
        yield f"Too few birds are scored to tell anything yet of {listed(few)}."


def _estimates(traits: Sequence[TraitForecast]) -> Iterator[str]:
    for trait in traits:
        found = trait.estimate
        if found is not None and found.enough:
            yield (
                f"The heritability of {trait.aim.trait} was estimated from your own scores: "
                f"{found.h2:.2f}, in 19 of 20 cases between {found.low:.2f} and {found.high:.2f}."
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
            "Backcrosses alone cannot tell the vigour of a cross from the donor's breed. Both "
            "together were taken off; in a first cross, against a pure bird, they make: "
            f"{', '.join(found)}."
        )


def _of_first_cross(trait: TraitForecast) -> str:
    """What half the donor's breed with all the vigour makes, with its standard error."""
    sd, unit = trait.genetic_sd, trait.aim.unit
    error = amount(trait.share_error / 2, sd)
    return f"{change_text(-trait.share_slope / 2, sd)} ±{error} {unit}".rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class LooksBest:
    """A living bird whose raw scores are the best though another is predicted better.

    It is number ``rank`` by prediction of the ``birds`` living ones of its sex that are scored;
    ``best`` is the one of them predicted best, at ``best_value`` in the trait's unit. ``sex`` is
    ``None`` where only one sex is scored.
    """

    band: str
    sex: Sex | None
    parts: Adjusted
    rank: int
    birds: int
    best: str
    best_value: float


def looks_best(study: Study, trait: TraitForecast) -> Iterator[LooksBest]:
    """The bird that only looks best in a trait with a direction, if there is one; of each sex.

    Where several have the same best score nobody stands out.
    """
    scored = Adjusted.of_all(study.forecast, trait)
    by_sex: dict[Sex | None, list[str]] = {}
    for bird in study.flock.living:
        if trait.aim.sign and study.forecast.position(bird.band) in scored:
            by_sex.setdefault(bird.sex, []).append(bird.band)
    for sex, living in sorted(by_sex.items(), key=lambda item: str(item[0])):
        found = _only_looks_best(study, trait, living, scored)
        if found is not None:
            yield replace(found, sex=sex if len(by_sex) > 1 else None)


def _only_looks_best(
    study: Study, trait: TraitForecast, living: Sequence[str], scored: Mapping[int, Adjusted]
) -> LooksBest | None:
    number = {band: study.forecast.position(band) for band in living}
    sign = trait.aim.sign
    ranked = sorted(living, key=lambda band: (-sign * trait.values[number[band]], band))
    top = max(sign * scored[number[band]].raw for band in living)
    tops = [band for band in ranked if sign * scored[number[band]].raw == top]
    if len(tops) > 1 or tops[0] == ranked[0]:
        return None
    return LooksBest(
        band=tops[0],
        sex=None,
        parts=scored[number[tops[0]]],
        rank=ranked.index(tops[0]) + 1,
        birds=len(living),
        best=ranked[0],
        best_value=float(trait.values[number[ranked[0]]]),
    )


def looks_best_sentence(trait: TraitForecast, found: LooksBest) -> str:
    """Why the bird with the best raw score is not the best, in parts that sum up as printed."""
    aim, sd, parts = trait.aim, trait.genetic_sd, found.parts
    away = parts.raw - parts.mean
    *others, (genes, _) = score_parts(trait, parts)
    first = ", ".join(f"{number} from {words}" for number, words in others)
    among = f" of the {found.sex}s" if found.sex else ""
    birds = f"{found.sex}s" if found.sex else "birds"
    mean = "their mean" if found.sex else "the mean"
    return (
        f"{found.band} has the {'highest' if aim.sign > 0 else 'lowest'} {aim.trait} score{among}, "
        f"{parts.raw:.4g} {aim.unit}".rstrip()
        + f". Of the {amount(abs(away), sd)} {'above' if away > 0 else 'below'} {mean} come "
        f"{first} and {genes} from its genes, by which it is number {found.rank} of the "
        f"{found.birds} living {birds} scored. Best by genes is {found.best} "
        f"({change_text(found.best_value, sd)})."
    )


def score_parts(trait: TraitForecast, parts: Adjusted) -> list[tuple[str, str]]:
    """The parts of a raw score's distance from the mean in words, those of its genes last.

    What is too small to be named goes into luck, and so does what rounding leaves.
    """
    digits = digits_of(trait.genetic_sd)
    away = round(parts.raw - parts.mean, digits)
    named = {
        "its hatch": parts.hatch,
        BREED_WORDS[trait.told is Told.CONFOUNDED]: parts.breed,
        "the vigour of a cross": parts.vigour,
        "inbreeding": parts.inbreeding,
    }
    kept = {w: round(part, digits) for w, part in named.items() if abs(part) > SMALL * abs(away)}
    ranked = sorted(kept.items(), key=lambda item: -abs(item[1]))
    genes = round(parts.genes, digits)
    ranked.append(("luck and its own keeping", away - genes - sum(kept.values())))
    ranked.append(("its genes", genes))
    return [(change_text(part, trait.genetic_sd), words) for words, part in ranked]


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
            "repeatability": trait.aim.heredity.repeatability,
            "birds_scored": trait.scored.birds_scored,
            "genetic_sd": trait.genetic_sd,
            "pure_level": trait.pure_level,
            "told": str(trait.told),
            "share_slope": trait.share_slope,
            "share_slope_error": trait.share_error,
            "vigour": trait.vigour,
            "vigour_error": trait.vigour_error,
            "depression": trait.depression,
            "mean_reliability": _trust(study, trait),
            **_implied_entry(of_merit.get(trait.aim.trait)),
            "looks_best": _looks_best_entries(study, trait),
        }
        for trait in study.forecast.traits
    ]


def _interval(trait: TraitForecast) -> list[float] | None:
    """Between which values the flock's own scores leave the heritability, if that was asked."""
    return None if trait.estimate is None else [trait.estimate.low, trait.estimate.high]


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


def _looks_best_entries(study: Study, trait: TraitForecast) -> list[Document]:
    return [
        {
            "bird": found.band,
            "sex": found.sex and str(found.sex),
            "rank": found.rank,
            "of": found.birds,
            "best": found.best,
            "best_prediction": found.best_value,
            **parts_entry(found.parts),
            "sentence": looks_best_sentence(trait, found),
        }
        for found in looks_best(study, trait)
    ]


def parts_entry(parts: Adjusted) -> Document:
    """A raw score taken apart, in the trait's unit."""
    return {
        "scores": parts.scores,
        "raw": parts.raw,
        "mean": parts.mean,
        "hatch": parts.hatch,
        "breed": parts.breed,
        "vigour": parts.vigour,
        "inbreeding": parts.inbreeding,
        "genes": parts.genes,
        "rest": parts.rest,
    }
