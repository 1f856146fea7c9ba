"""Breed the example flocks anew and write their tables; the same tables on every run.

Usage: ``python examples/generate.py [FOLDER]`` writes into FOLDER (default: beside this file).
``matchmaker.toml`` and ``README.md`` of each flock are written by hand and stay untouched.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from _generator import holm_fen_tables, skarn_farm, tarn_croft

FARMS = {
    "holm-fen": holm_fen_tables.write,
    "tarn-croft": tarn_croft.write,
    "skarn-farm": skarn_farm.write,
}


def main(arguments: list[str]) -> None:
    """Write the tables of every farm below the folder."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, default=Path(__file__).parent)
    target: Path = parser.parse_args(arguments).folder
    for name, write in FARMS.items():
        folder = target / name
        folder.mkdir(parents=True, exist_ok=True)
        write(folder)


if __name__ == "__main__":
    main(sys.argv[1:])
