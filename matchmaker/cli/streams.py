"""Standard output for results only, whatever C libraries do; messages on standard error."""

from __future__ import annotations

import os
import sys


def reserve_stdout() -> None:
    """Send everything that libraries write to file descriptor 1 to standard error.

    Our own ``sys.stdout`` keeps the real standard output, so that a solver's banner never ends
    up in a piped document. Text that the terminal's encoding lacks is replaced, not refused.
    """
    try:
        real = os.dup(1)
        os.dup2(2, 1)
    except OSError:
        return
    sys.stdout = os.fdopen(real, "w", encoding=sys.stdout.encoding or "utf-8", errors="replace")


def print_document(text: str) -> None:
    """Write machine output: always UTF-8, whatever the terminal says."""
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8"))
    sys.stdout.flush()


def note(text: str) -> None:
    """A message for people, on standard error."""
    sys.stderr.write(text + "\n")
