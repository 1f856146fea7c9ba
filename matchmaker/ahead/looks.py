"""What a keeper sees of a bird's genes, and the words in which he writes it down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matchmaker.genetics.genotypes.words import HIDDEN, NO, SHOWN, YES, meaning, tidy
from matchmaker.genetics.loci.locus import Look

if TYPE_CHECKING:
    import numpy as np

    from matchmaker.ahead.birds import Alleles
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.tables.records import Sex


def seen_as(
    locus: Locus, alleles: Alleles, copies: int, sex: Sex, rng: np.random.Generator
) -> str | None:
    """The words for a bird's look at a locus; ``None`` where its sex never shows it.

    ``alleles`` are the numbers of its own, ``copies`` those of the named one. An allele that shows
    does so with the penetrance of the locus, and a look is taken for another with its scoring
    error. Of a series the most dominant allele is seen.
    """
    if not locus.can_show(sex):
        return None
    if locus.series:
        return _of_series(locus, alleles)
    look = locus.phenotype(copies, sex)
    if look is not Look.HIDDEN and rng.random() >= locus.penetrance:
        look = Look.HIDDEN
    if rng.random() < locus.error:
        look = Look.SHOWN if look is Look.HIDDEN else Look.HIDDEN
    return word_for(locus, look)


def word_for(locus: Locus, look: Look) -> str:
    """A word that ``seen.csv`` understands as this look.

    Examples
    --------
    >>> from matchmaker.genetics.loci.locus import Locus
    >>> word_for(Locus(symbol="P", name="Pea comb", shown_words=("pea",)), Look.SHOWN)
    'pea'
    >>> word_for(Locus(symbol="X", name="Own locus"), Look.HIDDEN)
    'no'
    """
    own = {
        Look.SHOWN: (*locus.shown_words, YES[0]),
        Look.ONE_COPY: (*locus.one_copy_words, "one copy"),
        Look.HIDDEN: (*locus.hidden_words, NO[0]),
    }[look]
    asked = {Look.SHOWN: SHOWN, Look.HIDDEN: HIDDEN}.get(look)
    return next((word for word in own if asked is None or meaning(locus, word) == asked), own[-1])


def _of_series(locus: Locus, alleles: Alleles) -> str | None:
    top = locus.series[int(alleles[alleles >= 0].min())]
    words = [tidy(word) for word in (*top.words, top.name) if word]
    return next((word for word in words if meaning(locus, word) is not None), None)
