"""The keeper's wishes, sorted by what they bind: a pair, a bird and a pen, two hens, one bird."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from matchmaker.tables.records import Sex, WishRecord

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matchmaker.errors import Fault
    from matchmaker.tables.folder import FolderTables

Pairing = tuple[str, str]
"""Two bands or a band and a pen; of a hen and a cock, the hen comes first."""


@dataclass(slots=True, kw_only=True)
class Wishes:
    """All wishes of the folder; each keeps the reason given, or the words that name it."""

    apart: dict[Pairing, str] = field(default_factory=dict)
    allow: dict[Pairing, str] = field(default_factory=dict)
    together: dict[Pairing, str] = field(default_factory=dict)
    in_pen: dict[Pairing, str] = field(default_factory=dict)
    not_in_pen: dict[Pairing, str] = field(default_factory=dict)
    hens_together: dict[Pairing, str] = field(default_factory=dict)
    hens_apart: dict[Pairing, str] = field(default_factory=dict)
    use: dict[str, str] = field(default_factory=dict)
    rest: dict[str, str] = field(default_factory=dict)


def sort_wishes(
    tables: FolderTables, sexes: Mapping[str, Sex | None]
) -> tuple[Wishes, list[Fault]]:
    """Return the wishes by kind, and a fault for each that makes no sense as written."""
    wishes = Wishes()
    faults = []
    for record in tables.wishes:
        problem = _sort_one(record, sexes, wishes)
        if problem:
            faults.append(
                tables.fault(
                    "wishes",
                    record.row,
                    "with",
                    kind="wish-sense",
                    value=record.partner,
                    problem=problem,
                    mend="together and apart take a bird or a pen, allow takes a bird of the other "
                    "sex, use a pen or nothing, rest nothing",
                )
            )
    return wishes, faults


def _sort_one(record: WishRecord, sexes: Mapping[str, Sex | None], wishes: Wishes) -> str | None:
    """Put one wish where it belongs, or say what is wrong with it."""
    if not record.partner:
        return _of_one_bird(record, wishes)
    if record.partner not in sexes:
        return _of_a_pen(record, wishes)
    if record.wish in {"use", "rest"}:
        return f"{record.wish} is about one bird and takes no other"
    return _of_two_birds(record, sexes, wishes)


def _of_one_bird(record: WishRecord, wishes: Wishes) -> str | None:
    if record.wish == "use":
        wishes.use[record.bird] = _words(record)
    elif record.wish == "rest":
        wishes.rest[record.bird] = record.why
    else:
        return f"{record.wish} needs a partner"
    return None


def _of_a_pen(record: WishRecord, wishes: Wishes) -> str | None:
    if record.wish in {"allow", "rest"}:
        return f"{record.wish} is not about a pen"
    book = wishes.not_in_pen if record.wish == "apart" else wishes.in_pen
    book[record.bird, record.partner] = _words(record)
    return None


def _of_two_birds(
    record: WishRecord, sexes: Mapping[str, Sex | None], wishes: Wishes
) -> str | None:
    first, second = record.bird, record.partner
    kinds = (sexes.get(first), sexes.get(second))
    if None in kinds:
        return "the sex of one of the two is not known yet"
    if kinds == (Sex.HEN, Sex.HEN):
        return _of_two_hens(record, wishes)
    if kinds == (Sex.COCK, Sex.COCK):
        return "two cocks are never put in one pen"
    pair = (first, second) if kinds[0] is Sex.HEN else (second, first)
    book = {"together": wishes.together, "apart": wishes.apart, "allow": wishes.allow}[record.wish]
    book[pair] = _words(record) if record.wish == "together" else record.why
    return None


def _of_two_hens(record: WishRecord, wishes: Wishes) -> str | None:
    if record.wish == "allow":
        return "allow is for a hen and a cock, not for two hens"
    first, second = sorted((record.bird, record.partner))
    if first == second:
        return "a bird cannot be its own partner"
    book = wishes.hens_together if record.wish == "together" else wishes.hens_apart
    book[first, second] = _words(record)
    return None


def _words(record: WishRecord) -> str:
    partner = f" {record.partner}" if record.partner else ""
    return f"wish in row {record.row}: {record.bird} {record.wish}{partner}"
