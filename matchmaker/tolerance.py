"""Every numerical tolerance in one place, each with its reason."""

from typing import Final

INTEGRALITY: Final = 1e-6
"""How far a solver may leave a whole number; HiGHS's own default."""

VALUE_STEP: Final = 0.001
"""Pair values are rounded to this grid before solving, so that ties are true ties."""

OBJECTIVE: Final = 1e-6
"""Two plan values closer than this are equal: far below ``VALUE_STEP``, above solver noise."""

LIMIT: Final = 1e-9
"""How far a computed kinship or probability may pass a limit before it breaks it: rounding noise
must not reject a pair that is exactly at the cap."""

PROBABILITY_SUM: Final = 1e-9
"""How far weights that must sum to one may miss it after being read from text."""
