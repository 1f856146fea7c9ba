"""Run one benchmark beside its peer: ``python -m tests.bench NAME ...``, as in ``BENCHMARKS``."""

from __future__ import annotations

import importlib
import sys

BENCHMARKS = (
    "plan",
    "kinship",
    "genotypes",
    "merit",
    "frontier",
    "diagnosis",
    "regret",
    "rebalance",
    "drop",
    "spring",
    "ahead",
    "pedigree",
    "report",
    "check",
)


def main() -> None:
    """Hand the arguments on to the benchmark that the first of them names."""
    name, *arguments = sys.argv[1:] or [""]
    if name not in BENCHMARKS:
        sys.exit(f"usage: python -m tests.bench {'|'.join(BENCHMARKS)} [--help]")
    importlib.import_module(f"tests.bench.{name}").main(arguments)


if __name__ == "__main__":
    main()
