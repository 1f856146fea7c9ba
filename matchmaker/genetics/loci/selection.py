"""Which loci of the catalogue a keeper asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.genetics.loci.locus import Locus

DAY_OLD = 1
"""Days after hatching within which a chick still counts as a day old."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """What must hold of a locus to be listed; what is not asked for does not matter.

    ``day_old``: chicks of both sexes show it by the day after hatching.
    """

    z_linked: bool = False
    day_old: bool = False
    caution: bool = False
    linked: bool = False

    def holds(self, locus: Locus) -> bool:
        """Whether all that is asked for holds of a locus."""
        early = locus.shows_at_days <= DAY_OLD and locus.shown_by == "both"
        return (
            (locus.z_linked or not self.z_linked)
            and (early or not self.day_old)
            and (bool(locus.caution) or not self.caution)
            and (bool(locus.linkages) or locus.linked_to is not None or not self.linked)
        )


def selected(loci: Mapping[str, Locus], wanted: Selection) -> dict[str, Locus]:
    """Return the loci of which all that is asked for holds, in their order.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> list(selected(catalogue(), Selection(z_linked=True, day_old=True)))
    ['n', 'K', 'S', 'B', 'choc']
    """
    return {symbol: locus for symbol, locus in loci.items() if wanted.holds(locus)}
