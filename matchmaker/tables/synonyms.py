"""What keepers call the columns that several tables have."""

from __future__ import annotations

from typing import Final

BAND_WORDS: Final = (
    *("band", "ring", "leg band", "leg ring", "wing band", "wing tag", "tag"),
    *("id", "bird id", "band number", "ring number", "band no", "ring no", "number"),
)
PEN_WORDS: Final = ("house", "coop", "breeding pen")
HEN_WORDS: Final = ("female", "hen band", "hen ring", "dam", "mother")
OUT_WORDS: Final = ("out", "to", "until", "date out")
COCK_WORDS: Final = ("male", "rooster", "cock band", "cock ring", "sire", "father")
