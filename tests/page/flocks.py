"""Flocks whose page may go wrong: large ones, bare ones, and those with something unusual."""

from __future__ import annotations

import csv
import random
from typing import TYPE_CHECKING, Final

from tests.builders import HOME, HOME_SEEN, chick, cock, hen, table, write_flock
from tests.season_flocks import small_flock

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.builders import Row

LINES: Final = ("Pure", "Alder", "Birch", "Cedar")
HALF: Final = "sussex:0.5|araucana:0.5"
GONE: Final = {"status": "dead", "left_on": "2026-10-01"}


def crowded_flock(path: Path, hens: int, cocks: int) -> Path:
    """Four lines out of three cocks and six hens each, and a pen for each cock."""
    rng = random.Random(hens)  # noqa: S311
    rows: list[Row] = []
    for line in LINES:
        breed = "sussex" if line == "Pure" else HALF
        rows += [cock(f"{line[0]}F{at}", line, breed, **GONE) for at in range(3)]
        rows += [hen(f"{line[0]}M{at}", line, breed, **GONE) for at in range(6)]
    for at in range(hens + cocks):
        line = LINES[at % 4]
        letter, sex = line[0], "hen" if at < hens else "cock"
        sire, dam = f"{letter}F{rng.randrange(3)}", f"{letter}M{rng.randrange(6)}"
        shown = "" if line == "Pure" else "blue"
        rows.append(chick(f"{letter}{sex[0].upper()}{at:03}", sex, sire, dam, line, O=shown))
    pens = [{"pen": f"{at + 1}", "hens_max": "8", "dam_known": "no"} for at in range(cocks)]
    wanted = "".join(f"[lines.{line}]\nchicks_wanted = 12\n" for line in LINES)
    return write_flock(path, rows, wanted, pens=pens)


def shuffled(folder: Path) -> None:
    """Put the rows of the birds into another order."""
    file = folder / "birds.csv"
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    file.write_text(table(rows[1::2] + rows[::2][::-1]), encoding="utf-8")


def one_pen(path: Path) -> Path:
    """A pen, a cock, two hens, a line."""
    pens = [{"pen": "Only", "hens_max": "4"}]
    return write_flock(path, [cock("SC"), hen("SH"), hen("S2")], pens=pens)


def no_plan(path: Path) -> Path:
    """Nothing written of who is with whom."""
    return write_flock(path, HOME, seen=HOME_SEEN)


def written_plan(path: Path) -> Path:
    """The pens are those of the written plan."""
    return small_flock(path)


def succession(path: Path) -> Path:
    """Another cock follows in the Orchard; a hen is taken out of the Yard."""
    moves: list[Row] = [
        {"bird": "SC", "pen": "Orchard", "moved_in": "2027-02-01", "moved_out": "2027-03-20"},
        {"bird": "A1", "pen": "Orchard", "moved_in": "2027-02-01"},
        {"bird": "A2", "pen": "Orchard", "moved_in": "2027-02-01"},
        {"bird": "SD", "pen": "Yard", "moved_in": "2027-02-01", "moved_out": "2027-04-01"},
        {"bird": "SD", "pen": "Orchard", "moved_in": "2027-04-02"},
        {"bird": "S1", "pen": "Yard", "moved_in": "2027-02-01", "moved_out": "2027-03-01"},
        {"bird": "S2", "pen": "Yard", "moved_in": "2027-02-01"},
    ]
    return small_flock(path, today="2027-04-10", moves=moves)


def nothing_seen(path: Path) -> Path:
    """A target, and not one look at it."""
    return write_flock(path, HOME, "[limits]\nproof_min = 0.0\n")


def no_scores(path: Path) -> Path:
    """Traits with weights in the settings, and not one score."""
    traits = '[traits.eggs]\ndirection = "up"\nweight = 0.3\nsex = "hen"\n'
    return write_flock(path, HOME, traits, seen=HOME_SEEN)


def not_sexed(path: Path) -> Path:
    """A young bird of which nobody knows yet whether it is a cock."""
    return write_flock(path, [*HOME, chick("Y1", "", "SC", "SH", "Pure")], seen=HOME_SEEN)


def no_pair(path: Path) -> Path:
    """A hen that no cock may have, and a cock that no hen may have."""
    birds = [*HOME, hen("SX", defects="wry tail"), cock("SY", defects="crossed beak")]
    return write_flock(path, birds, seen=HOME_SEEN)


def unknown_parents(path: Path) -> Path:
    """A hen out of one of two cocks, and one of whose parents nothing is known."""
    birds = [
        *(*HOME, cock("SD")),
        chick("Y1", "hen", "SC:0.5|SD:0.5", "SH", "Pure"),
        hen("Y2", sire="", dam=""),
    ]
    return write_flock(path, birds, seen=HOME_SEEN)


UNUSUAL: Final[dict[str, Callable[[Path], Path]]] = {
    "one pen": one_pen,
    "no plan": no_plan,
    "written plan": written_plan,
    "cocks in succession": succession,
    "nothing seen": nothing_seen,
    "no scores": no_scores,
    "a bird not sexed": not_sexed,
    "birds without a mate": no_pair,
    "unknown parents": unknown_parents,
}
