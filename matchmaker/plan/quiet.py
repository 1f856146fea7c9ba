"""Solvers that print on standard output whatever they are told, kept quiet."""

from __future__ import annotations

import contextlib
import os
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextlib.contextmanager
def quiet_stdout() -> Iterator[None]:
    """Send what a C library prints on standard output to nowhere while it runs."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # standard output is closed: nothing to protect
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
