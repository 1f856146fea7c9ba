"""What is said while a book is taken in: questions, doubts, words changed, and all that is left."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from matchmaker.errors import Fault
from matchmaker.intake.model import Left

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from matchmaker.intake.entry import Cell
    from matchmaker.intake.model import Question

YES: Final = "yes"
NO: Final = "no"
ANSWERS: Final = "intake.toml"
"""Where answers are remembered."""

OPEN: Final = "leave it out"
"""The answer that takes nothing: the cells stay in the list of what was not taken."""


@dataclass(slots=True, kw_only=True)
class Ledger:
    """The book of what happens to each cell; ``answers`` maps questions' keys to what was said."""

    answers: Mapping[str, str] = field(default_factory=dict)
    asked: dict[str, Question] = field(default_factory=dict)
    left: list[Left] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)
    counts: Counter[tuple[str, str, str, str]] = field(default_factory=Counter)
    otherwise: list[tuple[Cell, str]] = field(default_factory=list)
    places: dict[str, dict[str, None]] = field(default_factory=dict)
    listed: set[tuple[str, str, int, str, str]] = field(default_factory=set)

    def ask(self, question: Question) -> str | None:
        """Ask, and return the answer given before, else what is proposed (``None``: nothing is).

        An answer that is no choice is none. A key asked again adds its places.
        """
        self.asked.setdefault(question.key, question)
        self.places.setdefault(question.key, {}).update(dict.fromkeys(question.places))
        given = self.answers.get(question.key)
        if given is None or (question.choices and given not in question.choices):
            if given:
                self.unfit(question, given)
            return question.proposed
        return given

    def unfit(self, question: Question, given: str) -> None:
        """Say that an answer that was remembered cannot be meant."""
        fits = f"one of: {', '.join(question.choices)}" if question.choices else "another answer"
        doubt = Fault(
            kind="answer-not-known",
            file=ANSWERS,
            value=given,
            problem=f'"{given}" is no answer to: {question.text}',
            mend=f"write {fits}; or delete the line of {question.key} to be asked again",
        )
        if doubt not in self.doubts:
            self.doubts.append(doubt)

    def leave(self, cell: Cell, why: str) -> None:
        """Put a cell on the list of what no table took, once for the reason given first."""
        if _key(cell) in self.listed:
            return
        self.listed.add(_key(cell))
        self.left.append(
            Left(
                file=cell.file,
                sheet=cell.sheet,
                row=cell.row,
                column=cell.header,
                text=cell.text,
                why=why,
            )
        )

    def doubt(self, kind: str, cell: Cell, problem: str, mend: str) -> None:
        """Say what is doubtful about a cell, with its place in the keeper's own book."""
        self.doubts.append(
            Fault(
                kind=kind,
                file=cell.book,
                row=cell.row,
                column=cell.header or None,
                value=cell.text,
                problem=problem,
                mend=mend,
            )
        )

    def leave_in_doubt(self, kind: str, cell: Cell, problem: str, mend: str) -> None:
        """Leave a cell and say why it is doubtful."""
        self.leave(cell, problem)
        self.doubt(kind, cell, f"{problem}; it was not taken", mend)

    def change(self, table: str, column: str, cell: Cell, taken: str) -> None:
        """Note a cell that is read otherwise than it stands; what is left is on its own list."""
        if not taken and _key(cell) in self.listed:
            return
        if cell.text != taken:
            self.counts[table, column, cell.text, taken] += 1
            self.otherwise.append((cell, taken))

    @property
    def questions(self) -> tuple[Question, ...]:
        """All that was asked, in the order of asking."""
        return tuple(
            replace(question, places=tuple(self.places[key]))
            for key, question in self.asked.items()
        )

    @property
    def changed(self) -> tuple[tuple[str, str, str, str, int], ...]:
        """What was read otherwise: table, column, as written, as taken, how often."""
        return tuple((*key, count) for key, count in self.counts.items())


def _key(cell: Cell) -> tuple[str, str, int, str, str]:
    return (cell.file, cell.sheet, cell.row, cell.header, cell.text)


def places_of(cells: Iterable[Cell]) -> tuple[str, ...]:
    """Where cells stand, each once."""
    return tuple(dict.fromkeys(cell.place for cell in cells))
