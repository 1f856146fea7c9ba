"""Breed shares typed by hand that the pedigree contradicts: both are shown, the pedigree counts."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from matchmaker.errors import CellMend
from matchmaker.genetics.shares.share import breed_shares
from matchmaker.tables.findings import summed_up
from matchmaker.tables.records import Origin

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.errors import Fault
    from matchmaker.flock.bird import Bird
    from matchmaker.flock.flock import Flock

MISS: Final = 0.01
"""How far a typed share may be off: keepers write 0.94 for 15/16."""

GENERATIONS: Final = 7
"""Shares are told as fractions down to 1/128; what seven backcrosses leave is no longer counted."""

_EXACT: Final = 1e-4


def share_doubts(flock: Flock) -> Iterator[Fault]:
    """Doubt typed breed shares that the pedigree contradicts; the pedigree is what counts."""
    return summed_up(
        _contradicted(flock),
        "birds are typed as other shares of breeds than their parents make them; the share by "
        "pedigree is what the plan counts",
        "empty these cells, or mend what is typed of the founders' breeds: many at once hang on a "
        "few founders",
    )


def _contradicted(flock: Flock) -> Iterator[Fault]:
    breeds, shares = breed_shares(flock.pedigree)
    computed = dict(zip(flock.pedigree.birds, shares.tolist(), strict=True))
    for bird in flock.birds:
        typed = bird.record.breed
        if not typed:
            continue
        found = dict(zip(breeds, computed[bird.band], strict=True))
        if any(abs(typed.get(one, 0.0) - found.get(one, 0.0)) > MISS for one in {*breeds, *typed}):
            yield _doubt(flock, bird, found)


def _doubt(flock: Flock, bird: Bird, found: Mapping[str, float]) -> Fault:
    record = bird.record
    known = record.sire.origin is record.dam.origin is Origin.KNOWN
    by = "its parents make it" if known else "what is known of its parents makes it"
    cell = "|".join(
        name if len(record.breed) == 1 else f"{name}:{share:g}"
        for name, share in record.breed.items()
    )
    empty = "empty this cell, or mend the sire or dam if the typed share is right"
    return flock.tables.fault(
        "birds",
        record.row,
        "breed",
        kind="breed-against-pedigree",
        value=cell,
        problem=f"{bird.band} is typed as {_told(record.breed)}, {by} {_told(found)}; "
        "the share by pedigree is what the plan counts",
        mend=empty if known else "write its parents, or mend the share",
        mends=(CellMend(table="birds", row=record.row, column="breed", was=cell, becomes=""),)
        if known
        else (),
        birds=(bird.band,),
    )


def _told(shares: Mapping[str, float]) -> str:
    ordered = sorted(shares.items(), key=lambda one: (-one[1], one[0]))
    return " and ".join(f"{share_words(share)} {breed}" for breed, share in ordered if share)


def share_words(share: float) -> str:
    """Return a share in per cent and, where it is one of so many halvings, as a fraction.

    Examples
    --------
    >>> share_words(0.875), share_words(0.9375), share_words(0.93), share_words(1.0)
    ('87.5 % (7/8)', '93.75 % (15/16)', '93 %', '100 %')
    """
    percent = f"{round(share * 100, 2):g} %"
    halved = Fraction(round(share * 2**GENERATIONS), 2**GENERATIONS)
    if halved.denominator == 1 or abs(share - halved) > _EXACT:
        return percent
    return f"{percent} ({halved})"
