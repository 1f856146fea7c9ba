"""Measure the drawing of whole pedigrees: ``python -m tests.bench pedigree``.

How many links cross in the order in which birds are listed, in that of networkx's
``multipartite_layout`` and in ours, all with the same rows and with a bend in every row that a link
passes through; and how long each takes. The pedigrees are those of the examples and invented
ones of the size that first tries were measured on (185 birds, 326 links).
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

import networkx as nx

from matchmaker import verbs
from matchmaker.flock.drawing import linked, rows_of, with_bends
from matchmaker.flock.drawing_order import Rows, crossings, well_ordered

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterator, Mapping, Sequence

EXAMPLES = Path(__file__).parents[2] / "examples"
SEASONS, CHICKS, FOUNDERS = 6, 32, 22


def random_family(seed: int) -> tuple[nx.DiGraph[str], dict[str, int | None]]:
    """Links of 185 birds in six seasons, about 326 of them, and the years of hatch.

    A season's chicks come out of some cocks and hens of the one or two seasons before.
    """
    rng = random.Random(seed)  # noqa: S311
    seasons = [[f"B0{at:03d}" for at in range(FOUNDERS)]]
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(seasons[0])
    for season in range(1, SEASONS):
        older = [bird for birds in seasons[-2:] for bird in birds]
        rng.shuffle(older)
        cocks, hens = older[:4], older[4:16]
        chicks = [f"B{season}{at:03d}" for at in range(CHICKS + (season < SEASONS // 2 + 1))]
        for bird in chicks:
            graph.add_edge(rng.choice(cocks), bird)
            graph.add_edge(rng.choice(hens), bird)
        seasons.append(chicks)
    years = {bird: at for at, birds in enumerate(seasons) for bird in birds}
    return graph, dict(years)


def counted(
    rows: Sequence[Sequence[Hashable]], segments: Sequence[tuple[Hashable, Hashable]]
) -> int:
    """Crossings of the segments between these rows in the order given."""
    place = {node: (row, at) for row, nodes in enumerate(rows) for at, node in enumerate(nodes)}
    between = defaultdict(list)
    for upper, lower in segments:
        if upper in place and lower in place:
            between[place[upper][0]].append((place[upper][1], place[lower][1]))
    return sum(map(crossings, between.values()))


def by_networkx(given: Rows) -> list[list[Hashable]]:
    """The rows in the order in which networkx lays the same nodes out."""
    graph: nx.DiGraph[Hashable] = nx.DiGraph()
    for row, nodes in enumerate(given.rows):
        graph.add_nodes_from(nodes, layer=row)
    graph.add_edges_from(given.segments)
    at = nx.multipartite_layout(graph, subset_key="layer", align="horizontal")
    return [sorted(nodes, key=lambda node: float(at[node][0])) for nodes in given.rows]


def families(invented: int) -> Iterator[tuple[str, nx.DiGraph[str], Mapping[str, int | None]]]:
    """Name, links and years of every pedigree."""
    for name in ("holm-fen", "skarn-farm", "tarn-croft"):
        flock = verbs.read(EXAMPLES / name)
        years = {bird.band: bird.hatched.year if bird.hatched else None for bird in flock.birds}
        yield name, linked(flock.pedigree, flock.pedigree.birds), years
    for seed in range(invented):
        yield f"invented {seed}", *random_family(seed)


def main(arguments: list[str]) -> None:
    """Print a line a pedigree."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench pedigree")
    parser.add_argument("--invented", type=int, default=3, help="invented pedigrees")
    args = parser.parse_args(arguments)
    write = sys.stdout.write
    write("pedigree      birds links | crossings: listed networkx  ours | ms: networkx  ours\n")
    for name, graph, years in families(args.invented):
        given = with_bends(graph, rows_of(graph, years))
        start = time.perf_counter()
        theirs = by_networkx(given)
        middle = time.perf_counter()
        ours = well_ordered(with_bends(graph, rows_of(graph, years)))
        end = time.perf_counter()
        found = [counted(rows, given.segments) for rows in (given.rows, theirs, ours.rows)]
        write(
            f"{name:13} {len(graph):5} {graph.number_of_edges():5} | "
            f"{found[0]:17} {found[1]:8} {found[2]:5} | "
            f"{1e3 * (middle - start):12.0f} {1e3 * (end - middle):5.0f}\n"
        )
