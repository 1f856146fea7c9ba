"""Measure the drawing of whole pedigrees: ``python -m tests.bench pedigree``.

How many links cross in the order in which birds are listed, in that of networkx's
``multipartite_layout`` and in ours, all with the same rows and with a bend in every row that a link
passes through; and how long each takes. The pedigrees are those of the examples and invented
ones of the size that first tries were measured on (185 birds, 326 links).
"""

from __future__ import annotations

import random
from collections import defaultdict
from functools import partial
from typing import TYPE_CHECKING, Final

import networkx as nx

from matchmaker import verbs
from matchmaker.flock.drawing import linked, rows_of, with_bends
from matchmaker.flock.drawing_order import Ordered, Rows, crossings, well_ordered
from tests.bench.folder_flocks import EXAMPLES
from tests.bench.measuring import timed
from tests.bench.rows import Row, Size
from tests.bench.running import Bench, Option

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence

LAYOUT: Final = "networkx, layout in rows"
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


def in_good_order(graph: nx.DiGraph[str], years: Mapping[str, int | None]) -> Ordered:
    """The rows as we lay them out, from the links."""
    return well_ordered(with_bends(graph, rows_of(graph, years)))


def families(
    invented: int, examples: Iterable[str]
) -> Iterator[tuple[str, nx.DiGraph[str], Mapping[str, int | None]]]:
    """Name, links and years of every pedigree."""
    for name in examples:
        flock = verbs.read(EXAMPLES / name)
        years = {bird.band: bird.hatched.year if bird.hatched else None for bird in flock.birds}
        yield name, linked(flock.pedigree, flock.pedigree.birds), years
    for seed in range(invented):
        yield f"invented {seed}", *random_family(seed)


def rows(chosen: Namespace) -> Iterator[Row]:
    """Three rows a pedigree: crossings beside the list and beside networkx, and the times."""
    for name, graph, years in families(chosen.invented, chosen.examples):
        given = with_bends(graph, rows_of(graph, years))
        theirs_took, theirs = timed(partial(by_networkx, given))
        ours_took, ours = timed(partial(in_good_order, graph, years))
        listed, by_layout, well = (
            float(counted(one, given.segments)) for one in (given.rows, theirs, ours.rows)
        )
        size = Size(f"{name}: {len(graph)} birds, {graph.number_of_edges()} links")
        for peer, found in (("the list as it is", listed), (LAYOUT, by_layout)):
            yield Row(
                task="crossings",
                size=size,
                unit="crossings",
                ours=(well,),
                peer=peer,
                theirs=(found,),
            )
        yield Row(
            task="putting in order",
            size=size,
            ours=(ours_took,),
            peer=LAYOUT,
            theirs=(theirs_took,),
        )


BENCH: Final = Bench(
    rows=rows,
    options=(
        Option(
            name="examples",
            help="folders",
            whole=("holm-fen", "skarn-farm", "tarn-croft"),
            short=("tarn-croft",),
        ),
        Option(name="invented", help="invented pedigrees", whole=3, short=1),
    ),
)
