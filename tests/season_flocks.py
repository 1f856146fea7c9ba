"""A small flock with two pens, and its season."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker import verbs
from matchmaker.season.reaching import Tally
from tests.builders import Row, cock, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.season.guide import SeasonGuide
    from matchmaker.season.reaching import Survival

HALF = "{breed}:0.5|araucana:0.5"


def small_flock(
    path: Path,
    *,
    pen: str = "Orchard",
    pen_up: str = "2027-02-01",
    today: str = "2027-01-20",
    breed: str = "sussex",
    settings: str = "",
    year: str = "",
    told: str = "yes",
    **tables: list[Row],
) -> Path:
    """Two Alder hens with a pure cock in one pen, three pure hens with another in the Yard."""
    top = f'season = 2027\ntoday = {today}\nrecurrent = "{breed}"\ntarget = {{O = 2}}\n'
    body = (
        f"{settings}[lines.Alder]\nchicks_wanted = 8\n[lines.Pure]\nchicks_wanted = 6\n"
        f"[year]\npen_up = {pen_up}\n{year}"
    )
    half = HALF.format(breed=breed)
    birds = [
        cock("SC", breed=breed),
        cock("SD", breed=breed),
        hen("A1", "Alder", half, O="blue"),
        hen("A2", "Alder", half, O="blue"),
        hen("S1", breed=breed),
        hen("S2", breed=breed),
        hen("S3", breed=breed),
    ]
    pens: list[Row] = [
        {"pen": pen, "hens_max": "4", "dam_known": told},
        {"pen": "Yard", "hens_max": "4", "dam_known": "no"},
    ]
    plan: list[Row] = [
        {"pen": pen, "line": "Alder", "cock": "SC", "hen": hen_} for hen_ in ("A1", "A2")
    ]
    plan += [
        {"pen": "Yard", "line": "Pure", "cock": "SD", "hen": one} for one in ("S1", "S2", "S3")
    ]
    written = {"pens": pens, "plan": plan, **tables}
    return write_flock(
        path, birds, body, top, **{name: rows for name, rows in written.items() if rows}
    )


def guide_of(folder: Path, certainty: float = 0.95) -> SeasonGuide:
    """The season of a folder."""
    return verbs.season(folder, certainty=certainty)


def eggs_for(wanted: int, certainty: float, part: float, shared: Survival) -> int | None:
    """The fewest eggs, all alike, that give so many wanted chicks with this chance."""
    tally = Tally(wanted, shared)
    while tally.chance < certainty and part > 0:
        tally.add(part)
    return tally.eggs if tally.chance >= certainty else None
