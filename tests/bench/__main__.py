"""Run one benchmark, or all: ``python -m tests.bench`` alone says which there are."""

from __future__ import annotations

import importlib
import sys
from typing import Final

from tests.bench import collecting
from tests.bench.running import Bench, run

BENCHMARKS: Final = {
    "kinship": "inbreeding and kinship, beside sgkit",
    "genotypes": "genotype probabilities, beside pgmpy's variable elimination",
    "merit": "predicted breeding values, beside the whole equations in scipy's sparse solver",
    "plan": "the plan of a spring, beside a textbook model in PuLP solved by CBC, and by hand",
    "frontier": "price, limit and frontier of group kinship",
    "diagnosis": "ways out where there is no plan",
    "regret": "what pairs cost, beside HiGHS asked pair by pair",
    "rebalance": "the table of losses, beside HiGHS asked anew for each",
    "drop": "the gene drop, beside msprime on the same birds",
    "spring": "one spring, stage by stage",
    "ahead": "the coming seasons, beside the same with every pair judged and every plan proved",
    "pedigree": "crossings of drawn pedigrees, beside networkx's layout",
    "report": "the page of a season: seconds, bytes, answers in a browser",
    "check": "reading and checking books of many years, beside pandas",
}
"""Each is a module of this package with a ``BENCH``; in this order they are run."""

USAGE: Final = f"""\
usage: python -m tests.bench all [-o FOLDER or FILE.md] [--short | --full] [--only NAME,NAME]
       python -m tests.bench NAME [--short | --full] [its own options, see --help]

all runs each benchmark in a process of its own and writes a table of ratios beside the peers and
the growth curves, as Markdown and as JSON (benchmarks.md and .json here, or where -o says). It
takes about 20 minutes on two quiet cores, with --short 3 minutes, with --full hours: only then are
run kinship of 1,000,000 birds, genotypes of 5,000 birds and with every dam unsure, pgmpy at 200
birds, plans of 2,000 and 10,000 hens, HiGHS for each pair and for the losses of 200 hens, 200
replicates of the coming seasons, the gene drop over 24 generations, and the check of books of 750
and 1,500 birds, where all that birds carry is worked out. What a scale takes: NAME --help.

{chr(10).join(f"  {name:<10} {about}" for name, about in BENCHMARKS.items())}
"""


def main(words: list[str]) -> int:
    """Run what the first word names; without one say what there is."""
    name, *more = words or ["--help"]
    if name in {"--help", "-h"}:
        sys.stdout.write(USAGE)
        return 0
    if name == "all":
        return collecting.main(more, BENCHMARKS)
    if name not in BENCHMARKS:
        sys.stderr.write(f"no benchmark is called {name}\n{USAGE}")
        return 2
    bench: Bench = importlib.import_module(f"tests.bench.{name}").BENCH
    run(name, bench, more)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
