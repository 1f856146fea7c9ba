"""A new flock folder: a few short files that explain themselves, or a copy of an example."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

from matchmaker.errors import UsageError, WouldOverwriteError
from matchmaker.genetics.loci.catalogue import catalogue
from matchmaker.tables.disk import reason
from matchmaker.tables.folder import SETTINGS_FILE
from matchmaker.tables.history import HISTORY_FILE
from matchmaker.tables.lock import LOCK_FILE
from matchmaker.tables.nearness import close_matches
from matchmaker.tables.toml_names import section, toml_key, toml_text
from matchmaker.tables.unfinished import settle
from matchmaker.tables.write_together import write_together

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from importlib.resources.abc import Traversable

    from matchmaker.genetics.loci.locus import Locus

EXAMPLES = ("holm-fen", "skarn-farm", "tarn-croft")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What a new folder needs to know."""

    breed: str
    locus: str
    copies: int
    lines: tuple[str, ...]
    dates: str


def find_loci(words: str, known: Mapping[str, Locus] | None = None) -> list[Locus]:
    """Loci that plain words may mean, the likeliest first; of the catalogue unless given.

    Examples
    --------
    >>> [locus.symbol for locus in find_loci("blue eggs")][:1]
    ['O']
    """
    known = catalogue() if known is None else known
    if words in known:
        return [known[words]]
    asked = _stems(words)
    scored = [(_likeness(asked, locus), locus.symbol) for locus in known.values()]
    return [
        known[symbol] for score, symbol in sorted(scored, key=lambda s: (-s[0], s[1])) if score > 0
    ]


def _likeness(asked: set[str], locus: Locus) -> float:
    """Share of the words asked for that a locus's name or classes hold; its name counts more."""
    name = _stems(locus.name)
    classes = set().union(*map(_stems, (*locus.shown_words, *locus.one_copy_words)), set())
    hits = sum(1.0 if _near(word, name) else 0.5 if _near(word, classes) else 0.0 for word in asked)
    return hits / max(len(asked), 1) + (hits / (10 * max(len(name), 1)))


def _near(word: str, words: set[str]) -> bool:
    return bool(close_matches(word, words, like=0.8)) or any(
        word.startswith(other) or other.startswith(word)
        for other in words
        if min(len(word), len(other)) > 2
    )


def _stems(words: str) -> set[str]:
    plain = "".join(c if c.isalnum() else " " for c in words.casefold())
    return {word.removesuffix("s") for word in plain.split()}


def new(folder: Path, *, like: str = "", answers: Answers | None = None) -> None:
    """Start a flock folder from a few answers, or as a copy of the shipped example ``like``.

    A keeper's own book is taken in by ``matchmaker.taking_in``, which asks what it leaves open.

    Raises
    ------
    UsageError
        If there is no such example, or not one of the two is given.
    WouldOverwriteError
        If the folder holds anything.
    """
    if bool(like) == (answers is not None):
        raise UsageError("a new flock needs answers, or an example to copy: one of the two")
    if answers is None:
        copy_example(folder, like)
    else:
        start_folder(folder, answers)


def start_folder(folder: Path, answers: Answers) -> None:
    """Write ``matchmaker.toml`` and the tables of birds, pens and scores for a new flock.

    Raises
    ------
    WouldOverwriteError
        If the folder exists and holds anything.
    """
    refuse_filled(folder)
    make_folder(folder)
    texts = {
        SETTINGS_FILE: configuration_text(answers),
        "birds.csv": f"bird,sex,hatched,sire,dam,line,breed,status,{answers.locus}\n",
        "pens.csv": "pen,hens_max,dam_known\n",
        "scores.csv": "bird,date,group\n",
    }
    write_together([(folder / name, text) for name, text in texts.items()], {}, told="new")


def copy_example(folder: Path, name: str) -> None:
    """Copy a shipped example.

    Raises
    ------
    UsageError
        If there is no such example.
    WouldOverwriteError
        If the folder exists and holds anything.
    """
    if name not in EXAMPLES:
        raise UsageError(f"there is no example {name}; there are {', '.join(EXAMPLES)}")
    refuse_filled(folder)
    make_folder(folder)
    shipped = sorted(shipped_example(name).iterdir(), key=lambda file: file.name)
    texts = [(folder / file.name, file.read_bytes().decode()) for file in shipped]
    write_together(texts, {}, told=f"new --like {name}")


def shipped_example(name: str) -> Traversable:
    """The folder of an example: in the installed package, or beside it in a checkout.

    Examples
    --------
    >>> "birds.csv" in [file.name for file in shipped_example("holm-fen").iterdir()]
    True
    """
    installed = files("matchmaker") / "examples" / name
    return installed if installed.is_dir() else Path(__file__).parents[1] / "examples" / name


def refuse_filled(folder: Path) -> None:
    """Refuse a folder that holds anything already, but for what a stopped ``new`` left.

    Raises
    ------
    WouldOverwriteError
        If it does.
    """
    if folder.is_dir():
        settle(folder)
    if folder.exists() and (not folder.is_dir() or any(map(_filled, folder.iterdir()))):
        raise WouldOverwriteError(f"{folder} exists and is not empty; choose another name")


def make_folder(folder: Path) -> None:
    """Make a folder for a flock, if there is none yet.

    Raises
    ------
    UsageError
        If it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UsageError(f"{folder} cannot be made: {reason(error)}") from error


def _filled(path: Path) -> bool:
    return path.name not in {HISTORY_FILE, LOCK_FILE}


def configuration_text(
    answers: Answers,
    *,
    season: int | None = None,
    frequencies: Mapping[str, float] | None = None,
    after: str | None = None,
) -> str:
    """Return ``matchmaker.toml``; ``after`` stands in the place of how to write down traits.

    ``frequencies`` are those of the gene by breed, where more is known than that it is to be
    brought in; without a ``season`` it is the next spring's.
    """
    locus = catalogue()[answers.locus]
    today = dt.datetime.now(tz=dt.UTC).date()
    known = {answers.breed: 0.0, **(frequencies or {})}
    found = "\n".join(f"{toml_key(breed)} = {share:g}" for breed, share in known.items())
    return f"""\
# The season you plan: the year in which the chicks hatch.
season = {season or spring_after(today)}

# The breed the flock shall be in the end.
recurrent = {toml_text(answers.breed)}

# The gene to bring in and the copies wanted in the end.
# {answers.locus} is {locus.name.lower()}.
target = {{{toml_key(answers.locus)} = {answers.copies}}}

# How dates are written in your tables: iso (2027-02-01), day-first or month-first.
dates = "{answers.dates}"

# Where the allele is found before the project: 1 = every bird of that breed is pure for it.
{section("loci", answers.locus, "frequency")}
{found}
{_line_sections(answers.lines)}{_TRAITS if after is None else after}"""


def spring_after(day: dt.date) -> int:
    """Return the year of the next spring to be planned: from July on it is the next year's."""
    return day.year + (day.month > 6)


_TRAITS: Final = """
# What you weigh, count and judge goes to scores.csv: a row for each bird and day, with
# bird, date, group (who was kept together) and a column for each trait. Say here what you
# want of a trait, without the # in front; a name with blanks stands in quotation marks:
# [traits.eggs_12wk]
# direction = "up"   # or "down"; where the middle is best, optimum = 58 in its place
# weight = 0.3       # 1 is as much as a wanted chick; or "must improve", "must not fall"
"""


def _line_sections(lines: Sequence[str]) -> str:
    return "".join(
        f"\n{section('lines', line)}\nimportance = 1  # raise it for a line that must not be lost\n"
        for line in lines
    )
