"""The options of the hatch command."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def _text(option: str, metavar: str, words: str) -> typer.models.OptionInfo:
    found: typer.models.OptionInfo = typer.Option(option, metavar=metavar, help=words)
    return found


def _number(option: str, words: str) -> typer.models.OptionInfo:
    found: typer.models.OptionInfo = typer.Option(option, metavar="N", min=0, help=words)
    return found


Pen = Annotated[str, _text("--pen", "PEN", "The pen the eggs are from.")]
Dam = Annotated[str, _text("--dam", "HEN", "The hen that laid them, if told apart.")]
Sire = Annotated[
    str, _text("--sire", "COCK", "The cock, where the tables cannot know him: C04, or C04|C07.")
]
SetOn = Annotated[str, _text("--set-on", "DATE", "The day the eggs were set.")]
Collected = Annotated[
    str, _text("--collected", "FIRST..LAST", "When they were collected; else the week before.")
]
Eggs = Annotated[int | None, _number("--eggs", "A new set of so many eggs.")]
Fertile = Annotated[int | None, _number("--fertile", "Fertile at candling.")]
Hatched = Annotated[int | None, _number("--hatched", "Chicks hatched, banded or not.")]
HatchedOn = Annotated[
    str, _text("--hatched-on", "DATE", "The day they hatched; else 21 days after setting.")
]
Bands = Annotated[
    list[str] | None,
    _text("--bands", "BANDS", "Bands of chicks, as C27-001..C27-012,C27-020; may be repeated."),
]
CockChicks = Annotated[
    list[str] | None, _text("--cock-chicks", "BANDS", "Those of them known to be cocks.")
]
HenChicks = Annotated[list[str] | None, _text("--hen-chicks", "BANDS", "Those known to be hens.")]
Dead = Annotated[list[str] | None, _text("--dead", "BANDS", "Those that died at hatch.")]
Culled = Annotated[list[str] | None, _text("--culled", "BANDS", "Those culled at hatch.")]
Sold = Annotated[list[str] | None, _text("--sold", "BANDS", "Those sold at hatch.")]
Seen = Annotated[
    list[str] | None,
    _text(
        "--seen",
        "LOCUS:CLASS=…",
        "What they look like: counts over the whole hatch (P:pea=9,single=4) or bands "
        "(P:single=C27-003,C27-007); may be repeated.",
    ),
]
Line = Annotated[str, _text("--line", "LINE", "The line they join; else as planned.")]
Clutch = Annotated[
    str, _text("--clutch", "NAME", "A name shared by chicks of one sire and one dam.")
]
From = Annotated[
    Path | None,
    typer.Option(
        "--from", metavar="FILE", help="Read all of it from a form: a row a set or chick."
    ),
]
DryRun = Annotated[bool, typer.Option("--dry-run", help="Only show what would be written.")]
