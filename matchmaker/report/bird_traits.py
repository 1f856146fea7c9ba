"""One bird's traits: what it is expected to pass on, whose scores say so, and its own scores."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits.adjusted import Adjusted
from matchmaker.genetics.traits.origin import Origin, Source, origin
from matchmaker.genetics.traits.scores import Told
from matchmaker.report.lineage import possessive
from matchmaker.report.looks_best import parts_entry
from matchmaker.report.numbers import amount, change_text, percent, signed, without_dust
from matchmaker.report.odd_scores import odd_of_bird
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.traits import too_few
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from rich.console import Console

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.report.documents import Document

FROM: Final[Mapping[Source, str]] = {
    Source.OWN: "Own",
    Source.PARENTS: "Parents",
    Source.SIBS: "Sibs",
    Source.PROGENY: "Offspring",
    Source.OTHERS: "Others",
}
"""Headings of the table, by whose scores a prediction comes from."""


_PARTS: Final = ("Score", "Mean", "Hatch", "Breed", "Vigour", "Inbr.", "Genes", "Rest")


def origins_of(study: Study, band: str) -> dict[str, Origin]:
    """Whose scores each prediction of a bird comes from, by trait."""
    at, ancestry = study.forecast.position(band), ancestry_of(study.flock.pedigree)
    return {
        trait.aim.trait: origin(at, trait.prediction, trait.scored.records, ancestry)
        for trait in study.forecast.traits
        if trait.prediction is not None
    }


def print_bird_traits(console: Console, study: Study, band: str) -> None:
    """What the bird is expected to pass on of each trait, from where, its merit, its scores."""
    bird = study.flock.by_band()[band]
    console.print()
    found = origins_of(study, band)
    known = [trait for trait in study.forecast.traits if trait.aim.trait in found]
    if known:
        _print_predictions(console, study, band, known, found)
    for sentence in too_few(study.forecast.traits):
        say(console, sentence)
    say(console, _merit_sentence(study, bird))
    if known:
        say(console, _legend(bird, known, found))
    _print_scores(console, study, band)
    for sentence in odd_of_bird(study, band):
        say(console, sentence, style="bold")


def _print_predictions(
    console: Console,
    study: Study,
    band: str,
    known: list[TraitForecast],
    found: Mapping[str, Origin],
) -> None:
    at = study.forecast.position(band)
    headings = ("Breeds at", "Trust", "Genes", *FROM.values())
    columns = [
        Column(heading="Trait", name=True),
        *(Column(heading=h, number=True) for h in headings),
    ]
    rows = []
    for trait in known:
        of, sd = found[trait.aim.trait], trait.genetic_sd
        parts = [of.parts[source].value for source in FROM]
        parts[-1] += of.other_traits
        rows.append(
            [
                trait.aim.trait,
                amount(float(trait.levels[at]), sd, trait.aim.unit),
                percent(float(trait.reliability[at])),
                change_text(float(trait.values[at]), sd),
                *(change_text(part, sd) for part in parts),
            ]
        )
    print_rows(console, columns, rows)


def _tied(known: Iterable[TraitForecast], found: Mapping[str, Origin]) -> str:
    """What the scores of correlated traits add, of what stands under others; "" if nothing."""
    added = [
        f"{trait.aim.trait} {change_text(of.other_traits, trait.genetic_sd)}"
        for trait, of in ((trait, found[trait.aim.trait]) for trait in known)
        if of.other_traits
    ]
    return f" Of others, by scores of correlated traits: {', '.join(added)}." if added else ""


def _merit_sentence(study: Study, bird: Bird) -> str:
    like = {Sex.COCK: "him", Sex.HEN: "her"}[bird.sex] if bird.sex else "it"
    nearer = "".join(
        f" For {aim.trait}, nearer to {aim.optimum:g} {aim.unit}".rstrip() + " counts as better."
        for aim in study.aims
        if aim.optimum is not None and aim.weight
    )
    at = study.forecast.position(bird.band)
    terms = [
        f"{aim.trait} {signed(float(study.standing.part(aim)[at]))}"
        for aim in study.aims
        if aim.weight and study.forecast.trait(aim.trait).genetic_sd
    ]
    sums = f" by {', '.join(terms)}" if terms else ""
    return (
        f"Merit: {signed(study.merit(bird.band))}{sums}; trust "
        f"{percent(study.reliability(bird.band))} (how much more, or less, a wanted chick like "
        f"{like} counts).{nearer}"
    )


def _legend(bird: Bird, known: list[TraitForecast], found: Mapping[str, Origin]) -> str:
    own = possessive(bird.sex)
    return (
        f"Breeds at: the level {own} genes stand for in a pure {_of_whom(known)}. Trust: how far "
        "to trust that; 100 % would be certain, 0 % nothing known. Genes: how far that is from an "
        f"average pure bird ({_averages(known)}), the sum of what {own} own scores, {own} "
        f"parents', sibs' (half and full), offspring's and others' say.{_tied(known, found)}"
    )


def _of_whom(known: Iterable[TraitForecast]) -> str:
    """Whose levels the table has: those of hens wherever hens are scored."""
    sexes = [set(trait.scored.contemporaries.sexes) for trait in known]
    if all(Sex.HEN in scored for scored in sexes):
        return "hen"
    return "bird"


def _averages(known: Iterable[TraitForecast]) -> str:
    """The levels of average pure birds."""
    levels = (amount(trait.pure_level, trait.genetic_sd, trait.aim.unit) for trait in known)
    return ", ".join(f"{t.aim.trait} {level}" for t, level in zip(known, levels, strict=True))


def _print_scores(console: Console, study: Study, band: str) -> None:
    """The bird's own scores, each taken apart into what can be told of it."""
    scores = _scores_of(study, band)
    if not scores:
        return
    console.print()
    together = any(trait.told is Told.CONFOUNDED for trait, _ in scores)
    several = any(parts.scores > 1 for _, parts in scores)
    columns = [
        Column(heading="Scored", name=True),
        *([Column(heading="n", number=True)] if several else []),
        *(Column(heading=heading, number=True) for heading in _PARTS),
    ]
    print_rows(console, columns, [_score_row(*one, several=several) for one in scores])
    breed = "share of breed, with the vigour of a cross" if together else "share of breed"
    mean = "n: how many scores, of which Score is the mean. " if several else ""
    odd = ", and what of an odd score is not counted" if any(p.pulled_in for _, p in scores) else ""
    say(
        console,
        f"{mean}Score less the mean of its sex, in parts: hatch with keeping and age, {breed}, "
        f"{'' if together else 'vigour of a cross, '}inbreeding, genes, and the rest: luck and "
        f"what was given to this bird alone{odd}. Parts are rounded.",
    )


