"""Standard output for results only, whatever C libraries do; messages on standard error."""

from __future__ import annotations

import codecs
import os
import sys
from typing import Final


def reserve_stdout() -> None:
    """Send everything that libraries write to file descriptor 1 to standard error.

    Our own ``sys.stdout`` keeps the real standard output, so that a solver's banner never ends
    up in a piped document. Letters that the terminal's encoding lacks are written in plainer ones,
    not refused.
    """
    try:
        real = os.dup(1)
        os.dup2(2, 1)
    except OSError:
        return
    codecs.register_error("plainer", _plainer)
    sys.stdout = os.fdopen(real, "w", encoding=sys.stdout.encoding or "utf-8", errors="plainer")


PLAIN: Final = {"−": "-", "–": "-", "─": "-", "│": "|", "→": "->", "≥": ">=", "≤": "<=", "×": "x"}
"""What stands for letters that the terminal's encoding lacks."""


def _plainer(error: UnicodeError) -> tuple[str, int]:
    """Write a letter that the encoding lacks in plainer ones: a minus must not become a "?"."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    missing = error.object[error.start : error.end]
    return "".join(PLAIN.get(letter, "?") for letter in missing), error.end


def print_document(text: str) -> None:
    """Write machine output: always UTF-8, whatever the terminal says."""
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8", "backslashreplace"))
    sys.stdout.flush()


def note(text: str) -> None:
    """A message for people, on standard error."""
    sys.stderr.write(text + "\n")
