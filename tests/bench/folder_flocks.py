"""Invented flocks of any size as folders of tables: four lines, three generations, scores."""

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING, Final

from tests.builders import chick, cock, hen, write_flock

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.builders import Row

EXAMPLES: Final = Path(__file__).parents[2] / "examples"

LINES: Final = ("Pure", "Alder", "Birch", "Cedar")
HALF: Final = "sussex:0.5|araucana:0.5"
GONE: Final = {"status": "dead", "left_on": "2026-10-01"}
FOUNDED: Final = {**GONE, "hatched": "2023-03-01"}
OLD: Final = (3, 6)
"""Cocks and hens of each generation before, in each line."""

SETTINGS: Final = """
[traits.eggs]
direction = "up"
weight = 0.3
sex = "hen"
[traits.weight]
optimum = 2.5
weight = 0.2
"""


def folder_flock(path: Path, hens: int, cocks: int, seed: int = 1) -> Path:
    """A folder with so many living hens and cocks, a pen for each cock, and their forebears."""
    rng = random.Random(seed)  # noqa: S311
    old = list(_founders())
    older = [row for line in LINES for row in _young(old, line, OLD, rng, gone=True)]
    young = [
        row
        for at, line in enumerate(LINES)
        for row in _young(older, line, (_part(cocks, at), _part(hens, at)), rng, gone=False)
    ]
    birds = [*old, *older, *young]
    pens = [{"pen": f"{at + 1}", "hens_max": "8", "dam_known": "no"} for at in range(cocks)]
    wanted = "".join(f"[lines.{line}]\nchicks_wanted = {hens // 4}\n" for line in LINES)
    scores = list(_scores(birds, rng))
    return write_flock(path, birds, SETTINGS + wanted, pens=pens, scores=scores)


def _part(number: int, at: int) -> int:
    """A quarter of a number, what is over given to the first lines."""
    return number // len(LINES) + (at < number % len(LINES))


def _founders() -> Iterator[Row]:
    for line in LINES:
        breed = "sussex" if line == "Pure" else HALF
        yield from (cock(f"{line[0]}0C{at}", line, breed, **FOUNDED) for at in range(OLD[0]))
        yield from (hen(f"{line[0]}0H{at}", line, breed, **FOUNDED) for at in range(OLD[1]))


def _young(
    old: list[Row], line: str, sizes: tuple[int, int], rng: random.Random, *, gone: bool
) -> Iterator[Row]:
    """Chicks of a line, by its own cocks of the generation before."""
    own = {
        sex: [row["bird"] for row in old if (row["line"], row["sex"]) == (line, sex)]
        for sex in ("cock", "hen")
    }
    more = GONE if gone else {}
    hatched = "2025-03-20" if gone else "2026-03-20"
    for sex, size in zip(own, sizes, strict=True):
        for at in range(size):
            band = f"{line[0]}{1 if gone else 2}{sex[0].upper()}{at:03}"
            sire, dam = rng.choice(own["cock"]), rng.choice(own["hen"])
            egg = "blue" if sex == "hen" and line != "Pure" else ""
            yield {**chick(band, sex, sire, dam, line, O=egg, **more), "hatched": hatched}


def _scores(birds: list[Row], rng: random.Random) -> Iterator[Row]:
    for row in birds:
        yield {
            "bird": row["bird"],
            "date": "2026-09-15",
            "eggs": str(rng.randint(30, 60)) if row["sex"] == "hen" else "",
            "weight": f"{rng.uniform(2, 3):.2f}",
        }
