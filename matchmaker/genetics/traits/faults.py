"""What the settings of traits cannot mean."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from matchmaker.genetics.traits.published import published_traits
from matchmaker.tables.nearness import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.kin.ancestry import Matrix
    from matchmaker.settings import CorrelationSettings
    from matchmaker.tables.folder import FolderTables

LEAST_OWN: Final = 1e-6
"""Part of its variance that a trait must have of its own, whatever the others say."""


def trait_faults(tables: FolderTables) -> list[Fault]:
    """Faults in the settings of traits: published traits nobody knows, impossible correlations."""
    return [*_unknown_published(tables), *_impossible_correlations(tables)]


def _unknown_published(tables: FolderTables) -> Iterator[Fault]:
    settings = tables.settings
    names = published_traits()
    for trait, wanted in settings.traits.items() if settings else ():
        if wanted.like is not None and wanted.like not in names:
            yield tables.setting_fault(
                f"traits.{trait}.like",
                kind="unknown-trait",
                value=wanted.like,
                problem=f"nothing is published here of a trait {wanted.like}",
                mend=did_you_mean(wanted.like, names, f"write one of {', '.join(names)}"),
            )


def _impossible_correlations(tables: FolderTables) -> Iterator[Fault]:
    given = tables.settings.correlations if tables.settings else ()
    traits = sorted({trait for correlation in given for trait in correlation.traits})
    least = np.linalg.eigvalsh(correlation_matrix(given, traits))[:1]
    if (least < LEAST_OWN).any():
        yield tables.setting_fault(
            "correlations",
            kind="impossible-correlations",
            value=", ".join(f"{' and '.join(one.traits)} {one.genetic:g}" for one in given),
            problem="these genetic correlations cannot all be true together: they would leave a "
            "trait nothing of its own",
            mend="bring them nearer to 0, or give those left out, which count as 0",
        )


def correlation_matrix(given: Sequence[CorrelationSettings], traits: Sequence[str]) -> Matrix:
    """Genetic correlations of traits, 0 where none is given, shape (traits, traits).

    Examples
    --------
    >>> from matchmaker.settings import CorrelationSettings
    >>> given = [CorrelationSettings(traits=("eggs", "weight"), genetic=-0.25)]
    >>> correlation_matrix(given, ["comb", "eggs", "weight"]).tolist()
    [[1.0, 0.0, 0.0], [0.0, 1.0, -0.25], [0.0, -0.25, 1.0]]
    """
    number = {trait: at for at, trait in enumerate(traits)}
    matrix = np.eye(len(traits))
    for one in given:
        if all(trait in number for trait in one.traits):
            first, second = (number[trait] for trait in one.traits)
            matrix[first, second] = matrix[second, first] = one.genetic
    return matrix
