"""The bird that only looks best: its raw score taken apart, and which bird is best by its genes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.adjusted import Adjusted
from matchmaker.genetics.traits.scores import Told
from matchmaker.report.numbers import amount, change_text, digits_of, without_dust

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.forecast import TraitForecast
    from matchmaker.report.documents import Document
    from matchmaker.tables.records import Sex

BREED_WORDS: Final = {False: "its breeds", True: "its breeds with the vigour of a cross"}
"""What goes with the share of the recurrent breed: that alone, or the vigour of crosses too."""

SMALL: Final = 0.05
"""A part of a score smaller than this share of the whole difference is left to the rest."""


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
    # an odd score may be a slip: it makes nobody the best
    sound = [band for band in ranked if not scored[number[band]].pulled_in]
    top = max((sign * scored[number[band]].raw for band in sound), default=0.0)
    tops = [band for band in sound if sign * scored[number[band]].raw == top]
    if not tops or len(tops) > 1 or tops[0] == ranked[0]:
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


def looks_best_entries(study: Study, trait: TraitForecast) -> list[Document]:
    """The same for ``flock --json``; amounts are in the trait's unit."""
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
    names = ("raw", "mean", "hatch", "breed", "vigour", "inbreeding", "genes", "rest", "pulled_in")
    return {"scores": parts.scores, **{name: without_dust(getattr(parts, name)) for name in names}}
