"""The sex that is written against the sex that a bird's chicks and eggs give it."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.intake.entry import with_column
from matchmaker.intake.model import Question

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matchmaker.intake.bands import Bands
    from matchmaker.intake.entry import Cell, Entry
    from matchmaker.intake.ledger import Ledger

_ROLES: Final = (
    *(("birds", "sire", "cock"), ("birds", "dam", "hen")),
    *((table, sex, sex) for table in ("eggs", "seen", "plan") for sex in ("cock", "hen")),
)

ENOUGH: Final = 2
"""Rows that must speak for the other sex, and none for the one written, to propose it."""


def take_roles(entries: Sequence[Entry], bands: Bands, ledger: Ledger) -> None:
    """Ask for the sex of each bird that is written as cock and named as a mother, or the reverse.

    One slip of a band is likelier than one of a sex, so the sex is proposed to be changed only
    where several rows speak for it; otherwise the row that names the bird is doubted later.
    """
    for band, named in _named(entries).items():
        bird = bands.birds.get(band)
        written = bird.values.get("sex", "") if bird else ""
        for other in named:
            if bird is not None and written and other != written:
                _ask(bird, written, named, ledger)
                break


def _named(entries: Sequence[Entry]) -> Mapping[str, Mapping[str, list[Cell]]]:
    """The cells that name each band as a cock or as a hen."""
    named: dict[str, dict[str, list[Cell]]] = defaultdict(lambda: defaultdict(list))
    for table, column, sex in _ROLES:
        for _, cell in with_column(entries, table, column):
            named[" ".join(cell.text.split())][sex].append(cell)
    return named


def _ask(bird: Entry, written: str, named: Mapping[str, Sequence[Cell]], ledger: Ledger) -> None:
    other = "hen" if written == "cock" else "cock"
    rows = Counter({sex: len(cells) for sex, cells in named.items()})
    if rows[other] < ENOUGH or rows[written]:
        return
    band = bird.values["bird"]
    sex = ledger.ask(
        Question(
            key=f"sex:{band}",
            text=f"{band} is written as a {written}, but {rows[other]} rows name it as a {other}. "
            "Which is it?",
            choices=(other, written),
            proposed=other,
            places=(bird.place, *(cell.place for cell in named[other])),
        )
    )
    if sex == other:
        bird.values["sex"] = other
        cell = bird.cells.get("sex") or bird.own(written)
        ledger.change("birds", "sex", cell, other)
        ledger.doubt(
            "sex-by-role",
            cell,
            f"{band} was taken as a {other}: {rows[other]} rows name it as one",
            "look at the bird, and mend the sex or those rows",
        )
