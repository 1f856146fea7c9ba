"""The entry point of the installed command: Ctrl-C and streams in order before all else."""

from __future__ import annotations

import signal


def run() -> None:
    """Answer the command of this process.

    Ctrl-C is held back from the first line on: in the midst of an import it would end in the
    words of a programmer.
    """
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    from matchmaker.cli.interrupt import end_on_interrupt
    from matchmaker.cli.streams import reserve_stdout

    end_on_interrupt()
    reserve_stdout()
    from matchmaker.cli.app import run as answer

    answer()
