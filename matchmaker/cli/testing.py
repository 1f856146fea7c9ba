"""The tests command: weigh, print, and say beforehand when that takes a while."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.streams import note
from matchmaker.plan.bird_tests.testing import open_questions, rank_tests
from matchmaker.report.testing import print_tests
from matchmaker.report.testing_document import ranking_document, ranking_sheet
from matchmaker.verbs import pairs as judge

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.cli.output import Output

MANY = 8
"""From so many possible tests on a word on standard error says that it takes a while."""


def run_tests(folder: Path, birds: int, output: Output) -> None:
    """Rank the tests of a folder's flock and show the best of them."""
    table = judge(folder)
    possible = len(open_questions(table))
    if possible >= MANY:
        note(f"Weighing {possible} possible tests, with a plan for each answer that matters.")
    ranking = rank_tests(table, birds=birds)
    output.show(
        lambda console: print_tests(console, ranking),
        lambda: ranking_document(ranking),
        lambda: ranking_sheet(ranking),
    )
