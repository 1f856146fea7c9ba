"""Names as ``matchmaker.toml`` wants them: keys, texts and headings of sections."""

from __future__ import annotations

import json
import re
from typing import Final

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")

_LISTED: Final = re.compile(r"^(matings|correlations)\.(\d+)")


def toml_text(text: str) -> str:
    r"""A text in quotation marks.

    Examples
    --------
    >>> print(toml_text('the "grey"'))
    "the \"grey\""
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_key(name: str) -> str:
    """A name as a key: in quotation marks unless it is of plain letters, figures, - and _.

    Examples
    --------
    >>> toml_key("egg_weight"), toml_key("Egg weight")
    ('egg_weight', '"Egg weight"')
    """
    return name if _BARE.fullmatch(name) else toml_text(name)


def section(*names: str) -> str:
    """The heading of a section.

    Examples
    --------
    >>> section("traits", "eggs_12wk"), section("loci", "O", "frequency")
    ('[traits.eggs_12wk]', '[loci.O.frequency]')
    >>> print(section("traits", "Egg weight"))
    [traits."Egg weight"]
    """
    return f"[{'.'.join(map(toml_key, names))}]"


def counted(key: str) -> str:
    """A dotted key as it is shown: entries of lists are counted from 1.

    Examples
    --------
    >>> counted("correlations.0.traits"), counted("matings.1"), counted("traits.0.h2")
    ('correlations, entry 1, traits', 'matings, entry 2', 'traits.0.h2')
    """
    found = _LISTED.match(key)
    if found is None:
        return key
    rest = key[found.end() :].removeprefix(".")
    return f"{found[1]}, entry {int(found[2]) + 1}" + (f", {rest}" if rest else "")
