"""``intake.toml`` read and written: what was decided about a book, in words a keeper can change."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.intake.remembered import ASIDE, FILE, Remembered, RememberedSheet
from matchmaker.tables.columns import TABLES
from matchmaker.tables.nearness import close_matches, one_apart
from matchmaker.tables.toml_lines import key_lines
from matchmaker.tables.toml_names import section, toml_key, toml_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from matchmaker.intake.remembered import SheetKey
    from matchmaker.tables.findings import Findings

_PARTS: Final = frozenset({"books", "answers", "written"})
_SHEET_PARTS: Final = frozenset({"table", "columns"})

_HEAD: Final = """\
# What was decided about your book, so that you are asked only once.
# You may change it: what stands behind a column is the table and the column that it goes to,
# or "aside" for a column that no table takes. Delete a line to be asked again.
# Give the book again with: matchmaker new FOLDER --from BOOK --again
"""
_ANSWERS: Final = """
# Your answers to what the book leaves open. Delete a line to be asked again.
"""


def meant_column(text: str) -> tuple[str, str] | None:
    """Return the table and column that an entry names, two "" for aside, ``None`` for neither.

    A locus of the birds and a trait of the scores may have any name but that of a declared column
    with a slip in it.

    Examples
    --------
    >>> meant_column("birds.lav"), meant_column("aside"), meant_column("birds.hathced")
    (('birds', 'lav'), ('', ''), None)
    """
    if text == ASIDE:
        return ("", "")
    table, _, column = text.partition(".")
    if table not in TABLES or not column:
        return None
    declared = {each.name for each in TABLES[table].columns} | {"notes"}
    if column in declared:
        return (table, column)
    mistyped = any(one_apart(column, name) for name in declared)
    return None if mistyped or table not in {"birds", "scores"} else (table, column)


def read_remembered(text: str, findings: Findings) -> Remembered:
    """Return what ``intake.toml`` holds; entries that are not understood are faults, and left."""
    try:
        entries = tomllib.loads(text)
        return _Reader(key_lines(text), findings).read(entries)
    except (ValueError, RecursionError) as error:
        findings.faults.append(_broken(error))
        return Remembered()


def _broken(error: Exception) -> Fault:
    return Fault(
        kind="bad-toml",
        file=FILE,
        problem=f"the file cannot be read: {error}",
        mend="mend the line it names, or delete the file and take the book in anew",
    )


class _Reader:
    """Reads the entries one by one, so that a broken one spoils no other."""

    def __init__(self, lines: Mapping[str, int], findings: Findings) -> None:
        self.lines = lines
        self.findings = findings

    def read(self, entries: Mapping[str, object]) -> Remembered:
        """Return all that is understood."""
        self._refuse_unknown(entries, _PARTS)
        return Remembered(
            sheets=dict(self._sheets(entries.get("books", {}))),
            answers=self._texts(entries.get("answers", {}), "answers"),
            written=self._texts(entries.get("written", {}), "written"),
        )

    def _refuse_unknown(
        self, entries: Mapping[str, object], known: frozenset[str], where: str = ""
    ) -> None:
        for name in entries:
            if name not in known:
                self._refuse(f"{where}{name}", name, "nothing of this name is known", known)

    def _sheets(self, books: object) -> Iterator[tuple[SheetKey, RememberedSheet]]:
        for stem, sheets in self._part(books, "books").items():
            for sheet, part in self._part(sheets, f"books.{stem}").items():
                where = f"books.{stem}.{sheet}"
                yield (stem, sheet), self._sheet(self._part(part, where), where)

    def _sheet(self, part: Mapping[str, object], where: str) -> RememberedSheet:
        self._refuse_unknown(part, _SHEET_PARTS, f"{where}.")
        return RememberedSheet(
            table=self._table(part.get("table"), f"{where}.table"),
            columns=dict(self._columns(part.get("columns", {}), f"{where}.columns")),
        )

    def _table(self, table: object, where: str) -> str | None:
        if table is None or table == ASIDE:
            return None if table is None else ""
        if isinstance(table, str) and table in TABLES:
            return table
        self._refuse(where, str(table), "there is no such table", {*TABLES, ASIDE})
        return None

    def _columns(self, part: object, where: str) -> Iterator[tuple[str, str]]:
        for header, meant in self._texts(part, where).items():
            if meant_column(meant) is not None:
                yield header, meant
            else:
                known = {f"{t}.{c.name}" for t, table in TABLES.items() for c in table.columns}
                problem = "there is no such column of a table"
                self._refuse(f"{where}.{header}", meant, problem, {*known, ASIDE})

    def _texts(self, part: object, where: str) -> dict[str, str]:
        found = {}
        for name, text in self._part(part, where).items():
            if isinstance(text, str):
                found[name] = text
            else:
                problem = "a text in quotation marks is wanted here"
                self._refuse(f"{where}.{name}", str(text), problem)
        return found

    def _part(self, part: object, where: str) -> Mapping[str, object]:
        if isinstance(part, dict):
            return part
        self._refuse(where, str(part), "this must be a part of its own, not one value")
        return {}

    def _refuse(
        self, where: str, value: str, problem: str, known: set[str] | frozenset[str] = frozenset()
    ) -> None:
        near = close_matches(value, sorted(known))
        listed = " or ".join(sorted(known)) if 0 < len(known) < 12 else ""
        hint = f"did you mean {near[0]}? " if near else f"write {listed}; " if listed else ""
        self.findings.faults.append(
            Fault(
                kind="bad-intake-entry",
                file=FILE,
                row=self.lines.get(where),
                column=where,
                value=value[:80],
                problem=problem,
                mend=f"{hint}or delete the line to be asked again",
            )
        )


def remembered_text(remembered: Remembered) -> str:
    r"""Return ``intake.toml`` for what was decided.

    Examples
    --------
    >>> sheet = RememberedSheet(table="birds", columns={"Ring no.": "birds.bird"})
    >>> print(remembered_text(Remembered(sheets={("marsh", "Flock"): sheet})).split("\n\n")[1])
    [books.marsh.Flock]
    table = "birds"
    """
    parts = [_HEAD]
    for (stem, sheet), kept in remembered.sheets.items():
        parts.append("\n" + "".join(_sheet_lines(("books", stem, sheet), kept)))
    if remembered.answers:
        parts.append(_ANSWERS + _section(("answers",), remembered.answers))
    if remembered.written:
        parts.append("\n" + _section(("written",), remembered.written))
    return "".join(parts)


def _sheet_lines(names: tuple[str, ...], kept: RememberedSheet) -> Iterator[str]:
    yield f"{section(*names)}\n"
    if kept.table is not None:
        yield f"table = {toml_text(kept.table or ASIDE)}\n"
    if kept.columns:
        yield "\n" + _section((*names, "columns"), kept.columns)


def _section(names: tuple[str, ...], texts: Mapping[str, str]) -> str:
    lines = (f"{toml_key(name)} = {toml_text(text)}\n" for name, text in texts.items())
    return f"{section(*names)}\n" + "".join(lines)
