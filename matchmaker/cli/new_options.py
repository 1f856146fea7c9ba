"""The options of the new command."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Made = Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder to make.")]
Like = Annotated[
    str, typer.Option(metavar="NAME", help="Copy an example: holm-fen, skarn-farm or tarn-croft.")
]
Breed = Annotated[
    str, typer.Option(metavar="BREED", help="The breed the flock shall be in the end.")
]
Trait = Annotated[str, typer.Option(metavar="WORDS", help="The trait to bring in, in plain words.")]
Copies = Annotated[
    int | None, typer.Option(metavar="N", help="Copies of its gene wanted: 0, 1 or 2.")
]
Lines = Annotated[str, typer.Option(metavar="NAMES", help="Names of the lines, with commas.")]
Dates = Annotated[
    str, typer.Option(metavar="ORDER", help="How you write dates: iso, day-first or month-first.")
]
Book = Annotated[
    list[Path] | None,
    typer.Option("--from", metavar="BOOK", help="Take your own tables in: a book or a folder."),
]
Accept = Annotated[
    bool, typer.Option("--accept", help="With --from: take what is proposed, ask nothing.")
]
Again = Annotated[
    bool, typer.Option("--again", help="With --from: the same book once more, changed since.")
]
