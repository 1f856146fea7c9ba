"""The commands together: each reads, calls one verb and hands the answer to a report."""

from __future__ import annotations

import gc
import sys

from matchmaker.cli import (
    ahead_command,
    flock_commands,
    grade_command,
    hatch_command,
    pen_commands,
    report_command,
    route_command,
    season_command,
)
from matchmaker.cli.root import app
from matchmaker.cli.streams import note
from matchmaker.errors import AnswerLostError, ExitCode, MatchmakerError

COMMANDS = (
    flock_commands,
    pen_commands,
    report_command,
    season_command,
    grade_command,
    hatch_command,
    route_command,
    ahead_command,
)
"""Where the commands are: they add themselves to ``app`` when they are imported."""

SELDOM = 100_000
"""New objects between two searches for garbage: a command ends before much of it has gathered."""


def run() -> None:
    """Answer the command of this process: errors in words, exit codes."""
    gc.set_threshold(SELDOM)
    try:
        sys.exit(answered(sys.argv[1:]))
    finally:
        gc.freeze()  # the process ends: nothing is left to be collected, one object by one


def answered(arguments: list[str]) -> int | str | None:
    """Answer one command on ``sys.stdout`` and ``sys.stderr``; return the exit code."""
    try:
        app(arguments, prog_name="matchmaker")
        sys.stdout.flush()
    except SystemExit as stop:
        if stop.code == ExitCode.INTERRUPTED:
            note("Interrupted.")
        return stop.code
    except AnswerLostError as error:
        if not error.no_reader:
            note(f"matchmaker: {error}")
        return error.exit_code
    except MatchmakerError as error:
        from matchmaker.cli.failure import report_failure

        return report_failure(error, arguments)
    return ExitCode.DONE
