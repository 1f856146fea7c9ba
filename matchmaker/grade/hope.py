"""The best that may yet be seen of a bird, and what its best pair would then count."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.genetics.genotypes.inferred import LociClashError
from matchmaker.genetics.genotypes.observed import Place, Sighting
from matchmaker.genetics.genotypes.words import weights
from matchmaker.genetics.kin.kinship import KinshipMatrix
from matchmaker.grade.prospect import best_of
from matchmaker.pairs.table import judge_pairs

if TYPE_CHECKING:
    from matchmaker.genetics.study import Study
    from matchmaker.grade.prospect import Need, Prospect
    from matchmaker.pairs.pair import Pair


def hope_of(prospect: Prospect) -> float:
    """What the bird's best pair counts if all that is open of it turns out as its line wants.

    In wanted chicks; 0 where it has no pair even then. Its relatives are taken to be what that
    makes of them, as by any other evidence.
    """
    if not prospect.open_needs:
        return prospect.value
    study = prospect.table.study
    try:
        for need in prospect.open_needs:
            study = study.informed(need.locus, [_as_wanted(study, prospect.band, need)])
    except LociClashError:
        return prospect.value
    best = best_of(_own_pairs(study, prospect))
    return 0.0 if best is None else best.value or 0.0


def _as_wanted(study: Study, band: str, need: Need) -> Sighting:
    copies = frozenset({1, 2}) if need.carrier else frozenset({0})
    return Sighting(
        bird=band,
        weights=weights(study.loci[need.locus], copies, dna=True),
        place=Place(file="", row=0, column="", words="what may yet be seen"),
    )


def _own_pairs(study: Study, prospect: Prospect) -> tuple[Pair, ...]:
    """The bird's pairs alone, judged anew."""
    birds = study.flock.by_band()
    kept = [
        band
        for band in study.kinship.birds
        if band == prospect.band or birds[band].sex not in {None, prospect.sex}
    ]
    at = [study.kinship.position(band) for band in kept]
    part = KinshipMatrix(birds=tuple(kept), values=study.kinship.values[np.ix_(at, at)])
    return judge_pairs(replace(study, kinship=part)).pairs
