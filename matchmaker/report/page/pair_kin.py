"""What each hen and cock have in common, in the sentences of ``why``."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from matchmaker.genetics.kin.paths_of_pairs import bands_of
from matchmaker.genetics.kin.wright_paths import MOST_PATHS, Path, Paths
from matchmaker.report.page.kin_of_table import kin_of_table
from matchmaker.report.why.kin_words import (
    MOST_FOREBEARS,
    Joined,
    kinship_heading,
    path_sentences,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.kin.paths_of_pairs import PathsOfPair
    from matchmaker.pairs.pair import Pair
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True)
class Kin:
    """Tells what hens and cocks have in common; their paths are worked out together."""

    birds: Mapping[str, Bird]
    paths: Mapping[tuple[str, str], PathsOfPair]

    @classmethod
    def of(cls, table: PairTable) -> Kin:
        """The paths of all pairs of a table."""
        kin = kin_of_table(table, MOST_PATHS)
        return cls(
            birds=table.study.flock.by_band(),
            paths={
                (hen, cock): paths
                for hen, several in zip(kin.hens, kin.paths, strict=True)
                for cock, paths in zip(kin.cocks, several, strict=True)
            },
        )

    def told(self, pair: Pair) -> tuple[str, ...]:
        """The kinship and where it comes from, then each common forebear."""
        paths = _as_listed(self.paths[pair.hen, pair.cock])
        of = Joined(pair=pair, kin=paths, birds=self.birds)
        sentences = path_sentences(of, MOST_FOREBEARS) if paths.listed else ()
        return (kinship_heading(of), *(f"{one}." for one in sentences))


def _as_listed(found: PathsOfPair) -> Paths:
    """Paths as ``why`` lists them for one pair."""
    listed = tuple(
        Path(
            first=bands_of(one.first),
            second=bands_of(one.second),
            kinship=Fraction(one.kinship),
            chance=Fraction(one.chance),
        )
        for one in found.listed
    )
    return Paths(listed=listed, before=Fraction(found.before), others=Fraction(found.others))
