"""What a refusal prints: words on standard error, and a document where one was asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.cli.streams import note, print_document
from matchmaker.errors import ExitCode, InputError, MatchmakerError, NoPlanError

if TYPE_CHECKING:
    from collections.abc import Sequence


def report_failure(error: MatchmakerError, arguments: Sequence[str]) -> ExitCode:
    """Print the error in words and return the exit code."""
    if isinstance(error, InputError):
        _report_faults(error, arguments)
    elif isinstance(error, NoPlanError):
        if not error.told:
            note("No plan is possible:")
            for name in error.conflict:
                note(f"  {name}")
            note("matchmaker plan says what stands in the way, and ways out.")
    else:
        note(f"matchmaker: {error}")
    return error.exit_code


def _report_faults(error: InputError, arguments: Sequence[str]) -> None:
    import sys

    from matchmaker.report.documents import as_json, faults_document
    from matchmaker.report.screen import console_for
    from matchmaker.report.terminal import print_faults

    if "--json" in arguments:
        command = next((word for word in arguments if not word.startswith("-")), "check")
        print_document(as_json(faults_document(None, error.faults, command)))
    print_faults(console_for(sys.stderr), error.faults, "fault", "must be mended first")
    if any(fault.safe and fault.mends for fault in error.faults):
        note("Some of these can be mended safely: matchmaker check --fix does it in a copy.")
