"""``new FOLDER --from BOOK``: shown, asked, shown again, and written whole or not at all."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import typer

from matchmaker.checking import Depth, check
from matchmaker.cli.book_questions import answered, changed_columns, shall_write
from matchmaker.cli.interrupt import written_whole
from matchmaker.cli.questions import OWN_GENE, check_copies, named_locus, one_of
from matchmaker.cli.streams import note, print_document
from matchmaker.cli.writing import stamp_now
from matchmaker.errors import ExitCode, UsageError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.intake.remembered import FILE, Remembered
from matchmaker.intake.remembered_text import remembered_text
from matchmaker.report.documents import as_json
from matchmaker.report.intake import (
    book_document,
    print_changes,
    print_doubts,
    print_guesses,
    print_kept,
    print_proposal,
    print_questions,
)
from matchmaker.report.screen import console_for
from matchmaker.report.terminal import print_faults
from matchmaker.start import make_folder, refuse_filled
from matchmaker.tables.flock_folder import as_typed
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.write_together import write_together
from matchmaker.taking_in.again import changes, digests, inputs_of, refuse_workbooks, to_write
from matchmaker.taking_in.joining import Joined, joined
from matchmaker.taking_in.proposal import Proposal, propose
from matchmaker.taking_in.reading import (
    Books,
    changed_column,
    guesses_of,
    read_books,
    remembered_in,
    to_remember,
)
from matchmaker.taking_in.settings_proposed import Given

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from rich.console import Console

    from matchmaker.errors import Fault
    from matchmaker.intake.model import BlockGuess


@dataclass(frozen=True, slots=True, kw_only=True)
class FromBook:
    """What the command was given."""

    books: Sequence[Path]
    accept: bool
    again: bool
    json: bool
    answers: Mapping[str, object]


@dataclass(slots=True, kw_only=True)
class _Taking:
    """A book being taken in: what is known so far."""

    folder: Path
    asked: FromBook
    books: Books
    given: Given
    remembered: Remembered
    doubts: tuple[Fault, ...]
    guesses: tuple[BlockGuess, ...] = ()
    answers: dict[str, str] = field(default_factory=dict)

    @property
    def at_terminal(self) -> bool:
        """Whether somebody is there to be asked, and is to be."""
        return sys.stdin.isatty() and not self.asked.accept

    def proposal(self) -> Proposal:
        """The folder as it would be with the answers so far."""
        return propose(self.guesses, self.given, self.answers)


def run_new_from(folder: Path, asked: FromBook) -> None:
    """Take the books in.

    Raises
    ------
    UsageError
        If a book cannot be read or has no birds, nobody is there to answer, or something would be
        lost.
    InputError
        If a book, or what the folder remembers of it, cannot be read at all.
    WouldOverwriteError
        If the folder holds anything already, and it is not the book once more.
    """
    if not asked.again:
        refuse_filled(folder)
    taking = _taking(folder, asked)
    proposal = _settled(taking) if taking.at_terminal else taking.proposal()
    _refuse_birdless(taking, proposal)
    _refuse_missing(taking, proposal)
    outcome = _joined(taking, proposal)
    may_write = _shown(taking, proposal, outcome)
    if may_write:
        _write(taking, proposal, outcome)
    if asked.json:
        document = book_document(proposal, taking.books.inputs, written=may_write)
        print_document(as_json(document))
    if not may_write:
        if taking.at_terminal:
            note("Nothing was written.")
            return
        raise UsageError(
            "nothing was written, as nobody is there to answer: give --accept to take what is "
            "proposed, or the same command at a terminal to be asked"
        )
    _say_next(taking.folder, proposal, again=asked.again)


def _taking(folder: Path, asked: FromBook) -> _Taking:
    books = read_books(asked.books)
    remembered, doubts = remembered_in(folder, books) if asked.again else (Remembered(), ())
    given = _given_again(folder, asked) if asked.again else _given(asked.answers)
    return _Taking(
        folder=folder,
        asked=asked,
        books=books,
        given=given,
        remembered=remembered,
        doubts=(*books.doubts, *doubts),
        guesses=guesses_of(books, remembered),
        answers=dict(remembered.answers),
    )


def _given(answers: Mapping[str, object]) -> Given:
    trait, copies, lines = str(answers["trait"]), answers["copies"], str(answers["lines"])
    locus = named_locus(trait).symbol if trait else ""
    if isinstance(copies, int) and copies not in range(3):
        raise UsageError(f"copies are 0, 1 or 2, not {copies}")
    return Given(
        breed=str(answers["breed"]),
        locus=locus,
        copies=copies if isinstance(copies, int) else None,
        lines=tuple(dict.fromkeys(name.strip() for name in lines.split(",") if name.strip())),
        dates=one_of(str(answers["dates"])) if answers["dates"] else "",
    )


def _given_again(folder: Path, asked: FromBook) -> Given:
    """The flock's own settings hold by now; only how dates are read may still be given."""
    useless = [f"--{name}" for name in ("breed", "trait", "lines") if asked.answers[name]]
    useless += ["--copies"] if asked.answers["copies"] is not None else []
    if useless:
        raise UsageError(
            f"--again takes no {' or '.join(useless)} beside it: {SETTINGS_FILE} has them by now"
        )
    try:
        text = (folder / SETTINGS_FILE).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise UsageError(f"{folder / SETTINGS_FILE} cannot be read: {error}") from error
    dates = str(asked.answers["dates"])
    return Given(dates=one_of(dates) if dates else "", settings=text)


