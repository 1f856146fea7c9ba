"""Forebears and kin in words: "sire", "his dam's sire", "one of two cocks"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.report.numbers import kinship_text, percent
from matchmaker.report.wording import breed_name
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matchmaker.flock.bird import Bird
    from matchmaker.genetics.kin.forebears import Parent, Role
    from matchmaker.genetics.kin.shared_forebears import SharedForebear
    from matchmaker.genetics.portrait import Kinsman

MANY = 4
"""More possible parents than this are counted, not listed."""


def possessive(sex: Sex | None) -> str:
    """How a bird is spoken of."""
    return {Sex.COCK: "his", Sex.HEN: "her"}[sex] if sex else "its"


def pronoun(sex: Sex | None) -> str:
    """How a bird is called in a sentence."""
    return {Sex.COCK: "he", Sex.HEN: "she"}[sex] if sex else "it"


def parent_lines(
    parents: Sequence[Parent], birds: dict[str, Bird], owner: str = "", depth: int = 0
) -> Iterator[tuple[int, str]]:
    """Sire and dam with their own parents, as (indent, words), one line a forebear."""
    for parent in parents:
        yield depth, f"{owner}{parent.side}: {parent_text(parent, birds)}"
        for band, above in parent.above:
            several = len(parent.candidates) > 1
            owned = possessive(Sex.COCK if parent.side == "sire" else Sex.HEN)
            yield from parent_lines(
                above, birds, f"{band}'s " if several else f"{owned} ", depth + 1
            )


def parent_text(parent: Parent, birds: dict[str, Bird]) -> str:
    """Who a parent is, or may be with what chance."""
    known = parent.candidates
    pool = " and ".join(dict.fromkeys(breed_name(breed) for breed in parent.breeds))
    if not known:
        whence = f" from {parent.source}" if parent.source else ""
        return (
            f"{'not written, taken as a founder' if parent.assumed else 'founder'} ({pool}{whence})"
        )
    if len(known) == 1 and not pool:
        return _named(known[0][0], birds)
    kind = "cocks" if parent.side == "sire" else "hens"
    if len(known) > MANY:
        lines = " and ".join(sorted({birds[band].line for band, _ in known}))
        return f"not known; any of {len(known)} {lines} {kind} then alive"
    listed = [f"{_named(band, birds)} {percent(chance)}" for band, chance in known]
    if pool:
        listed.append(f"a {pool} founder {percent(1 - sum(chance for _, chance in known))}")
    return f"{'not known; ' if parent.assumed else ''}{' or '.join(listed)}"


def _named(band: str, birds: dict[str, Bird]) -> str:
    bird = birds[band]
    gone = "" if bird.alive_here else f", {bird.record.status}"
    return f"{band} ({bird.line}{gone})"


def through_text(one: SharedForebear, owner: str) -> str:
    """A forebear on both sides of a bird: who it is, and where it stands over sire and dam."""
    where = " and ".join(f"{owner} {way(role)}" for role in one.ways)
    return f"through {one.band}" + (f", {where}" if where else "")


def before_text(found: Sequence[SharedForebear]) -> str:
    """Kinship from before the records, with the breeds it is in."""
    breeds = dict.fromkeys(breed_name(pool.breed) for one in found for pool in one.pools)
    return f"through kinship from before the records ({', '.join(breeds)})"


def way(role: Role) -> str:
    """One way to a forebear.

    Examples
    --------
    >>> way(("sire", "dam"))
    "sire's dam"
    """
    return "'s ".join(role)


def kin_text(one: Kinsman) -> str:
    """A relative with its kinship and what it is, if that has a short name.

    Examples
    --------
    >>> from matchmaker.genetics.portrait import Kinsman
    >>> kin_text(Kinsman(band="A7", kinship=0.25, relation="full sister"))
    'A7 0.250 (full sister)'
    """
    relation = f" ({one.relation})" if one.relation else ""
    return f"{one.band} {kinship_text(one.kinship)}{relation}"
