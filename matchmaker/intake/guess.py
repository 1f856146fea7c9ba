"""What each table of a keeper's book is, and what each of its columns."""

from __future__ import annotations

from dataclasses import replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from matchmaker.intake.assign import Assigned, assign, is_trait
from matchmaker.intake.claims import claims
from matchmaker.intake.header_words import sheet_votes
from matchmaker.intake.learned import learn, repeated_share
from matchmaker.intake.model import BlockGuess
from matchmaker.intake.profile import Known, base, profiles
from matchmaker.intake.remembered import Remembered, RememberedSheet, block_keys, column_keys
from matchmaker.intake.remembered_text import meant_column
from matchmaker.intake.said import said_by
from matchmaker.intake.sections import heading_of
from matchmaker.intake.told import DECIDED, column_guess, why_table
from matchmaker.tables.columns import TABLES

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from matchmaker.intake.model import Block, ColumnGuess

ESSENTIAL: Final[Mapping[str, tuple[str, ...]]] = {
    "birds": ("bird",),
    "seen": ("locus", "what"),
    "scores": ("bird",),
    "pens": ("pen",),
    "moves": ("bird", "pen"),
    "eggs": ("eggs",),
    "wishes": ("bird", "wish"),
    "plan": ("pen", "cock", "hen"),
}
"""Columns without which a block can hardly be this table."""

CLEAR: Final = 0.6
"""A table is taken surely if it scores so much more than the next."""

LEAST: Final = 1.0
"""A block that no table scores so much for is kept aside."""

_NOTHING: Final = Remembered()


def guess(
    blocks: Sequence[Block],
    known_loci: Mapping[str, tuple[str, ...]],
    remembered: Remembered = _NOTHING,
) -> tuple[BlockGuess, ...]:
    """Return what each block and each of its columns is taken for.

    ``known_loci`` maps the symbols of loci to their name and the words for their classes. What is
    remembered goes before every guess. Looked at twice: what the first look finds of bands and
    pens helps the second.
    """
    views = _views(blocks, remembered)
    words = frozenset(base(word) for ws in known_loci.values() for word in ws)
    known = Known(loci=known_loci, words=words)
    first = {view: view.guessed(known) for view in dict.fromkeys(views)}
    known = learn(
        [_of(block, first[view]) for block, view in zip(blocks, views, strict=True)], known
    )
    shares = dict(zip(first, repeated_share(list(first.values())), strict=True))
    second = {view: view.guessed(known, shares[view]) for view in first}
    return tuple(_of(block, second[view]) for block, view in zip(blocks, views, strict=True))


def _views(blocks: Sequence[Block], remembered: Remembered) -> list[_View]:
    """Return how each block is looked at; parts of one table together, if remembered alike."""
    made: list[tuple[Sequence[object], RememberedSheet, _View]] = []
    found = []
    for block, key in zip(blocks, block_keys(blocks), strict=True):
        kept = remembered.sheets.get(key, RememberedSheet())
        table = _table_of(block)
        view = next((v for t, k, v in made[-1:] if t == table and k == kept), None)
        if view is None:
            parts = [one for one in blocks if one is block or (table and _table_of(one) == table)]
            rows = tuple(row for part in parts for row in part.rows)
            view = _View(replace(block, rows=rows), kept)
            made.append((table, kept, view))
        found.append(view)
    return found


def _table_of(block: Block) -> tuple[object, ...]:
    """Where the header of a block stands, which is the same for all parts of a table."""
    if not block.header_row:
        return ()
    return (block.file, block.sheet, block.header_row, block.first_column)


def _of(block: Block, guessed: BlockGuess) -> BlockGuess:
    """Return the guess for one part of a table."""
    targets = {(column.table, column.column) for column in guessed.columns}
    return replace(guessed, block=block, said=_said(block, guessed.table, targets))


def _said(
    block: Block, table: str, targets: Collection[tuple[str, str]]
) -> tuple[tuple[str, str, str], ...]:
    """Return what the heading above a block and the name of its sheet say of its rows."""
    by_heading = said_by(heading_of(block), table, targets)
    known = {*targets, *((owner, column) for owner, column, _ in by_heading)}
    return (*by_heading, *said_by(block.sheet or PurePath(block.file).stem, table, known))


