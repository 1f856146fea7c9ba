"""Elferink et al. 2010, BMC Genetics 11:11: the linkage map of the fowl.

Read in the abstract: 31 linkage groups, 3,054 cM over both sexes. The lengths of the single
groups in the shipped table are from memory, scaled to that total, and marked so.
"""

from __future__ import annotations

import csv
from importlib import resources

from matchmaker.genetics.shares.genome_map import chicken_map


def test_groups_and_total() -> None:
    lengths = chicken_map().lengths
    assert len(lengths) == 31
    assert sum(lengths.values()) == 3054


def test_lengths_from_memory_say_so() -> None:
    text = (
        resources.files("matchmaker.genetics.shares").joinpath("chicken_map.csv").read_text("utf-8")
    )
    rows = list(csv.DictReader(text.splitlines()))
    assert all("from memory" in row["source"] for row in rows)
    assert {row["confidence"] for row in rows} == {"low"}
