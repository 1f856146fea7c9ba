"""Ten bad habits of users, each as real commands: ``python -m tests.cli.habits`` prints them.

What is printed is what the installed command says, in the folder of the habit; the test beside
holds each to what a user must be told, and to what must not happen.
"""

from __future__ import annotations

import ctypes
import os
import pty
import shlex
import shutil
import signal
import subprocess
import sys
import tempfile
import termios
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.cli.run import EXAMPLES_FOLDER, LIMIT, MATCHMAKER, environment, example
from tests.conftest import CHILDREN

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

HEAD: Final = 9
TAIL: Final = 4
"""So many lines of the beginning and of the end of each answer are shown."""

READ_PAST_MODES: Final = (1, 2)
"""Capabilities by which the administrator reads and writes whatever modes forbid (Linux)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """One command of a habit: how it is run beside the usual, and what must be told.

    ``says`` must stand in what is printed, ``never`` must not. ``after`` seconds the process is
    killed; ``columns`` gives it a terminal of that width.
    """

    words: str
    says: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    code: int = 0
    more: tuple[tuple[str, str], ...] = ()
    after: float | None = None
    columns: int | None = None
    bound: bool = False


def _nothing(_folder: Path) -> None:
    """The folder as it is: with nothing in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Habit:
    """A bad habit, the folder it is lived out in, and the commands that are typed there."""

    name: str
    tries: tuple[Try, ...]
    prepare: Callable[[Path], object] = _nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What one command printed, standard output and errors as they came, and its exit code."""

    text: str
    code: int


def _two_flocks(folder: Path) -> None:
    """Two flocks in one folder's folder, and three ways of mixing their tables."""
    for name in ("holm-fen", "tarn-croft"):
        example(name, folder / name)
    mixed = example("holm-fen", folder / "wrong-birds")
    shutil.copy(EXAMPLES_FOLDER / "tarn-croft" / "birds.csv", mixed)
    pasted = example("holm-fen", folder / "pasted-below")
    below = (EXAMPLES_FOLDER / "tarn-croft" / "birds.csv").read_bytes()
    with (pasted / "birds.csv").open("ab") as table:
        table.write(below)


def _empty_tables(folder: Path) -> None:
    _tables_of(folder / "empty", "", "")
    _tables_of(folder / "headers", "bird,sex,sire,dam\n", "pen,hens_max\n")


def _tables_of(folder: Path, birds: str, pens: str) -> None:
    folder.mkdir()
    settings = 'season = 2027\nrecurrent = "sussex"\ntarget = {O = 2}\n' if birds else ""
    (folder / "matchmaker.toml").write_text(settings, encoding="utf-8")
    (folder / "birds.csv").write_text(birds, encoding="utf-8")
    (folder / "pens.csv").write_text(pens, encoding="utf-8")


def _wrong_folder(folder: Path) -> None:
    (folder / "pictures").mkdir()
    (folder / "pictures" / "cock.jpg").write_bytes(b"a picture")
    example("tarn-croft", folder / "tarn-croft")


def _forbidden(folder: Path) -> None:
    """A table nobody may read, and a folder nobody may write to."""
    locked = example("tarn-croft", folder / "locked")
    (locked / "birds.csv").chmod(0)
    example("tarn-croft", folder / "read-only").chmod(0o555)


def _flock(folder: Path) -> None:
    example("tarn-croft", folder / "tarn-croft")


PLAN = "matchmaker plan --in tarn-croft"
CHECK = "matchmaker check --in tarn-croft"
LOCI = "matchmaker loci --find blue"
PENS = "Pens for 2027"

HABITS: Final = (
    Habit(
        name="no folder",
        tries=(
            Try(words="matchmaker plan", code=2, says=("no flock is in", "--in FOLDER")),
            Try(words="matchmaker plan --in hens", code=2, says=("there is no folder hens",)),
            Try(words="matchmaker", code=2, says=("Start with: matchmaker new my-flock",)),
        ),
    ),
    Habit(
        name="wrong folder",
        prepare=_wrong_folder,
        tries=(
            Try(words="matchmaker check --in pictures", code=2, says=("no flock is in",)),
            Try(words="matchmaker check", code=2, says=("flocks in it (tarn-croft)",)),
            Try(words="matchmaker check --in tarncroft", code=2, says=("Did you mean tarn-croft",)),
            Try(
                words="matchmaker check --in tarn-croft/birds.csv",
                code=2,
                says=("is a file", "--in tarn-croft"),
            ),
            Try(words="matchmaker plan tarn-croft", code=2, says=("plan --in tarn-croft",)),
        ),
    ),
    Habit(
        name="empty tables",
        prepare=_empty_tables,
        tries=(
            Try(words="matchmaker plan --in empty", code=3, says=("the table is empty",)),
            Try(words="matchmaker plan --in headers", code=3, says=("a header and no rows",)),
        ),
    ),
    Habit(
        name="two flocks",
        prepare=_two_flocks,
        tries=(
            Try(
                words="matchmaker plan --in holm-fen --in tarn-croft",
                code=2,
                says=("--in is given 2 times",),
                never=(PENS,),
            ),
            Try(words="matchmaker check --in wrong-birds", code=3, says=("another flock's",)),
            Try(words="matchmaker check --in pasted-below", code=3, says=("a second table",)),
        ),
    ),
    Habit(
        name="killed midway",
        prepare=_flock,
        tries=(
            Try(words=f"{PLAN} --write", code=-signal.SIGKILL, after=0.6, never=(PENS,)),
            Try(words=f"{PLAN} --write", says=(PENS, "Wrote tarn-croft/plan.csv")),
            Try(words=CHECK, says=("No faults",)),
        ),
    ),
    Habit(
        name="no terminal",
        prepare=_flock,
        tries=(
            Try(
                words="matchmaker new my-flock < /dev/null",
                code=2,
                says=("nobody is there",),
            ),
            Try(words=f"{PLAN} >&-", says=("Nothing was written",), never=(PENS,)),
            Try(words=f"{PLAN} > /dev/full", code=5, says=("No space left",), never=(PENS,)),
        ),
    ),
    Habit(
        name="tiny terminal",
        prepare=_flock,
        tries=(Try(words=PLAN, columns=24, says=("OR25-003", "Kinship: 0.016")),),
    ),
    Habit(
        name="no colours",
        prepare=_flock,
        tries=(
            Try(words=LOCI, columns=80, says=("\x1b[1m", "Blue")),
            Try(words=LOCI, columns=80, more=(("NO_COLOR", "1"),), says=("Blue",), never=("\x1b",)),
            Try(words=LOCI, columns=80, more=(("TERM", "dumb"),), says=("Blue",), never=("\x1b",)),
        ),
    ),
    Habit(
        name="other locale",
        prepare=_flock,
        tries=(
            Try(
                words=PLAN,
                more=(("LC_ALL", "C"), ("PYTHONCOERCECLOCALE", "0"), ("PYTHONUTF8", "0")),
                says=(PENS, "-0.01"),
                never=("−",),
            ),
        ),
    ),
    Habit(
        name="no permission",
        prepare=_forbidden,
        tries=(
            Try(
                words="matchmaker plan --in locked",
                bound=True,
                code=3,
                says=("1 fault", "the file may not be read"),
            ),
            Try(
                words="matchmaker plan --in read-only --write",
                bound=True,
                code=2,
                says=(PENS, "read-only"),
            ),
        ),
    ),
)
"""Each with folders of its own; the order is that in which a newcomer may meet them."""

