"""A keeper's words for one locus, and how well each number of copies fits them."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

from matchmaker.genetics.loci import Locus, Look
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Callable

    from matchmaker.genetics.observed import Weights

Meaning: TypeAlias = frozenset[Look] | frozenset[int]
"""What words say: the looks they may mean, or the numbers of copies."""

YES = ("yes", "shows", "shown", "+")
NO = ("no", "does not show", "hidden", "-")
COPIES: dict[str, frozenset[int]] = {
    **{f"{copies}{unit}": frozenset({copies}) for copies in range(3) for unit in ("", " copies")},
    "1 copy": frozenset({1}),
    "none": frozenset({0}),
    "one copy": frozenset({1}),
    "two copies": frozenset({2}),
    "carrier": frozenset({1, 2}),
}
CARRIES = frozenset({Look.ONE_COPY, Look.SHOWN})


def tidy(words: str) -> str:
    """Return words in small letters with single spaces, as they are compared.

    Examples
    --------
    >>> tidy("  Blue  EGG ")
    'blue egg'
    """
    return " ".join(words.casefold().split())


def meaning(locus: Locus, words: str, *, dna: bool = False) -> Meaning | None:
    """Return what the words mean at this locus, ``None`` if they mean nothing there.

    A number or "carrier" speaks of copies; everything else of looks. A laboratory's plain yes or
    no to a recessive may mean one copy or two, so it means nothing.

    Examples
    --------
    >>> from matchmaker.genetics.loci import catalogue
    >>> meaning(catalogue()["O"], "olive") == {Look.SHOWN}, meaning(catalogue()["O"], "carrier")
    (True, frozenset({1, 2}))
    """
    plain = tidy(words)
    shown = frozenset({Look.SHOWN})
    either = CARRIES if locus.dominance == "incomplete" else shown
    own = (
        (locus.shown_words, shown),
        (locus.one_copy_words, frozenset({Look.ONE_COPY})),
        (locus.either_words, either),
        (locus.hidden_words, frozenset({Look.HIDDEN})),
    )
    for listed, looks in own:
        if plain in (tidy(word) for word in listed):
            return looks
    if plain in COPIES:
        return COPIES[plain]
    if dna and locus.dominance == "recessive":
        return None
    return either if plain in YES else frozenset({Look.HIDDEN}) if plain in NO else None


def accepted(locus: Locus) -> str:
    """Return the words understood at a locus, for a message.

    Examples
    --------
    >>> from matchmaker.genetics.loci import catalogue
    >>> accepted(catalogue()["Cr"]).split(", ")[:3]
    ['crest', 'crested', 'topknot']
    """
    own = (*locus.shown_words, *locus.one_copy_words, *locus.either_words, *locus.hidden_words)
    return ", ".join((*own, "yes", "no", "0 copies", "1 copy", "2 copies", "carrier"))


def weights(locus: Locus, meant: Meaning, *, dna: bool = False) -> Weights:
    """Return the chance of what was seen by copies, for a cock and for a hen.

    Copies are taken as certain. A look is blurred by the penetrance of the locus and by its
    scoring error (the chance that one look is written down as another); a test is not.

    Examples
    --------
    Pea comb is dominant: a bird that shows it has one copy or two.

    >>> from matchmaker.genetics.loci import catalogue
    >>> pea = catalogue()["P"]
    >>> weights(pea, frozenset({Look.SHOWN}))[0]
    (0.0, 1.0, 1.0)
    """
    chance = _of_copies if any(isinstance(one, int) for one in meant) else _of_look
    if dna and chance is _of_look:
        chance = _of_tested_look
    return (_row(chance, locus, meant, Sex.COCK), _row(chance, locus, meant, Sex.HEN))


def _row(
    chance: Callable[[Locus, Meaning, int, Sex], float], locus: Locus, meant: Meaning, sex: Sex
) -> tuple[float, ...]:
    return tuple(chance(locus, meant, copies, sex) for copies in locus.copy_numbers(sex))


def _of_copies(locus: Locus, meant: Meaning, copies: int, sex: Sex) -> float:  # noqa: ARG001
    return float(copies in meant)


def _of_tested_look(locus: Locus, meant: Meaning, copies: int, sex: Sex) -> float:
    return float(locus.look_of_dose(locus.dose(copies, sex)) in _for_sex(locus, meant, sex))


def _of_look(locus: Locus, meant: Meaning, copies: int, sex: Sex) -> float:
    """P(look written | copies): the true look through penetrance, then through the error."""
    meant = _for_sex(locus, meant, sex)
    kinds = 3 if locus.dominance == "incomplete" else 2
    look = locus.phenotype(copies, sex)
    true: dict[Look, float] = {look: locus.penetrance, Look.HIDDEN: 1.0 - locus.penetrance}
    if look is Look.HIDDEN:
        true = {Look.HIDDEN: 1.0}
    elsewhere = locus.error / (kinds - 1)
    return sum(
        share * (1.0 - locus.error if seen == one else elsewhere)
        for seen in meant
        for one, share in true.items()
    )


def _for_sex(locus: Locus, meant: Meaning, sex: Sex) -> Meaning:
    """A hen with her one allele on the Z shows it in full: "one copy" looks are hers too."""
    if locus.z_linked and sex is Sex.HEN and Look.ONE_COPY in meant:
        return frozenset({Look.SHOWN})
    return meant