def _settled(taking: _Taking) -> Proposal:
    """What comes out when the keeper has looked at the columns and answered every question."""
    console = console_for(sys.stderr)
    print_doubts(console, taking.doubts)
    print_guesses(console, taking.guesses)
    for block, at, target in changed_columns(taking.guesses):
        taking.guesses = changed_column(taking.guesses, block, at, target)
    while True:
        proposal = taking.proposal()
        _refuse_birdless(taking, proposal)
        still = [one for one in proposal.questions if one.key not in taking.answers]
        if not still:
            return proposal
        for number, question in enumerate(still, start=1):
            taking.answers[question.key] = answered(question, f"{number} of {len(still)}")


def _refuse_missing(taking: _Taking, proposal: Proposal) -> None:
    missing = proposal.settled.missing
    if not missing:
        return
    if not taking.asked.json:
        print_guesses(console_for(), proposal.guesses)
        print_questions(console_for(), proposal.questions)
    raise UsageError(
        "the book does not say enough: give "
        + " and ".join(f"{option} ({_MISSING[option]})" for option in missing)
    )


_MISSING: Final = {
    "--breed": "the breed the flock shall be in the end, for example --breed sussex",
    "--trait": f"the gene you bring in, for example --trait 'blue eggs'; {OWN_GENE}",
}


def _refuse_birdless(taking: _Taking, proposal: Proposal) -> None:
    """Refuse a book in which no bird was found, before anything is asked of it."""
    if proposal.taken.tables.get("birds"):
        return
    if not (taking.asked.json or taking.at_terminal):
        print_guesses(console_for(), proposal.guesses)
    names = ", ".join(path.name for path in taking.asked.books)
    raise UsageError(
        f"no list of birds was found in {names}, and nothing was written. Write each bird in a row "
        "of its own, each thing that is said of it in a column of its own, and above them a row "
        "of headings (band, sex, hatched, father, mother, breed); then give the same command again"
    )


def _joined(taking: _Taking, proposal: Proposal) -> Joined:
    """The files to be written: those of the book, with what the folder has beside it."""
    if not taking.asked.again:
        return Joined(files=proposal.files)
    refuse_workbooks(taking.folder)
    return joined(taking.folder, proposal.files, taking.remembered.written)


def _shown(taking: _Taking, proposal: Proposal, outcome: Joined) -> bool:
    """Show what would be written; whether it may be."""
    if taking.at_terminal:
        console = console_for(sys.stderr)
        _show_outcome(taking, proposal, outcome, console)
        return shall_write()
    if not taking.asked.json:
        console = console_for()
        print_doubts(console, taking.doubts)
        print_guesses(console, proposal.guesses)
        open_now = [one for one in proposal.questions if one.key not in taking.answers]
        print_questions(console, open_now)
        _show_outcome(taking, proposal, outcome, console)
    return taking.asked.accept


def _show_outcome(taking: _Taking, proposal: Proposal, outcome: Joined, console: Console) -> None:
    print_proposal(console, proposal)
    if taking.asked.again:
        print_kept(console, outcome.kept)
        print_changes(console, changes(taking.folder, outcome.files))


def _write(taking: _Taking, proposal: Proposal, outcome: Joined) -> None:
    """Write the folder, or what of it is new; all of it or nothing."""
    answers = {
        one.key: answer
        for one in proposal.questions
        if (answer := taking.answers.get(one.key, one.proposed)) is not None
    }
    kept = to_remember(proposal.guesses, {**taking.answers, **answers}, digests(proposal.files))
    files = {**outcome.files, FILE: remembered_text(kept)}
    if taking.asked.again:
        files = to_write(taking.folder, files)
    settled = proposal.settled.answers
    if settled is not None and not taking.asked.again:
        check_copies(settled.copies, catalogue()[settled.locus])
    make_folder(taking.folder)
    targets = [(taking.folder / name, text) for name, text in files.items()]
    inputs = inputs_of(taking.folder, files)
    with written_whole():
        done = write_together(targets, inputs, stamp=stamp_now(), told="new --from")
    for one in done:
        kept_as = f" The file before is kept in {one.copy.name}." if one.copy else ""
        note(f"Wrote {one.path}.{kept_as}")
    if taking.asked.again and done:
        note(f"To take it back: matchmaker check --undo --in {as_typed(taking.folder)}")


def _say_next(folder: Path, proposal: Proposal, *, again: bool) -> None:
    """What the checks say of the folder as it now is, and what to do."""
    found = check(folder, Depth.QUICK) if again or proposal.found is None else proposal.found
    print_faults(console_for(sys.stderr), found.faults, "fault", "must be mended")
    if found.doubts:
        note(f"Doubts: {len(found.doubts)}. To see them: matchmaker check --in {as_typed(folder)}")
    if found.faults:
        note(f"Next: mend these, then: matchmaker check --in {as_typed(folder)}")
        raise typer.Exit(ExitCode.FAULTS)
    note(f"Next: matchmaker plan --in {as_typed(folder)}")
