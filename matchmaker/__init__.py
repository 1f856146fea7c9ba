"""Which hens go with which cock: breeding pens for a backcross flock, proved best under the rules.

The verbs are those of the command line: ``check``, ``read``, ``study``, ``pairs``, ``plan`` and
``score``, each taking a flock folder.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matchmaker.verbs import check, pairs, plan, read, score, study

__version__ = "0.1.0"

__all__ = ["__version__", "check", "pairs", "plan", "read", "score", "study"]


def __getattr__(name: str) -> object:
    """Load the verbs when first asked for, so that ``matchmaker --help`` stays quick."""
    if name in __all__:
        from matchmaker import verbs

        return getattr(verbs, name)
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)
