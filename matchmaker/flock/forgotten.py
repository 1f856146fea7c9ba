"""Birds without parents that do not look like founders: what is assumed of them, and what not."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import first_few
from matchmaker.tables.ages import FIRST_EGG_AND_INCUBATION
from matchmaker.tables.records import BirdRecord, Origin

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables

MATES_MIN: Final = 2
"""So many hatch mates with written parents make a bird without them look forgotten."""

BIRDS_NAMED: Final = 6
"""So many birds are named with their rows; of more, how many there are."""


def forgotten_doubts(tables: FolderTables) -> Iterator[Fault]:
    """Doubt birds that seem to be bred here but have no parents written.

    Of these, birds hatched on one day with two or more of their line that have parents are told
    as such; the others only where the breed alone makes founders of them although their line was
    here before. What is assumed without a doubt stands among what is taken for granted.
    """
    groups: dict[tuple[str, str], list[BirdRecord]] = defaultdict(list)
    mates, oldest = _mates(tables.birds), _oldest(tables.birds)
    for bird in tables.birds:
        if not _parentless(bird):
            continue
        if mates.get(_hatching(bird), 0) >= MATES_MIN:
            groups["parents-forgotten", bird.line].append(bird)
        elif bird.breed and _line_was_here(bird, oldest):
            groups["founder-or-unknown", bird.line].append(bird)
    for (kind, line), birds in groups.items():
        yield _doubt(tables, kind, line, birds)


def _parentless(bird: BirdRecord) -> bool:
    """Whether both parents are empty, not written as founders, and no source is named."""
    unknown = bird.sire.origin is bird.dam.origin is Origin.UNKNOWN
    return unknown and not bird.source and bird.hatched is not None


def _hatching(bird: BirdRecord) -> tuple[object, str]:
    return (None if bird.hatched_is_year else bird.hatched, bird.line)


def _mates(birds: Sequence[BirdRecord]) -> Mapping[tuple[object, str], int]:
    """How many birds of each line hatched on each day have both parents written."""
    counts: dict[tuple[object, str], int] = defaultdict(int)
    for bird in birds:
        known = bird.sire.origin is bird.dam.origin is Origin.KNOWN
        if known and bird.hatched is not None and not bird.hatched_is_year:
            counts[_hatching(bird)] += 1
    return counts


def _oldest(birds: Sequence[BirdRecord]) -> Mapping[str, dt.date]:
    oldest: dict[str, dt.date] = {}
    for bird in birds:
        if bird.hatched is not None and bird.line:
            oldest[bird.line] = min(oldest.get(bird.line, bird.hatched), bird.hatched)
    return oldest


def _line_was_here(bird: BirdRecord, oldest: Mapping[str, dt.date]) -> bool:
    first = oldest.get(bird.line)
    assert bird.hatched is not None  # noqa: S101  the caller has looked
    return first is not None and bird.hatched - first >= FIRST_EGG_AND_INCUBATION


def _doubt(tables: FolderTables, kind: str, line: str, birds: Sequence[BirdRecord]) -> Fault:
    named = first_few((f"{bird.bird} (row {bird.row})" for bird in birds), BIRDS_NAMED)
    many = len(birds) > 1
    who, has, its = ("these birds", "have", "their") if many else ("this bird", "has", "its")
    why = (
        f"though {its} hatch mates have them"
        if kind == "parents-forgotten"
        else f"and no source, though birds of {line or 'its line'} were here before"
    )
    taken = _taken(birds, many=many)
    return tables.fault(
        "birds",
        birds[0].row,
        "sire",
        kind=kind,
        value="",
        problem=f"{who} {has} no parents written {why}: {named}. {taken}",
        mend="write the bands of sire and dam, or founder in both cells where it was bought; a "
        "founder counts as a stranger to the flock, so that close pairs may look open",
        birds=tuple(bird.bird for bird in birds),
    )


def _taken(birds: Sequence[BirdRecord], *, many: bool) -> str:
    """What is assumed, which hangs on whether a breed is written (see ``lineage``)."""
    kinds = {bool(bird.breed) for bird in birds}
    if kinds == {True}:
        return f"Until then {'they are founders' if many else 'it is a founder'} for the plan"
    if kinds == {False}:
        whose = "their" if many else "its"
        return f"Until then any bird of the line that lived then may be {whose} parent"
    return "Until then those with a breed are founders for the plan, the others any bird's chicks"
