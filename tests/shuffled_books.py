"""Books that were never seen: some of the habits, columns and sheets in any order, other headers.

``python -m tests.shuffled_books --times 100 --seed 1`` takes in so many of them, each held against
its own truth, and prints what came out otherwise.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from tests.cli.run import run_here
from tests.keepers_books import BOOKS, differences_of, library

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tests.keepers_books import KeptBook

HEADERS: Final[Mapping[str, tuple[str, ...]]] = {
    "bird": ("Band", "Ring", "Leg band", "Ring number", "Wing tag", "BAND NO", "band #", "Bird"),
    "sex": ("Sex", "M/F", "Gender", "sex (m/f)", "Cock or hen?"),
    "birds.hatched": ("Hatch date", "Born", "DOB", "Date hatched", "hatched on", "Birthday"),
    "eggs.hatched": ("Hatched", "Chicks", "Chicks hatched"),
    "sire": ("Sire", "Father", "Dad", "father (ring)", "Sire no."),
    "dam": ("Dam", "Mother", "Mum", "mother (ring)", "Dam no."),
    "line": ("Line", "Family", "Strain"),
    "breed": ("Breed", "Breed type", "Race"),
    "source": ("Source", "Bought from", "Origin", "Came from"),
    "status": ("Status", "State", "Alive?", "Fate"),
    "left_on": ("Left", "Date gone", "Died/sold on", "Left on"),
    "P": ("Comb", "comb type", "P", "Pea comb?"),
    "S": ("S", "Colour", "Color", "Plumage colour"),
    "pen": ("Pen", "House", "Coop", "Pen no", "Run"),
    "hens_max": ("Max hens", "Places", "Room", "No. of hens max", "Capacity"),
    "moved_in": ("In", "Moved in", "Date in", "From"),
    "moved_out": ("Out", "Moved out", "Date out", "To", "Until"),
    "date": ("Date", "When", "Weighed", "Day"),
    "weight": ("Weight", "Weight (kg)", "weight kg"),
    "cock": ("Cock", "Male", "Rooster"),
    "hen": ("Hen", "Hen no"),
    "eggs": ("Eggs", "Eggs set", "No of eggs"),
    "set_on": ("Set", "Set on", "Date set"),
    "fertile": ("Fertile", "Fertile eggs"),
    "raised": ("Raised", "Reared"),
    "first_band": ("First band", "Bands from"),
    "last_band": ("Last band", "Bands to"),
    "collected_from": ("Collected from", "Laid from"),
    "collected_to": ("Collected to", "Laid to"),
    "with": ("With", "Partner"),
    "wish": ("Wish", "Want"),
    "why": ("Why", "Reason"),
}
NEXT_TO_EACH_OTHER: Final = frozenset({"two_header_rows", "houses_merged"})
"""Habits that hold only in the order of columns in which the keeper has them."""


def shuffled_book(book: KeptBook, seed: int) -> Any:
    """A book of that keeper as it might have been."""
    dice = random.Random(seed)  # noqa: S311 - an invented book, no secret
    laid_out, messes = library().BOOKS[book.name]
    notebook = laid_out()
    for sheet in notebook.sheets:
        _other_headers(sheet, dice)
        if dice.random() < 0.5:
            dice.shuffle(sheet.columns)
    dice.shuffle(notebook.sheets)
    often = dice.choice((0.1, 0.3, 0.6, 0.9))
    notebook.apply(
        mess for mess in messes if dice.random() < often and mess.__name__ not in NEXT_TO_EACH_OTHER
    )
    return notebook


def _other_headers(sheet: Any, dice: random.Random) -> None:
    """Give some columns other words, none twice on a sheet."""
    often = dice.choice((0, 0.7))
    used = {header.casefold() for _, header in sheet.columns}
    for at, (key, header) in enumerate(sheet.columns):
        words = HEADERS.get(f"{sheet.table}.{key}") or HEADERS.get(key, ())
        free = [word for word in words if word.casefold() not in used]
        if free and dice.random() < often:
            sheet.columns[at] = (key, dice.choice(free))
            used = used - {header.casefold()} | {sheet.columns[at][1].casefold()}
    sheet.header.cells = dict(sheet.columns)


def what_differs(book: KeptBook, seed: int, folder: Path) -> list[str]:
    """Take in a shuffled book with all that is proposed; what is not as a careful reader has it."""
    notebook = shuffled_book(book, seed)
    given = library().write_book(notebook, folder)
    target = folder / "my-flock"
    said = run_here("new", target, "--from", given, "--accept")
    if said.code != 0:
        return [f"exit code {said.code}: {said.err[-500:]}"]
    return differences_of(notebook, target)


def main(arguments: list[str]) -> int:
    """Take in so many books; 1 if any came out otherwise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(arguments)
    wrong, begun = 0, time.process_time()
    for seed in range(asked.seed, asked.seed + asked.times):
        book = BOOKS[seed % len(BOOKS)]
        with tempfile.TemporaryDirectory() as folder:
            differing = what_differs(book, seed, Path(folder))
        wrong += bool(differing)
        for one in differing:
            sys.stdout.write(f"seed {seed}, {book.name}: {one}\n")
    spent = time.process_time() - begun
    sys.stdout.write(
        f"{asked.times} books, {wrong} not as expected, {spent:.0f} s of processor time\n"
    )
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