class _View:
    """One block with the profiles of its columns and what is remembered of it."""

    def __init__(self, block: Block, kept: RememberedSheet) -> None:
        self.block = block
        self.kept = kept
        self.profiles = profiles(block)
        self.names = column_keys(block)

    def guessed(self, known: Known, repeats: float = 0.0) -> BlockGuess:
        """Return what the block is taken for; ``repeats`` is the share of birds told elsewhere."""
        if not self.block.headers:
            why = "no table was found here"
            return BlockGuess(block=self.block, table="", why=why, sure=True, columns=())
        if self.kept.table:
            return self._as(self.kept.table, known, DECIDED, sure=True)
        scored = sorted(
            ((self._score(table, known, repeats), table) for table in TABLES),
            key=lambda pair: -pair[0],
        )
        (best, table), (second, _) = scored[0], scored[1]
        if best < LEAST:
            why = "its columns fit no table"
            return self._as("", known, why, sure=self.kept.table is not None)
        if self.kept.table is not None:
            return self._as("", known, DECIDED, sure=True)
        voted = sheet_votes(self.block.sheet, PurePath(self.block.file).stem).get(table, 0.0) >= 1
        sure = best - second >= (CLEAR / 2 if voted else CLEAR) and self.block.header_row > 0
        return self._as(table, known, why_table(self.block, table, voted=voted), sure=sure)

    def _score(self, table: str, known: Known, repeats: float) -> float:
        """Return how much speaks for a table: its columns, the names, what would be missing."""
        assigned = self._assigned(table, known)
        got = [one.claim for one in assigned if one.claim is not None]
        own = sum(c.score for c in got if c.table == table and c.column != "notes")
        own -= 0.5 * sum(c.score for c in got if table == "scores" and is_trait(c))
        foreign = sum(c.score for c in got if c.table != table)
        votes = sheet_votes(self.block.sheet, PurePath(self.block.file).stem)
        targets = {c.target for c in got}
        said = {(owner, name) for owner, name, _ in _said(self.block, table, targets)}
        missing = _missing(table, targets | said, any_trait=any(map(is_trait, got)))
        twice = 2.0 * repeats if table == "birds" else 0.0
        return own + 0.4 * foreign + 1.2 * votes.get(table, 0.0) - 1.5 * missing - twice

    def _assigned(self, table: str, known: Known) -> tuple[Assigned, ...]:
        """Return what each column gets in this table, those remembered left out."""
        kept = self._kept()
        taken = frozenset(kept.values()) - {("", "")}
        open_claims = [
            () if profile.at in kept else claims(profile, table, known) for profile in self.profiles
        ]
        return assign(open_claims, taken)

    def _kept(self) -> Mapping[int, tuple[str, str]]:
        found = {at: self.kept.columns.get(name) for at, name in enumerate(self.names)}
        meant = {at: meant_column(text) for at, text in found.items() if text is not None}
        return {at: target for at, target in meant.items() if target is not None}

    def _as(self, table: str, known: Known, why: str, *, sure: bool) -> BlockGuess:
        columns = self._columns(table, known)
        targets = {(column.table, column.column) for column in columns}
        return BlockGuess(
            block=self.block,
            table=table,
            why=why,
            sure=sure,
            columns=columns,
            said=_said(self.block, table, targets),
        )

    def _columns(self, table: str, known: Known) -> tuple[ColumnGuess, ...]:
        if not table:
            none = tuple(Assigned(claim=None, sure=True) for _ in self.profiles)
            assigned = none
        else:
            assigned = self._assigned(table, known)
        kept = self._kept()
        return tuple(
            column_guess(profile, one, kept.get(profile.at))
            for profile, one in zip(self.profiles, assigned, strict=True)
        )


def _missing(table: str, targets: set[tuple[str, str]], *, any_trait: bool) -> int:
    """Return how many columns are missing that the table can hardly do without."""
    missing = sum((table, name) not in targets for name in ESSENTIAL[table])
    return missing + (table == "scores" and not any_trait)
