"""``matchmaker new`` without a book: five questions, or a copy of an example."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.options import refuse_beside
from matchmaker.cli.questions import ask_answers
from matchmaker.cli.streams import note
from matchmaker.start import copy_example, refuse_filled, start_folder
from matchmaker.tables.flock_folder import as_typed

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def run_new(folder: Path, like: str, answers: Mapping[str, object]) -> None:
    """Start a flock folder from answers, asking what is not given, or copy the example ``like``.

    Raises
    ------
    UsageError
        If an option makes no sense, or nobody is there to ask.
    WouldOverwriteError
        If the folder holds anything.
    """
    refuse_filled(folder)
    if like:
        refuse_beside(
            "--like", {f"--{name}": value not in {"", None} for name, value in answers.items()}
        )
        copy_example(folder, like)
        then = "Next: matchmaker plan"
    else:
        start_folder(folder, ask_answers(answers))
        then = "Next: fill in its tables, then: matchmaker check"
    note(f"Made {folder}. {then} --in {as_typed(folder)}")
