"""Standard output for results only, whatever C libraries do; messages on standard error."""

from __future__ import annotations

import codecs
import io
import os
import sys
from typing import TYPE_CHECKING, Final

from matchmaker.errors import AnswerLostError

if TYPE_CHECKING:
    from typing_extensions import Buffer


class _Answer(io.FileIO):
    """The real standard output; a disk or a reader that fails is told as what it means."""

    def write(self, part: Buffer, /) -> int:
        try:
            return super().write(part)
        except OSError as error:
            point_at_nothing(self.fileno())  # what is still to come, at the latest at the end
            raise AnswerLostError(error) from error


def reserve_stdout() -> None:
    """Send everything that libraries write to file descriptor 1 to standard error.

    Our own ``sys.stdout`` keeps the real standard output, so that a solver's banner never ends
    up in a piped document. Letters that the terminal's encoding lacks are written in plainer ones,
    not refused. A stream that whoever called has closed leads nowhere.
    """
    for number in (0, 1, 2):
        _opened(number)
    real = os.dup(1)
    os.dup2(2, 1)
    codecs.register_error("plainer", _plainer)
    encoding = (sys.stdout and sys.stdout.encoding) or "utf-8"
    sys.stderr = sys.stderr or os.fdopen(2, "w", errors="backslashreplace", closefd=False)
    sys.stdout = io.TextIOWrapper(
        io.BufferedWriter(_Answer(real, "w")),
        encoding=encoding,
        errors="plainer",
        line_buffering=os.isatty(real),
    )


def _opened(number: int) -> None:
    try:
        os.fstat(number)
    except OSError:
        point_at_nothing(number)


def point_at_nothing(number: int) -> None:
    """Have a file descriptor lead nowhere, whatever it led to."""
    nothing = os.open(os.devnull, os.O_RDWR)
    if nothing != number:
        os.dup2(nothing, number)
        os.close(nothing)


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
