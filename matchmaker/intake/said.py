"""What the name of a sheet says of every row on it: hens, or the birds of one pen."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import tokens_of

if TYPE_CHECKING:
    from collections.abc import Collection

    from matchmaker.intake.model import Block

_HENS: Final = frozenset({"hen", "hens", "pullet", "pullets", "female", "females", "ladies"})
_COCKS: Final = frozenset(
    {"cock", "cocks", "cockerel", "cockerels", "rooster", "roosters", "male", "males"}
)
_PEN: Final = re.compile(r"(?:breeding )?(?:pen|run|coop) +(?:no\.? *)?(\S+)", re.IGNORECASE)
_WITH_PEN: Final = frozenset({"moves", "eggs", "plan"})


def said_by_name(
    block: Block, table: str, targets: Collection[tuple[str, str]]
) -> tuple[tuple[str, str, str], ...]:
    """Return the ``(table, column, value)`` that the sheet's name says where no column does.

    Examples
    --------
    >>> from matchmaker.intake.model import Block
    >>> block = Block(file="a.xlsx", sheet="Hens 2025", header_row=1, headers=("Ring",), rows=())
    >>> said_by_name(block, "birds", {("birds", "bird")})
    (('birds', 'sex', 'hen'),)
    """
    name = block.sheet or PurePath(block.file).stem
    found: list[tuple[str, str, str]] = []
    if table == "birds" and ("birds", "sex") not in targets:
        tokens = set(tokens_of(name.replace("_", " ")))
        sexes = [sex for sex, words in (("hen", _HENS), ("cock", _COCKS)) if tokens & words]
        found += [("birds", "sex", sex) for sex in sexes if len(sexes) == 1]
    pen = _PEN.fullmatch(name.strip())
    owner = "moves" if table == "birds" else table
    if pen and owner in _WITH_PEN and (owner, "pen") not in targets:
        found.append((owner, "pen", pen[1]))
    return tuple(found)
