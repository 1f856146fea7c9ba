"""From what each column is taken for to the rows of our tables, every doubt named, no cell lost."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from matchmaker.intake.bands import drop_doubles, drop_row, take_birds
from matchmaker.intake.breeds import pure_breeds, take_breeds
from matchmaker.intake.days import take_days
from matchmaker.intake.entry import column_of
from matchmaker.intake.fixed_words import take_loci, take_the_rest, take_words
from matchmaker.intake.gather import NOTES, entries_of
from matchmaker.intake.ledger import Ledger
from matchmaker.intake.model import Taken
from matchmaker.intake.names import take_names
from matchmaker.intake.parents import take_parents
from matchmaker.intake.pen_log import pen_log
from matchmaker.intake.pens import drop_said_stays, take_pens
from matchmaker.intake.references import Finder, take_ranges, take_references
from matchmaker.intake.roles import take_roles
from matchmaker.intake.units import take_numbers
from matchmaker.tables.columns import TABLES

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from matchmaker.intake.entry import Cell, Entry
    from matchmaker.intake.model import BlockGuess


def _any_look(_symbol: str, _text: str) -> bool:
    return True


def _no_words(_symbol: str) -> Sequence[str]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CellHints:
    """What is known beside the book of how its cells are to be read.

    ``dates`` is the order of day and month the keeper gave, ``recurrent`` the breed; "" where they
    are to be found out. ``reads_look`` says whether a word tells what a locus shows, ``look_words``
    which words do.
    """

    dates: str = ""
    recurrent: str = ""
    reads_look: Callable[[str, str], bool] = _any_look
    look_words: Callable[[str], Sequence[str]] = _no_words


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What the book shows of the flock as a whole: for the settings."""

    pure: Mapping[str, int] = field(default_factory=dict)
    loci: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    units: Mapping[str, str] = field(default_factory=dict)
    traits: tuple[str, ...] = ()


def take(
    guesses: Sequence[BlockGuess], answers: Mapping[str, str], hints: CellHints | None = None
) -> tuple[Taken, Facts]:
    """Return the rows each table would get and what the book shows of the flock.

    ``answers`` maps the keys of questions to what the keeper said; what is not answered is taken
    as proposed, or left.
    """
    hints = hints or CellHints()
    ledger = Ledger(answers=answers)
    entries = drop_doubles(entries_of(guesses, ledger), ledger)
    take_words(entries, ledger)
    take_days(entries, hints.dates, ledger)
    units = take_numbers(entries, ledger)
    take_names(entries, ledger)
    loci = take_loci(entries, (hints.reads_look, hints.look_words), ledger)
    pure = pure_breeds(entries)
    take_breeds(entries, hints.recurrent or _most(pure), ledger)
    take_the_rest(entries, ledger)
    entries, bands = take_birds(entries, ledger)
    take_roles(entries, bands, ledger)
    finder = Finder(bands=bands, ledger=ledger)
    take_references(entries, finder)
    take_ranges(entries, finder)
    entries = [entry for entry in entries if not entry.dropped]
    take_parents(entries, pen_log(entries), finder)
    drop_said_stays(entries, ledger)
    entries = [entry for entry in entries if not entry.dropped]
    entries = _with_needed(take_pens(entries, ledger), ledger)
    facts = Facts(
        pure=pure,
        loci=tuple(loci),
        lines=tuple(dict.fromkeys(filter(None, (_line(one) for one in entries)))),
        units=units,
        traits=tuple(_traits(entries)),
    )
    return _taken(entries, ledger), facts


def _most(pure: Mapping[str, int]) -> str:
    return max(pure, key=lambda breed: pure[breed], default="")


def _line(entry: Entry) -> str:
    return entry.values.get("line", "") if entry.table == "birds" else ""


def _traits(entries: Sequence[Entry]) -> list[str]:
    names = dict.fromkeys(
        name for entry in entries if entry.table == "scores" for name in entry.values
    )
    return [name for name in names if column_of("scores", name) is None]


def _with_needed(entries: Sequence[Entry], ledger: Ledger) -> list[Entry]:
    """The rows that have what their table cannot be without; the others are left, and said."""
    kept = []
    for entry in entries:
        missing = [
            column.name
            for column in TABLES[entry.table].columns
            if column.required and not entry.values.get(column.name)
        ]
        if not missing and _says_something(entry):
            kept.append(entry)
            continue
        why = (
            f"the row does not say {' and '.join(_named(missing, entry))}"
            if missing
            else "the row says nothing"
        )
        if not entry.cells:
            continue  # a row that was made up from other rows, which are kept
        drop_row(entry, why, ledger)
        if missing:
            mend = "write it in the book, and take the book in again with --again"
            ledger.doubt("row-not-taken", entry.own(""), f"{why}, so it was not taken", mend)
    return kept


def _named(missing: Sequence[str], entry: Entry) -> list[str]:
    """The columns that are missing, with what they say."""
    return [f"{name} ({TABLES[entry.table].column(name).meaning})" for name in missing]


_BARE: Final = frozenset({"bird"})


def _says_something(entry: Entry) -> bool:
    """Whether a row says more than whom it is about; a bird alone is something."""
    said = {name for name, value in entry.values.items() if value}
    return entry.table == "birds" or bool(said - _BARE)


def _taken(entries: Sequence[Entry], ledger: Ledger) -> Taken:
    tables: dict[str, list[Mapping[str, str]]] = {}
    sources: dict[tuple[str, int], tuple[str, str, int]] = {}
    cells: dict[tuple[str, int, str], Cell] = {}
    for entry in entries:
        rows = tables.setdefault(entry.table, [])
        sources[entry.table, len(rows)] = (entry.file, entry.sheet, entry.row)
        cells |= {(entry.table, len(rows), name): cell for name, cell in entry.cells.items()}
        notes = {NOTES: "; ".join(dict.fromkeys(entry.notes))} if entry.notes else {}
        rows.append({**{name: text for name, text in entry.values.items() if text}, **notes})
    return Taken(
        tables={table: tuple(rows) for table, rows in tables.items()},
        sources=sources,
        questions=ledger.questions,
        left=tuple(ledger.left),
        doubts=tuple(ledger.doubts),
        changed=ledger.changed,
        otherwise=tuple(ledger.otherwise),
        cells=cells,
    )
