"""Today's flock as it may truly be, drawn anew for each replicate from what the books say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.ahead.birds import Truth
    from matchmaker.genetics.study import Study


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Past:
    """What was drawn of the past once for all replicates; can be sent to other processes."""

    replicates: int
    seed: int

    def truth(self, replicate: int) -> Truth:
        """The living birds of one replicate, 0 … ``replicates`` − 1; the same whoever asks."""
        raise NotImplementedError


def prepare_past(study: Study, replicates: int, seed: int) -> Past:
    """Draw what all replicates need of the past of a flock."""
    raise NotImplementedError
