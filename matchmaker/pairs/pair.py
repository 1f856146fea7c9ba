"""A hen with a cock in a row of crossings: what the rules judge, and what has a value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.rules import Broken
    from matchmaker.pairs.trials import Trial
    from matchmaker.tables.records import Sex


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A pair with every rule it breaks and every term of its value.

    ``crossing`` is ``None`` where no row is open for the two lines; then nothing that depends on
    a row (wanted chance, worth, value) is known and stays ``None``. ``gains`` are what its chicks
    are expected to be worth in each trait that counts, in genetic SDs, more being better, and
    ``merit`` is their weighted sum. ``waived`` says that a written wish allows the pair in spite of
    ``broken``. Probabilities are per chick hatched; ``chicks`` are chicks raised in the season;
    ``value`` is in wanted chicks. ``sure_by_sex`` are the chances that are left if every parent
    that is not proven carries the least it may, known where the line asks for certainty. In a test
    row no chick is wanted and ``value`` is 0; ``trial`` says what its chicks tell, ``None`` where
    that is nothing.
    """

    hen: str
    cock: str
    crossing: Crossing | None
    broken: tuple[Broken, ...] = ()
    waived: bool = False
    kinship: float
    recurrent_share: float
    gains: Mapping[str, float] = field(default_factory=dict)
    merit: float
    chicks: float
    wanted_by_sex: Mapping[Sex, float] | None = None
    true_by_sex: Mapping[Sex, float] | None = None
    sure_by_sex: Mapping[Sex, float] | None = None
    trial: Trial | None = None
    approximate: bool = False
    worth: float | None = None
    value: float | None = None

    @property
    def allowed(self) -> bool:
        """Whether the plan may use the pair."""
        return self.crossing is not None and (not self.broken or self.waived)

    @property
    def line(self) -> str | None:
        """The line the chicks join; ``None`` where no row is open, and in a test row."""
        return None if self.crossing is None else self.crossing.chicks or None

    @property
    def wanted_chance(self) -> float | None:
        """Chance that a chick is wanted (and, in a row kept by sight, can be told to be)."""
        return None if self.wanted_by_sex is None else sum(self.wanted_by_sex.values())

    @property
    def wanted(self) -> float:
        """Wanted chicks raised in the season, 0 where no row is open."""
        return self.chicks * (self.wanted_chance or 0.0)

    @property
    def key(self) -> tuple[str, str, str]:
        """Order of pairs: hen, cock, row."""
        return (self.hen, self.cock, self.crossing.name if self.crossing else "")
