"""Ctrl-C ends the program at once and says so, even while a solver runs."""

from __future__ import annotations

import os
import signal
import sys
import threading

from matchmaker.cli.streams import note


def end_on_interrupt() -> None:
    """Wait for Ctrl-C in a thread of its own and then end with code 130.

    A signal that waits for the main thread would come after a solve, however long, and libraries
    that catch everything while they are imported would swallow it. Nothing is lost: files are
    written whole or not at all.
    """
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        threading.Thread(target=_wait_and_end, daemon=True).start()


def _wait_and_end() -> None:
    signal.sigwait({signal.SIGINT})
    note("Interrupted.")
    sys.stderr.flush()
    os._exit(130)
