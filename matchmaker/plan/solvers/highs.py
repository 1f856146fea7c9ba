"""HiGHS, or ``None`` where it is not installed: CBC then stands in."""

from __future__ import annotations

import importlib
from typing import Any, TypeAlias

Highs: TypeAlias = Any
"""Objects of highspy, which carries no types."""

highspy: Any
try:
    highspy = importlib.import_module("highspy")
except ImportError:
    highspy = None


THREADS = 1
SEED = 0

FEW_SIDE_SEARCHES = {
    "mip_pool_soft_limit": 100,
    "mip_heuristic_effort": 0.05,
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_run_rens": False,
    "mip_heuristic_run_root_reduced_cost": False,
    "mip_heuristic_run_shifting": False,
    "mip_heuristic_run_zi_round": False,
}
"""With a good plan at hand, or the pens settled, most of the solver's own attempts at plans only
cost time (measured on the bench's flocks and the examples)."""


def one_thread_again() -> None:
    """Forget the threads of whatever solved before in this process: one thread is asked for.

    HiGHS keeps one scheduler for the whole process and stops unsolved where another model was run
    with another number of threads.
    """
    if highspy is not None:
        highspy.Highs.resetGlobalScheduler(True)  # noqa: FBT003  (the library takes it by position)


def new_highs() -> Highs:
    """Return a quiet HiGHS with one thread and a fixed seed."""
    one_thread_again()
    solver = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", THREADS), ("random_seed", SEED)):
        solver.setOptionValue(option, value)
    return solver
