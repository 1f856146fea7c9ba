"""What the data of the page says again and again: written once, and named by its place."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable


@dataclass(frozen=True, slots=True)
class Shared:
    """Things written once, and named by their place after that."""

    of: dict[Hashable, int] = field(default_factory=dict)

    def place(self, thing: Hashable) -> int:
        """The place of a thing, which is written if it is new.

        Examples
        --------
        >>> shared = Shared()
        >>> shared.place("a"), shared.place("b"), shared.place("a"), list(shared.of)
        (0, 1, 0, ['a', 'b'])
        """
        return self.of.setdefault(thing, len(self.of))
