"""What the benchmarks found as one Markdown file, and the same as JSON beside it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from tests.bench.growth import Curve, curves
from tests.bench.rows import (
    Row,
    amount,
    amounts,
    memory_in_words,
    ratio_in_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

SCHEMA: Final = "matchmaker-benchmarks/1"

LEGEND: Final = """\
Numbers are medians over the flocks (or rounds) that were tried, with the largest in brackets.
A ratio is the peer's number divided by ours, flock by flock, their median: above 1 ours takes less.
Where what is shown is the worth of a plan it is the other way round: below 1 the peer's is worth
less. "≥": a time limit ended the peer. "of processor" is time of processors, all else of the clock.
Memory is the peak in MB, ours / the peer's. Results of both were compared: a benchmark whose
results differ fails.
"""

GROWTH: Final = """\
Time against size. The exponent is fitted by least squares of log time on log size over all sizes
that stand there, three at least: 1 is in proportion to size, 2 fourfold at twice the size. Small
sizes, where the time is what any call takes, draw it down; the last column is the exponent between
the two largest sizes alone.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one benchmark found, how long it took in all, and why it failed, if it did."""

    benchmark: str
    about: str
    rows: tuple[Row, ...]
    seconds: float
    failure: str = ""


def json_beside(file: Path) -> Path:
    """The JSON that stands beside a Markdown file."""
    return file.with_suffix(".json")


def write_down(file: Path, about: Mapping[str, str], outcomes: Sequence[Outcome]) -> None:
    """Write the Markdown file and the JSON beside it."""
    file.write_text(markdown(about, outcomes), encoding="utf-8")
    told = json.dumps(document(about, outcomes), indent=1, ensure_ascii=False, allow_nan=False)
    json_beside(file).write_text(f"{told}\n", encoding="utf-8")


def document(about: Mapping[str, str], outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """All that was found, as JSON has it."""
    return {
        "schema": SCHEMA,
        "machine": dict(about),
        "benchmarks": [
            {
                "benchmark": one.benchmark,
                "about": one.about,
                "seconds": one.seconds,
                "failure": one.failure,
                "rows": [row.as_json() for row in one.rows],
                "curves": [
                    {**asdict(curve), "exponent": curve.exponent, "last_step": curve.last_step}
                    for curve in curves(one.rows)
                ],
            }
            for one in outcomes
        ],
    }


def markdown(about: Mapping[str, str], outcomes: Sequence[Outcome]) -> str:
    """All that was found, as tables."""
    return "\n".join(
        (
            "# Benchmarks\n",
            *(f"- {name}: {value}" for name, value in about.items()),
            "",
            *_section("Beside the peers", LEGEND, BESIDE, _rows(outcomes, beside=True)),
            *_section("Growth", GROWTH, GROWN, _grown(outcomes)),
            *_section("Ours alone", "", ALONE, _rows(outcomes, beside=False)),
            *_section("What was run", "", RUN, map(_run, outcomes)),
        )
    )


BESIDE: Final = ("benchmark", "task", "size", "ours", "peer", "peer's", "ratio", "memory", "notes")
ALONE: Final = ("benchmark", "task", "size", "ours", "memory", "notes")
GROWN: Final = ("benchmark", "task", "whose", "times by size", "exponent", "last step")
RUN: Final = ("benchmark", "what", "took", "ended")


def _section(
    title: str, words: str, columns: Sequence[str], rows: Iterable[Sequence[str]]
) -> Iterator[str]:
    yield f"## {title}\n"
    if words:
        yield words
    yield _cells(columns)
    yield _cells("---" for _ in columns)
    yield from map(_cells, rows)
    yield ""


def _cells(cells: Iterable[str]) -> str:
    """A row of a table: a bar or a new line in a cell would end it."""
    return f"| {' | '.join(' '.join(one.split()).replace('|', chr(92) + '|') for one in cells)} |"


def _rows(outcomes: Iterable[Outcome], *, beside: bool) -> Iterator[Sequence[str]]:
    """The rows that have a peer, or those that have none."""
    for outcome in outcomes:
        for row in outcome.rows:
            notes = "; ".join(filter(None, (row.agreement, row.note)))
            known = (outcome.benchmark, row.task, row.size.words, amounts(row.ours, row.unit))
            if beside and row.peer:
                theirs = (row.peer, amounts(row.theirs, row.unit), ratio_in_words(row))
                yield (*known, *theirs, memory_in_words(row), notes)
            elif not beside and not row.peer:
                yield (*known, memory_in_words(row), notes)


def _grown(outcomes: Iterable[Outcome]) -> Iterator[Sequence[str]]:
    for outcome in outcomes:
        for curve in curves(outcome.rows):
            exponents = (f"{curve.exponent:.2f}", f"{curve.last_step:.2f}")
            yield (outcome.benchmark, curve.task, curve.whose, _times(curve), *exponents)


def _times(curve: Curve) -> str:
    return ", ".join(f"{one.size}: {amount(one.seconds, curve.unit)}" for one in curve.points)


def _run(outcome: Outcome) -> Sequence[str]:
    ended = f"FAILED: {outcome.failure}" if outcome.failure else "well"
    return (outcome.benchmark, outcome.about, f"{outcome.seconds:.0f} s", ended)
