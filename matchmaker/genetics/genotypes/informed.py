"""A study with more evidence at one locus: what would be known after a test."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matchmaker.genetics.genotypes.observed import Evidence
    from matchmaker.genetics.study import Study


def informed_study(study: Study, locus: str, added: Sequence[Evidence]) -> Study:
    """Return the study as it would be with more evidence at ``locus``; relatives learn too.

    Only genotype probabilities change: kinship, shares and merit do not hang on them.

    Raises
    ------
    LociClashError
        If the evidence added cannot be true together with what is known.
    """
    return replace(study, inferred=study.inferred.informed(locus, added))