def _scores_of(study: Study, band: str) -> list[tuple[TraitForecast, Adjusted]]:
    at = study.forecast.position(band)
    found = (
        (trait, Adjusted.of_all(study.forecast, trait).get(at)) for trait in study.forecast.traits
    )
    return [(trait, parts) for trait, parts in found if parts is not None]


def _score_row(trait: TraitForecast, parts: Adjusted, *, several: bool) -> list[str]:
    sd = trait.genetic_sd
    told = trait.told in (Told.BOTH, Told.VIGOUR_ONLY)
    columns = (parts.inbreeding, parts.genes, parts.rest + parts.pulled_in)
    return [
        trait.aim.trait,
        *([str(parts.scores)] if several else []),
        f"{parts.raw:.4g} {trait.aim.unit}".rstrip(),
        amount(parts.mean, sd),
        change_text(parts.hatch, sd),
        change_text(parts.breed, sd),
        change_text(parts.vigour, sd) if told else "–",
        *(change_text(part, sd) for part in columns),
    ]


def in_sds(trait: TraitForecast, at: int) -> float:
    """The prediction of bird number ``at``, in genetic SDs; 0 where nothing is predicted."""
    return without_dust(float(trait.values[at] / trait.genetic_sd)) if trait.genetic_sd else 0.0


def detail_entries(study: Study, bands: Iterable[str]) -> dict[str, Document]:
    """Per bird and trait its prediction, and its own score taken apart, in the trait's unit."""
    scored = {
        trait.aim.trait: Adjusted.of_all(study.forecast, trait) for trait in study.forecast.traits
    }
    return {band: _detail_entry(study, study.forecast.position(band), scored) for band in bands}


def _detail_entry(study: Study, at: int, scored: Mapping[str, Mapping[int, Adjusted]]) -> Document:
    entry = {}
    for trait in study.forecast.traits:
        name = trait.aim.trait
        parts = scored[name].get(at)
        entry[name] = {
            "prediction": without_dust(float(trait.values[at])),
            "level": float(trait.levels[at]),
            "reliability": without_dust(float(trait.reliability[at])),
            "part_of_merit": without_dust(float(study.standing.part(trait.aim)[at])),
            "gain_in_genetic_sds": without_dust(float(study.standing.gains[name][at])),
            "score": parts and parts_entry(parts),
        }
    return entry


def origin_entries(study: Study, band: str) -> Document:
    """Whose scores each prediction comes from, in the trait's unit."""
    return {
        name: {
            **{
                str(source): {
                    "value": without_dust(part.value),
                    "birds": part.birds,
                    "scores": part.scores,
                }
                for source, part in of.parts.items()
            },
            "other_traits": without_dust(of.other_traits),
        }
        for name, of in origins_of(study, band).items()
    }
