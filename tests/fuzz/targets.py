"""All targets, and the inputs that once broke something."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.fuzz import targets_folders, targets_intake, targets_tables, targets_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tests.fuzz.inputs import Target

TARGETS: Final[Mapping[str, Target]] = {
    target.name: target
    for target in (
        *targets_tables.TARGETS,
        *targets_words.TARGETS,
        *targets_folders.TARGETS,
        *targets_intake.TARGETS,
    )
}

CORPUS: Final = Path(__file__).parent / "corpus"


def kept_inputs() -> dict[Path, str]:
    """Return the kept inputs with the target each is for: a file is called ``TARGET--WHAT.bin``."""
    return {file: file.name.partition("--")[0] for file in sorted(CORPUS.glob("*--*.bin"))}
