"""Scores far from what is expected of them: on every screen that shows what scores come to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.genetics.traits.odd import odd_score_text, odd_scores, rounded
from matchmaker.report.screen import say

if TYPE_CHECKING:
    from rich.console import Console

    from matchmaker.genetics.study import Study
    from matchmaker.genetics.traits.odd import OddScore
    from matchmaker.report.documents import Document

NAMED: Final = 6
"""So many odd scores are named; of more, how many there are."""


def print_odd_scores(console: Console, study: Study) -> None:
    """Under the plan, whose merits they may have moved; nothing where no score is odd."""
    for sentence in uncounted_sentences(study):
        say(console, sentence, style="bold")
    sentences = odd_sentences(study)
    if not sentences:
        return
    head = f"Odd scores; look at {scores_file(study)} before you trust the merits:"
    say(console, head, style="bold")
    for sentence in sentences:
        say(console, sentence, style="bold", indent=2)


def uncounted_sentences(study: Study) -> list[str]:
    """Traits whose scores are in two units, so that they do not count until that is mended."""
    return [
        f"{trait.aim.trait} does not count: {len(found.fewer)} scores are about "
        f"{found.fewer_median:g}, the other {len(found.others)} about {found.others_median:g}, as "
        "if written in two units (matchmaker check names the rows)."
        for trait in study.forecast.traits
        for found in [trait.mixed]
        if found is not None
    ]


def uncounted_entries(study: Study) -> list[Document]:
    """Traits that are scored and have an aim but are not predicted, and why."""
    return [
        {
            "trait": trait.aim.trait,
            "why": "two-units" if trait.mixed is not None else "too-few-scores",
        }
        for trait in study.forecast.traits
        if trait.prediction is None
    ]


def odd_sentences(study: Study) -> list[str]:
    """Each odd score with its bird and row, the first few if there are many."""
    found = odd_scores(study.forecast)
    said = [f"{odd.band} (row {odd.row}): {_text(study, odd)}" for odd in found[:NAMED]]
    more = len(found) - NAMED
    return [*said, f"and {more} more: matchmaker check names them"] if more > 0 else said


def odd_of_bird(study: Study, band: str) -> list[str]:
    """The same for one bird, in sentences."""
    place = scores_file(study)
    return [
        f"Odd score (row {odd.row} of {place}): {_text(study, odd)}."
        for odd in odd_scores(study.forecast)
        if odd.band == band
    ]


def scores_file(study: Study) -> str:
    """The file the scores were read from."""
    return study.flock.tables.files.get("scores", "scores.csv")


def _text(study: Study, odd: OddScore) -> str:
    """What was written and expected, and what it counts as."""
    said = odd_score_text(odd, study.forecast.trait(odd.trait).aim.unit)
    return f"{said}; counted as {rounded(odd.counted, odd.sd)}"


def odd_entries(study: Study, band: str | None = None) -> list[Document]:
    """The odd scores of the flock, or of one bird, in the traits' units."""
    return [
        {
            "bird": odd.band,
            "trait": odd.trait,
            **study.flock.tables.place("scores", odd.row, odd.trait),
            "value": odd.raw,
            "expected": odd.expected,
            "expected_sd": odd.sd,
            "guess": odd.guess,
            "counted_as": odd.counted,
            "sentence": _text(study, odd),
        }
        for odd in odd_scores(study.forecast)
        if band in (None, odd.band)
    ]
