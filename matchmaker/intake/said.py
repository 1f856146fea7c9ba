"""What a name says of every row under it: hens, or the birds of one pen.

The name is that of a sheet, or a heading among its rows.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from matchmaker.intake.header_words import parted, tokens_of
from matchmaker.intake.vocabulary import SHEETS

if TYPE_CHECKING:
    from collections.abc import Collection

_HENS: Final = frozenset({"hens", "pullets", "females"})
_COCKS: Final = frozenset({"cocks", "cockerels", "roosters", "males"})
_PEN: Final = re.compile(
    r"(?:breeding )?(?:pen|run|coop|stall|house)(?: +(?:no\.? *)?|(?=\d))([^\W_][^:,;]{0,20}?) *:?",
    re.IGNORECASE,
)
_NO_PENS: Final = frozenset().union(*map(parted, SHEETS.values())) | {"list", "names", "record"}
"""Words that make the name of a sheet none of a pen's, as in "Pen log"."""

_WITH_PEN: Final = frozenset({"moves", "eggs", "plan"})


def naming(text: str) -> tuple[str, str] | None:
    """Return the column and the value that a name says: a sex, or a pen.

    Examples
    --------
    >>> naming("Hens 2025"), naming("Breeding pen 3"), naming("Pen log"), naming("Hens & cocks")
    (('sex', 'hen'), ('pen', '3'), None, None)
    """
    pen = _PEN.fullmatch(text.strip())
    if pen is not None and not any(t.removesuffix("s") in _NO_PENS for t in tokens_of(pen[1])):
        return ("pen", pen[1])
    tokens = set(tokens_of(text.replace("_", " ")))
    sexes = [sex for sex, words in (("hen", _HENS), ("cock", _COCKS)) if tokens & words]
    return ("sex", sexes[0]) if len(sexes) == 1 else None


def said_by(
    name: str, table: str, targets: Collection[tuple[str, str]]
) -> tuple[tuple[str, str, str], ...]:
    """Return the ``(table, column, value)`` that a name says where no column does.

    Examples
    --------
    >>> said_by("Hens 2025", "birds", {("birds", "bird")})
    (('birds', 'sex', 'hen'),)
    >>> said_by("Pen 3", "birds", {("birds", "bird")})
    (('moves', 'pen', '3'),)
    """
    found = naming(name)
    if found is None:
        return ()
    column, value = found
    owner = "moves" if column == "pen" and table == "birds" else table
    fits = owner in _WITH_PEN if column == "pen" else table == "birds"
    return ((owner, column, value),) if fits and (owner, column) not in targets else ()
