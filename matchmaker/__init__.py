"""Which hens go with which cock: breeding pens for a backcross flock, proved best under the rules.

What the command line does, ``matchmaker.verbs`` does: a function for each command, of the same
name, each taking a flock folder. They are, in the order in which a season needs them:

======================  ============================================================
``new``                 start a flock folder, or copy an example
``check``               every fault and doubt in its tables
``flock``               kinship, breed share, genotypes and merit of its birds
``pairs``               every hen with every cock: could they pair, what it is worth
``tests``               which birds to test before planning
``plan``                the pens of this spring, proved best
``why``                 why a pair, a bird, a pen or the plan is as it is
``rebalance``           a bird is lost: the smallest good change
``season``              dates, eggs to set, chicks to expect
``hatch``               what hatched: whose the chicks are, how they fit
``grade``               which young birds to keep
``route``               the way to the target, season by season
``ahead``               the coming seasons, simulated
``report``              all that the page shows
``loci``                the genes it knows
======================  ============================================================

>>> from pathlib import Path
>>> import matchmaker
>>> callable(matchmaker.verbs.plan)
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from types import ModuleType

__version__ = "0.1.0"

COMMANDS: Final = (
    *("new", "check", "flock", "pairs", "tests", "plan", "why", "rebalance"),
    *("season", "hatch", "grade", "route", "ahead", "report", "loci"),
)
"""The commands, and the verbs of the same names, as a season needs them one after the other."""

__all__ = ["COMMANDS", "__version__"]


def __getattr__(name: str) -> ModuleType:
    """``matchmaker.verbs``, imported when it is first asked for: it takes a second."""
    if name == "verbs":
        return import_module("matchmaker.verbs")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
