"""The document of ``grade`` and its rows for a spreadsheet."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import Document, document_head
from matchmaker.report.grade_remarks import assumed_texts, last_texts
from matchmaker.report.grade_words import reason_text, unseen_sentence, unseen_texts
from matchmaker.report.sheets import Cell, Sheet

if TYPE_CHECKING:
    from matchmaker.grade.grading import Grade, Grading
    from matchmaker.grade.places import Places
    from matchmaker.grade.unseen import Unseen

HEADER: Final = (
    *("bird", "line", "sex", "age_days", "verdict", "reason", "not_seen_yet", "choice"),
    *("lost_without_at_least", "lost_without_at_most", "best_mate", "value", "merit", "family"),
)


def grading_document(grading: Grading) -> Document:
    """Every young bird with its verdict, what it rests on and what is not seen yet."""
    flock, spring = grading.table.study.flock, grading.spring
    defaults = (*assumed_texts(grading), *defaults_of(grading.table))
    return {
        **document_head("grade", flock.tables, defaults),
        "day": grading.day.isoformat(),
        "looks_back": grading.eve.looks_back,
        "season": spring.season,
        "pen_up": spring.pen_up.isoformat(),
        "factor": grading.factor,
        "plans": [
            {
                "choice": at,
                "value": one.value,
                "bound": one.bound,
                "keeps_minimums": one.minimums,
            }
            for at, one in enumerate(grading.rounds, start=1)
        ],
        "places": [_places(one) for one in grading.places.values()],
        "cocks": {"penned": grading.cocks_penned, "older": grading.cocks_old},
        "birds": [grade_entry(grading, one) for one in grading.grades],
        "not_graded": list(grading.undated),
        "remarks": list(last_texts(grading)),
    }


def _places(places: Places) -> Document:
    return {
        "line": places.line,
        "sex": str(places.sex),
        "penned": places.penned,
        "wanted": places.wanted,
        "older": places.old,
        "young": places.young,
    }


def grade_entry(grading: Grading, grade: Grade) -> Document:
    """One young bird."""
    best, ruling, worth = grade.best, grade.ruling, grade.worth
    pair = best.best
    return {
        "bird": grade.bird.band,
        "line": grade.bird.line,
        "sex": grade.bird.sex and str(grade.bird.sex),
        "age_days": grade.age,
        "verdict": str(ruling.verdict),
        "ground": ruling.ground and str(ruling.ground),
        "why": ruling.why and str(ruling.why),
        "reason": reason_text(grading, [grade]),
        "rules": [str(broken.rule) for broken in ruling.broken],
        "not_seen_yet": [_unseen(grading, one) for one in grade.unseen],
        "choice": grade.choice,
        "needed": worth is not None and worth.needed,
        "lost_without_at_least": None if worth is None else _finite(worth.at_least),
        "lost_without_at_most": None if worth is None else _finite(worth.at_most),
        "most_lost_in": worth.line if worth is not None and worth.line else None,
        "best_mate": pair and (pair.cock if pair.hen == grade.bird.band else pair.hen),
        "value": best.value if pair else None,
        "hope": ruling.hope,
        "chance": best.chance,
        "merit": best.merit,
        "family": grade.family,
        "gone_since": grade.gone_since,
    }


def _unseen(grading: Grading, one: Unseen) -> Document:
    return {
        "kind": str(one.kind),
        "names": list(one.names),
        "since": one.since and one.since.isoformat(),
        "if_sex": one.sex and str(one.sex),
        "chance": one.chance,
        "tells": one.tells or None,
        "sentence": next(unseen_texts(grading, [one])),
    }


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None


def grading_sheet(grading: Grading) -> Sheet:
    """One young bird a row, to take to the coop; numbers with three decimals."""
    return Sheet(header=HEADER, rows=tuple(_sheet_row(grading, one) for one in grading.grades))


def _sheet_row(grading: Grading, grade: Grade) -> tuple[Cell, ...]:
    entry = grade_entry(grading, grade)
    flat = {**entry, "not_seen_yet": unseen_sentence(grading, grade.unseen)}
    cells = (flat[name] for name in HEADER)
    return tuple(round(cell, 3) if isinstance(cell, float) else cell for cell in cells)
