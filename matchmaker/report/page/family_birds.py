"""Every bird that a pedigree of the season can show, in few bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from matchmaker.flock.drawing import drawn
from matchmaker.genetics.genotypes.allele_way import AlleleWay, allele_way
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.kin.forebears import parents
from matchmaker.genetics.kin.kinship import inbreeding_of
from matchmaker.report.lineage import parent_text
from matchmaker.report.numbers import kinship_text, percent, share_text
from matchmaker.report.page.shared import Shared
from matchmaker.report.wording import breed_name
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matchmaker.flock.drawing import Drawing
    from matchmaker.flock.pedigree import Links, Pedigree
    from matchmaker.genetics.kin.forebears import Parent
    from matchmaker.genetics.study import Study
    from matchmaker.pairs.table import PairTable

SEXES: Final = {Sex.COCK: 0, Sex.HEN: 1, None: 2}

MOST_BIRDS: Final = 600
"""Books with more birds are shown without those that nobody here descends from."""

STEP: Final = 10_000
"""Chances are told apart to this fraction; texts are made of the whole number."""


@dataclass(slots=True)
class Chances:
    """Chances between 0 and 1, each written once, as a number and as it is told."""

    known: dict[int, tuple[int, str]] = field(default_factory=dict)

    def of(self, chance: float) -> int:
        """The number of a chance."""
        key = round(chance * STEP)
        return self.known.setdefault(key, (len(self.known), percent(min(chance, 1.0))))[0]

    def all(self) -> list[tuple[float, str]]:
        """All chances by their numbers."""
        return [(key / STEP, text) for key, (_, text) in self.known.items()]


def birds_shown(table: PairTable) -> tuple[str, ...]:
    """The birds that can be looked up, oldest first: all of the books, unless there are many.

    Then the living birds, those of the pairs, and all their possible forebears.
    """
    flock = table.study.flock
    pedigree, node_of = flock.pedigree, flock.pedigree.node_of()
    if len(pedigree.birds) <= MOST_BIRDS:
        return pedigree.birds
    bands = {bird.band for bird in flock.living}
    bands |= {band for pair in table.pairs for band in (pair.hen, pair.cock)}
    first = pedigree.first_bird
    nodes = pedigree.ancestors({node_of[band] for band in bands})
    return tuple(pedigree.birds[node - first] for node in nodes if node >= first)


def birds_data(table: PairTable, bands: Sequence[str]) -> dict[str, Any]:
    """What a drawing needs of each bird, in rows; texts and chances by their numbers.

    A row has the band, sex (0 cock, 1 hen, 2 not known), year of hatch, line, status, row and
    place in the drawing of all, possible sires and dams as pairs of bird and chance, what is
    said of a sire or dam that is not one bird for certain, inbreeding, share, the chance to carry
    each target allele, and for each of these how likely a carrier has it from each possible parent
    (sires first, then dams, in their order).
    """
    study = table.study
    targets = tuple(study.flock.settings.target)
    rows = _Rows(
        study=study,
        targets=targets,
        ways=tuple(allele_way(study.genotypes[symbol], bands) for symbol in targets),
        number={band: at for at, band in enumerate(bands)},
        drawing=_drawing(study, bands),
    )
    listed = rows.all(bands)
    return {
        "recurrent": breed_name(study.flock.settings.recurrent),
        "loci": [_locus_entry(rows, at) for at in range(len(targets))],
        "years": rows.drawing.years,
        "birds": listed,
        "texts": list(rows.texts.of),
        "chances": rows.chances.all(),
    }


def founder_text(parent: Parent) -> str:
    """Where a founder came from, short enough to stand in a small box.

    Examples
    --------
    >>> from matchmaker.genetics.kin.forebears import Parent
    >>> bought = Parent(
    ...     side="sire", candidates=(), breeds=("sussex",), source="Moorside", assumed=False
    ... )
    >>> founder_text(bought)
    'Sussex founder from Moorside'
    """
    breeds = " and ".join(dict.fromkeys(map(breed_name, parent.breeds)))
    return f"{breeds} founder" + (f" from {parent.source}" if parent.source else "")


def _drawing(study: Study, bands: Sequence[str]) -> Drawing:
    birds = study.flock.by_band()
    years = {band: day.year if (day := birds[band].hatched) else None for band in bands}
    return drawn(study.flock.pedigree, bands, years)


def _locus_entry(rows: _Rows, at: int) -> dict[str, Any]:
    """A target locus in words: its allele, and whether the flock is to have it or to lose it."""
    symbol = rows.targets[at]
    found = rows.study.genotypes[symbol]
    exact = rows.ways[at].exact and found.method == "exact"
    return {
        "symbol": symbol,
        "name": found.locus.name,
        "wanted": rows.study.flock.settings.target[symbol] > 0,
        "exact": exact,
    }


@dataclass(slots=True, kw_only=True)
class _Rows:
    study: Study
    targets: tuple[str, ...]
    ways: tuple[AlleleWay, ...]
    number: dict[str, int]
    drawing: Drawing
    texts: Shared = field(default_factory=Shared)
    chances: Chances = field(default_factory=Chances)

    def all(self, bands: Sequence[str]) -> list[list[Any]]:
        pedigree = self.study.flock.pedigree
        nodes = [pedigree.node_of()[band] for band in bands]
        inbred = inbreeding_of(ancestry_of(pedigree), nodes).tolist() if nodes else []
        places = self.drawing.places()
        return [
            self._row(band, places[band], inbreeding)
            for band, inbreeding in zip(bands, inbred, strict=True)
        ]

    def _row(self, band: str, place: tuple[int, int], inbreeding: float) -> list[Any]:
        flock = self.study.flock
        bird = flock.by_band()[band]
        at = flock.pedigree.node_of()[band] - flock.pedigree.first_bird
        sires, dams = (
            self._candidates(flock.pedigree, side[at])
            for side in (flock.pedigree.sires, flock.pedigree.dams)
        )
        return [
            band,
            SEXES[bird.sex],
            bird.hatched.year if bird.hatched else None,
            self.texts.place(bird.line),
            self.texts.place(str(bird.record.status)),
            *place,
            [(self.number[name], self.chances.of(chance)) for name, chance in sires],
            [(self.number[name], self.chances.of(chance)) for name, chance in dams],
            *self._said(band),
            self.texts.place(kinship_text(inbreeding)),
            self.texts.place(share_text(self.study.recurrent_share[band])),
            self._carries(band),
            [self._links(way, band, (*sires, *dams)) for way in self.ways],
        ]

    def _candidates(self, pedigree: Pedigree, links: Links) -> list[tuple[str, float]]:
        first = pedigree.first_bird
        return [(pedigree.birds[node - first], p) for node, p in links if node >= first]

    def _said(self, band: str) -> Iterable[int]:
        """Words for sire and dam; −1 where each is one bird for certain."""
        flock = self.study.flock
        birds = flock.by_band()
        for parent in parents(flock, band, depth=1):
            sure = len(parent.candidates) == 1 and not parent.breeds
            said = parent_text(parent, birds) if parent.candidates else founder_text(parent)
            yield -1 if sure else self.texts.place(said)

    def _carries(self, band: str) -> list[int]:
        found = (self.study.genotypes[symbol].carrier_probability(band) for symbol in self.targets)
        return [self.chances.of(chance) for chance in found]

    def _links(
        self, way: AlleleWay, band: str, candidates: Iterable[tuple[str, float]]
    ) -> list[int] | int:
        """How likely it has the allele from each; 0 where it has it from none of them."""
        chances = [way.links.get((band, name), 0.0) for name, _ in candidates]
        return [self.chances.of(chance) for chance in chances] if any(chances) else 0