NEVER: Final = ("Traceback", "Exception ignored", "Error 1")
"""What no user may ever read."""


def live(habit: Habit, folder: Path) -> list[Answer]:
    """Type the commands of a habit one after the other, in a folder prepared for it."""
    habit.prepare(folder)
    return [answer_to(one, folder) for one in habit.tries]


def answer_to(one: Try, folder: Path) -> Answer:
    """Run one command line with a shell, as it is typed."""
    typed = one.words.replace("matchmaker", shlex.quote(str(MATCHMAKER)), 1)
    if "|" not in typed:
        typed = f"exec {typed}"  # so that it is the command that is killed, not its shell
    run = _on_a_terminal if one.columns else _in_a_pipe
    return run(["bash", "-c", typed], one, folder)


def _in_a_pipe(command: Sequence[str], one: Try, folder: Path) -> Answer:
    with subprocess.Popen(
        command,
        cwd=folder,
        env=_environment(one),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        preexec_fn=_bound_by_modes if one.bound else None,  # noqa: PLW1509 - one thread runs
    ) as process:
        if one.after is not None:
            time.sleep(one.after)
            process.kill()
        told, _ = process.communicate(timeout=LIMIT)
    return Answer(text=told.decode("utf-8", "replace"), code=process.returncode)


def _environment(one: Try) -> dict[str, str]:
    """As ever, but that the lines of what is killed are not counted: half a count is none."""
    told = environment(**dict(one.more))
    if one.after is not None:
        told.pop(CHILDREN, None)
    return told


def _on_a_terminal(command: Sequence[str], one: Try, folder: Path) -> Answer:
    ours, theirs = pty.openpty()
    termios.tcsetwinsize(theirs, (6, one.columns or 80))
    terminal = {"TERM": "xterm", **dict(one.more)}
    with subprocess.Popen(
        command, cwd=folder, env=environment(**terminal), stdin=theirs, stdout=theirs, stderr=theirs
    ) as process:
        os.close(theirs)
        told = _all_of(ours)
    text = told.decode("utf-8", "replace").replace("\r\n", "\n")
    return Answer(text=text, code=process.returncode)


def _all_of(terminal: int) -> bytes:
    told = b""
    while True:
        try:
            more = os.read(terminal, 65536)
        except OSError:  # whoever wrote to it has ended
            more = b""
        if not more:
            os.close(terminal)
            return told
        told += more


def _bound_by_modes() -> None:
    """Take from the administrator what lets him read and write in spite of modes."""
    if os.geteuid() == 0:
        libc = ctypes.CDLL(None, use_errno=True)
        for capability in READ_PAST_MODES:
            libc.prctl(24, capability, 0, 0, 0)  # PR_CAPBSET_DROP: holds from the next program on


def main() -> None:
    """Print every habit with what was answered, the first lines of each."""
    for number, habit in enumerate(HABITS, start=1):
        sys.stdout.write(f"## {number}. {habit.name}\n\n")
        with tempfile.TemporaryDirectory(prefix="habit-") as name:
            for one, answer in zip(habit.tries, live(habit, Path(name)), strict=True):
                sys.stdout.write(_shown(one, answer))


def _shown(one: Try, answer: Answer) -> str:
    beside = "".join(f"{key}={value} " for key, value in one.more)
    width = f"  ({one.columns} columns)" if one.columns else ""
    killed = f"  (killed after {one.after} s)" if one.after else ""
    lines = answer.text.replace("\x1b", "ESC").splitlines()
    between = len(lines) - HEAD - TAIL
    if between > 1:
        lines[HEAD:-TAIL] = [f"... {between} lines more"]
    typed = f"$ {beside}{one.words}{width}{killed}"
    return "\n".join([typed, *lines, f"[exit code {answer.code}]", "", ""])


if __name__ == "__main__":
    main()
