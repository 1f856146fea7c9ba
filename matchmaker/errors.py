"""The errors a user can meet, each carrying its facts; their words are made in ``report``."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """What the command line tells the shell."""

    DONE = 0
    BUG = 1
    USAGE = 2
    FAULTS = 3
    NO_PLAN = 4
    STOPPED = 5
    WOULD_OVERWRITE = 6
    INTERRUPTED = 130
    NO_READER = 141


@dataclass(frozen=True, slots=True, kw_only=True)
class CellMend:
    """One cell as it is and as it would be mended; ``column`` is the table's declared name.

    ``becomes`` is ``None`` where the whole row is to go; ``column`` is then "".
    """

    table: str
    row: int
    column: str
    was: str
    becomes: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong (or doubtful) in the tables, where it stands and how to mend it.

    ``row`` is the row the spreadsheet shows (header = 1) and ``column`` the header as the keeper
    wrote it; either is ``None`` where the fault belongs to the whole file. ``mends`` are the cells
    that the proposed mend would write, where it can be told; ``safe`` says that they only write
    down what the tables already prove, so that no look at the bird is needed. ``birds`` are the
    bands that the finding is about, where they are not those of its own row.
    """

    kind: str
    file: str
    row: int | None = None
    column: str | None = None
    value: str = ""
    problem: str
    mend: str
    mends: tuple[CellMend, ...] = ()
    safe: bool = False
    birds: tuple[str, ...] = ()

    @property
    def order(self) -> tuple[str, int, str, str, str]:
        """Sort key: by file, then row, then column."""
        return (self.file, self.row or 0, self.column or "", self.kind, self.value)


class MatchmakerError(Exception):
    """Base of everything the tool refuses; ``exit_code`` is what a shell sees."""

    exit_code = ExitCode.BUG


class InputError(MatchmakerError):
    """The tables hold faults that must be mended first; ``faults`` lists every one of them."""

    exit_code = ExitCode.FAULTS

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__(f"{len(faults)} faults in the tables")


class UsageError(MatchmakerError):
    """The command was asked for something it cannot do (an unknown band, a missing folder)."""

    exit_code = ExitCode.USAGE


class NoPlanError(MatchmakerError):
    """No plan satisfies the rules; ``conflict`` names the requirements that clash.

    ``told`` says that the user has been told why already, with the ways out.
    """

    exit_code = ExitCode.NO_PLAN

    def __init__(self, conflict: tuple[str, ...]) -> None:
        self.conflict = conflict
        self.told = False
        super().__init__("no plan satisfies: " + "; ".join(conflict))


class SolverStoppedError(MatchmakerError):
    """The solver ended without a plan and without a proof that none exists."""

    exit_code = ExitCode.STOPPED


class WouldOverwriteError(MatchmakerError):
    """Writing would replace something the user did not ask to replace."""

    exit_code = ExitCode.WOULD_OVERWRITE


class AnswerLostError(MatchmakerError):
    """The answer could not be written out: a full disk, or nobody reads it any more.

    ``no_reader`` says that whoever read it has seen enough (``| head``); of that nothing is told.
    """

    def __init__(self, reason: OSError) -> None:
        self.no_reader = isinstance(reason, BrokenPipeError)
        self.exit_code = ExitCode.NO_READER if self.no_reader else ExitCode.STOPPED
        super().__init__(f"the answer cannot be written out: {reason.strerror or reason}")
