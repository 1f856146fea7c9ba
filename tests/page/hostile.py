"""A flock in which every name is one that a careless page would stumble over."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from tests.builders import chick, cock, dna, hen, write_flock

if TYPE_CHECKING:
    from pathlib import Path

SCRIPT: Final = "<script>alert(1)</script>"
IMAGE: Final = "<img src=x onerror=alert(2)>"
QUOTES: Final = "\"'& &amp; &lt;"
COMMENT: Final = "--><hostile-name>"
LONG: Final = "Wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww40"
CYRILLIC: Final = "Рябушка-№7"
HEBREW: Final = "תרנגולת 12"
BIRD: Final = "🐓🏴\u200d☠️ 9"
BRACES: Final = "{{ 7 * 7 }}{% raw %}${7*7}`"
HANDLER: Final = "javascript:alert(3)".replace(":", ";")
ENDINGS: Final = "]]></style></title></textarea><hostile-name>"
SUMS: Final = "=1+1"
BACKSLASH: Final = "\\u003c\\n\\"
PROTOTYPE: Final = "__proto__"

COCKS: Final = (SCRIPT, QUOTES, LONG)
HENS: Final = (
    *(IMAGE, COMMENT, CYRILLIC, HEBREW, BIRD, BRACES),
    *(HANDLER, ENDINGS, SUMS, BACKSLASH, PROTOTYPE, "constructor"),
)
BANDS: Final = (*COCKS, *HENS)

LINE: Final = "Alder \"the 'old' one\" <hostile-name> & 'sons'"
PEN: Final = "Yard \"B\" <hostile-name onmouseover=alert(4)> & 'co' " + "n" * 40
REASON: Final = "</script><script>alert(5)</script>\"'&"
BREED: Final = "araucana <hostile-name> & \"co\" 'x'"


def hostile_flock(path: Path) -> Path:
    """Write the flock: birds, line, pens, breed and the reason of a wish, all of them hostile."""
    half = f"sussex:0.5|{BREED}:0.5"
    birds = [
        *(cock(band) for band in COCKS),
        *(hen(band, LINE, half, O="blue") for band in HENS[:6]),
        *(hen(band) for band in HENS[6:-1]),
        chick(HENS[-1], "hen", SCRIPT, HENS[6], "Pure"),
    ]
    pens = [
        {"pen": PEN, "hens_max": "6", "dam_known": "yes"},
        {"pen": SCRIPT, "hens_max": "6", "dam_known": "no"},
    ]
    wishes = [{"bird": SCRIPT, "with": HENS[7], "wish": "apart", "why": REASON}]
    settings = f"[lines.{json.dumps(LINE)}]\nchicks_wanted = 8\n"
    return write_flock(
        path,
        birds,
        settings,
        pens=pens,
        wishes=wishes,
        seen=[dna(band, "O", 1) for band in HENS[:3]],
    )
