"""What the screens of the flock and of one bird print, as text."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from rich.console import Console

from matchmaker.report.bird import print_bird
from matchmaker.report.flock import print_flock

if TYPE_CHECKING:
    from matchmaker.pairs.table import PairTable


def shown(table: PairTable, band: str | None = None, width: int = 80) -> str:
    """Return the screen of the flock, or of one bird."""
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    if band is None:
        print_flock(console, table)
    else:
        print_bird(console, table, band)
    return stream.getvalue()


def plain(text: str) -> str:
    """Return the text with its lines joined."""
    return re.sub(r"\s+", " ", text)
