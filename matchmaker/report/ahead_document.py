"""The document of ``ahead`` and its rows for a spreadsheet; nothing is rounded."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from matchmaker.ahead.figures import (
    FLOCK_KINDS,
    LINE_KINDS,
    Kind,
    first_true,
    of_flock,
    of_lines,
)
from matchmaker.ahead.paired import chance, paired_chances, paired_difference, summary
from matchmaker.report.ahead_compare import LEVEL, mean_interval, verdict_text
from matchmaker.report.ahead_risks import risk_texts
from matchmaker.report.ahead_words import ENDS, PREMISE, end_of, spread
from matchmaker.report.defaults import defaults_of
from matchmaker.report.documents import Document, document_head
from matchmaker.report.sheets import Cell, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matchmaker.ahead.outlook import Ahead, Numbers, Outlook
    from matchmaker.pairs.table import PairTable

HEADER: Final = (
    *("policy", "spring", "line", "measure", "unit", "mean", "se", "low", "median", "high"),
    *("between", "replicates", "missing"),
)

CHANCE_ENDS: Final = "95 % interval"
"""What lies between ``low`` and ``high`` of a chance."""

SPREAD_ENDS: Final = "8 in 10 replicates"
"""And of everything else."""


def ahead_document(ahead: Ahead, table: PairTable) -> Document:
    """All springs under the plan, then the other policies with their differences to it."""
    subject = ahead.subject
    return {
        **document_head("ahead", table.study.flock.tables, (*ahead.defaults, *defaults_of(table))),
        "premise": PREMISE,
        "seed": ahead.seed,
        "seasons": subject.seasons,
        "replicates": ahead.plan.replicates,
        "target": dict(subject.target),
        "lines": [
            {
                "line": line,
                "carries_target": working,
                "importance": importance,
                "breeds_true_from": first_true(ahead.plan, at),
            }
            for at, (line, working, importance) in enumerate(
                zip(subject.lines, subject.working, subject.importance, strict=True)
            )
        ],
        "policy": ahead.plan.policy,
        "sentence": ahead.plan.sentence,
        "springs": spring_entries(ahead.plan),
        "policies": [_policy(one, ahead.plan) for one in ahead.outlooks[1:]],
        "remarks": list(risk_texts(ahead, table)),
    }


def spring_entries(outlook: Outlook) -> list[Document]:
    """Every spring of an outlook, first the flock, then each line."""
    flock, lines = of_flock(outlook), of_lines(outlook)
    return [
        {
            "spring": spring,
            **{name: entry(flock[name][:, at], kind) for name, kind in FLOCK_KINDS.items()},
            "lines": [
                {
                    "line": line,
                    **{
                        name: entry(lines[name][:, at, place], kind)
                        for name, kind in LINE_KINDS.items()
                    },
                    "traits": {
                        trait: entry(outlook.tally.levels[:, at, place, number], Kind.TRAIT)
                        for number, trait in enumerate(outlook.subject.traits)
                    },
                }
                for place, line in enumerate(outlook.subject.lines)
            ],
        }
        for at, spring in enumerate(outlook.subject.springs)
    ]


def entry(values: Numbers, kind: Kind) -> Document:
    """What the replicates say of one number: a chance with its interval, or mean and spread."""
    if kind is Kind.CHANCE:
        found = chance(values)
        return {
            "chance": finite(found.share),
            "low": finite(found.low),
            "high": finite(found.high),
            "missing": found.missing,
        }
    told = spread(values)
    ends = dict(zip(("low", "median", "high"), range(len(ENDS)), strict=True))
    return {
        "mean": finite(told.mean),
        "se": finite(told.se),
        **{name: finite(end_of(told, at)) for name, at in ends.items()},
        "missing": told.missing,
    }


def finite(number: float) -> float | None:
    """The number, or nothing where there is none.

    Examples
    --------
    >>> finite(0.5), finite(float("nan")), finite(float("inf"))
    (0.5, None, None)
    """
    return number if math.isfinite(number) else None


def _policy(one: Outlook, plan: Outlook) -> Document:
    found, before = of_flock(one), of_flock(plan)
    return {
        "policy": one.policy,
        "sentence": one.sentence,
        "verdict": verdict_text(one, plan),
        "springs": spring_entries(one),
        "differences": {
            name: _difference(found[name][:, -1], before[name][:, -1], kind)
            for name, kind in FLOCK_KINDS.items()
        },
    }


def _difference(first: Numbers, second: Numbers, kind: Kind) -> Document:
    """How much more one policy has in the last spring than the plan, from the same birds."""
    if kind is Kind.CHANCE:
        chances = paired_chances(first, second, LEVEL)
        ends = (chances.low, chances.high)
        mean, se, missing = chances.difference, chances.se, chances.missing
    else:
        apart = paired_difference(first, second)
        interval = mean_interval(apart)
        ends, mean, se, missing = (interval.low, interval.high), apart.mean, apart.se, apart.missing
    return {
        "mean": finite(mean),
        "se": finite(se),
        "low": finite(ends[0]),
        "high": finite(ends[1]),
        "missing": missing,
    }


def ahead_sheet(ahead: Ahead) -> Sheet:
    """One number a row: policy × spring × line × measure; no line is the whole flock."""
    rows = [row for outlook in ahead.outlooks for row in _rows(outlook)]
    return Sheet(header=HEADER, rows=tuple(rows))


def _rows(outlook: Outlook) -> Iterator[tuple[Cell, ...]]:
    flock, lines, subject = of_flock(outlook), of_lines(outlook), outlook.subject
    for at, spring in enumerate(subject.springs):
        head = (outlook.policy, spring)
        for name, kind in FLOCK_KINDS.items():
            yield (*head, "", name, str(kind), *_figures(flock[name][:, at], kind))
        for place, line in enumerate(subject.lines):
            for name, kind in LINE_KINDS.items():
                yield (*head, line, name, str(kind), *_figures(lines[name][:, at, place], kind))
            for number, trait in enumerate(subject.traits):
                values = outlook.tally.levels[:, at, place, number]
                yield (*head, line, trait, subject.units[number], *_figures(values, Kind.TRAIT))


def _figures(values: Numbers, kind: Kind) -> tuple[Cell, ...]:
    """Mean, error, ends and counts; a chance has no median, and what is missing is left empty."""
    told = summary(values, ENDS)
    ends: tuple[Cell, ...]
    if kind is Kind.CHANCE:
        interval = chance(values)
        ends = (finite(interval.low), None, finite(interval.high), CHANCE_ENDS)
    else:
        ends = (*(finite(end_of(told, at)) for at in range(3)), SPREAD_ENDS)
    return (finite(told.mean), finite(told.se), *ends, told.replicates, told.missing)
