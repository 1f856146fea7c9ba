"""The document of ``tests`` and its rows for a spreadsheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.progeny import LEVELS
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import Document, document_head
from matchmaker.report.sheets import Cell, Sheet
from matchmaker.report.testing_words import change_text, copies_text, trial_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.plan.bird_tests.testing import RankedTest, Ranking
    from matchmaker.plan.bird_tests.weighing import AnswerWorth

HEADER = (
    *("bird", "sex", "line", "locus", "carries", "dna_gain", "chick_gain", "chicks_95"),
    *("chicks_99", "judged", "mate_sex", "mate_copies", "mates", "eggs", "seen_on", "in_time"),
    "detail",
)


def ranking_document(ranking: Ranking) -> Document:
    """The tests, best first, with what every answer would change."""
    flock = ranking.table.study.flock
    return {
        **document_head("tests", flock.tables, defaults_of(ranking.table)),
        "pen_up": flock.settings.pen_up.isoformat(),
        "value": ranking.value,
        "conflict": list(ranking.conflict) or None,
        "considered": ranking.considered,
        "group_kinship_left_out": ranking.kinship_left_out,
        "tests": [entry_of(ranking, test) for test in ranking.tests],
    }


def entry_of(ranking: Ranking, test: RankedTest) -> Document:
    """One test: a bird at a locus."""
    study = ranking.table.study
    bird, locus = study.flock.by_band()[test.bird], study.loci[test.locus]
    possible = locus.copy_numbers(bird.sex) if bird.sex else range(3)
    return {
        "bird": test.bird,
        "sex": bird.sex and str(bird.sex),
        "line": bird.line,
        "locus": test.locus,
        "chances": {str(copies): test.chances[copies] for copies in possible},
        "look_first": test.look_first,
        "approximate": test.approximate,
        "changes_nothing": not (test.gain or test.chick_gain),
        "dna": {"gain": test.gain, "answers": _answers(bird, test.by_dna)},
        "chicks": _trial_entry(bird, locus, test),
    }


def _answers(bird: Bird, answers: Sequence[AnswerWorth]) -> list[Document]:
    return [
        {
            "copies": worth.answer.copies,
            "all_as_expected": worth.answer.clean,
            "chance": worth.answer.chance,
            "value": worth.best,
            "value_unchanged": worth.unchanged,
            "gain": worth.gain,
            "moves": [
                {"hen": move.hen, "cock_before": move.before, "cock_after": move.after}
                for move in worth.moves
            ],
            "sentence": change_text(bird.band, bird.sex, worth),
        }
        for worth in answers
    ]


def _trial_entry(bird: Bird, locus: Locus, test: RankedTest) -> Document | None:
    """Test chicks; null for a bird that cannot breed this spring."""
    trial = test.trial
    if trial is None:
        return None
    first, second = (trial.test.chicks(level) for level in LEVELS)
    return {
        "gain": test.chick_gain,
        "in_time": trial.in_time,
        "proves": trial.test.proves,
        "chicks_95": first,
        "chicks_99": second,
        "judged": "both" if trial.test.judged is None else str(trial.test.judged),
        "shows_at_days": trial.test.days,
        "mate_sex": str(trial.test.mate),
        "mate_copies": trial.test.mate_copies,
        "mates": list(trial.mates),
        "eggs": trial.eggs,
        "seen_on": trial.seen_on and trial.seen_on.isoformat(),
        "obstacle": trial.test.obstacle and str(trial.test.obstacle),
        "answers": _answers(bird, test.by_chicks),
        "sentence": trial_text(trial, locus),
    }


def ranking_sheet(ranking: Ranking) -> Sheet:
    """One test a row."""
    return Sheet(header=HEADER, rows=tuple(_row(ranking, test) for test in ranking.tests))


def _row(ranking: Ranking, test: RankedTest) -> tuple[Cell, ...]:
    entry = entry_of(ranking, test)
    chicks = entry["chicks"] or {}
    flat = {
        **entry,
        **chicks,
        "carries": sum(test.chances[1:]),
        "dna_gain": test.gain,
        "chick_gain": test.chick_gain,
        "mates": " ".join(chicks.get("mates", ())),
        "in_time": "yes" if chicks.get("in_time") else "no",
        "detail": "; ".join(
            f"{copies_text(answer['copies'])}: {answer['sentence']}"
            for answer in entry["dna"]["answers"]
        ),
    }
    return tuple(flat.get(name) for name in HEADER)
