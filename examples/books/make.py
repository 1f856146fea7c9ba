"""Make two keepers' books, as ugly as books are; the same bytes on every run.

Usage: ``python examples/books/make.py [FOLDER]`` writes into FOLDER (default: beside this file).
Each flock is bred first and laid out as clean tables; then its habits spoil it, one by one. The
lists of habits are ``_books/marsh_end_messes.py`` and ``_books/lowgate_messes.py``; ``--habits``
prints each with the places it was put.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from _books import library


def main(arguments: list[str]) -> None:
    """Write the books below the folder, or print their habits."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parent)
    parser.add_argument("--habits", action="store_true", help="print each mess, write nothing")
    asked = parser.parse_args(arguments)
    if asked.habits:
        sys.stdout.write(library.habits())
    else:
        library.write_books(asked.folder)


if __name__ == "__main__":
    main(sys.argv[1:])
