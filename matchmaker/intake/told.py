"""A guess in words: what speaks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from matchmaker.intake.model import ColumnGuess

if TYPE_CHECKING:
    from matchmaker.intake.assign import Assigned
    from matchmaker.intake.claims import Claim
    from matchmaker.intake.model import Block
    from matchmaker.intake.profile import Profile

DECIDED: Final = "decided before, see intake.toml"
"""Why a sheet or a column is what it is remembered to be; the keeper or a proposal said so."""


def why_table(block: Block, table: str, *, voted: bool) -> str:
    """Return what speaks for a table."""
    by_columns = f"its columns are those of {table}"
    if not block.header_row:
        return "no row names the columns; what stands in them looks like " + table
    return f"the name of the sheet says so, and {by_columns}" if voted else by_columns


def column_guess(profile: Profile, assigned: Assigned, kept: tuple[str, str] | None) -> ColumnGuess:
    """Return the guess for a column in its final form."""
    if kept is not None:
        table, column = kept
        return ColumnGuess(
            at=profile.at,
            header=profile.header,
            table=table,
            column=column,
            why=DECIDED,
            sure=True,
        )
    claim = assigned.claim
    if claim is None:
        return ColumnGuess(
            at=profile.at,
            header=profile.header,
            why=_why_aside(profile, assigned),
            sure=assigned.sure,
            others=tuple(other.target for other in assigned.others),
        )
    return ColumnGuess(
        at=profile.at,
        header=profile.header,
        table=claim.table,
        column=claim.column,
        why=_why(profile, claim),
        sure=assigned.sure,
        others=() if assigned.sure else tuple(other.target for other in assigned.others),
    )


def _why_aside(profile: Profile, assigned: Assigned) -> str:
    if assigned.rival is not None:
        table, column = assigned.rival
        return f"another column is taken for {column} of {table} already"
    if not profile.filled:
        return "nothing is written in it"
    if assigned.others:
        return "the header does not say what it is, and its cells alone do not settle it"
    return "no table has a column like it"


def _why(profile: Profile, claim: Claim) -> str:
    if claim.column == "notes":
        return "remarks" if claim.header else "its cells read like remarks"
    suit = round(claim.share * profile.filled)
    cells = f"{suit} of {profile.filled} filled cells suit"
    if not profile.filled:
        return "the header says so; no cell is filled"
    if not claim.header:
        return f"the header does not say so, but {cells}"
    return f"the header says so, and {cells}" if claim.agreed else f"the header may say so; {cells}"
