"""What is known of a locus: how it is inherited, who shows it, and what it does to its bearers."""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Literal, TypeAlias, cast

from matchmaker.errors import Fault
from matchmaker.genetics.transmission import Inheritance
from matchmaker.settings import LocusSettings, Settings
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

Dominance: TypeAlias = Literal["dominant", "recessive", "incomplete"]
ShownBy: TypeAlias = Literal["both", "hen", "cock"]

SETTINGS_FILE = "matchmaker.toml"


class Look(StrEnum):
    """What a keeper can tell of a locus by eye."""

    HIDDEN = "hidden"
    ONE_COPY = "one copy"
    SHOWN = "shown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Locus:
    """One locus with two alleles; *copies* always counts the allele the symbol names.

    ``lethal`` are the copy numbers that no pair should produce (dead or crippled chicks); ``dies``
    are those among them that never live to be banded. ``donor_frequency`` is the frequency of the
    allele in founders of any breed but the recurrent one, unless ``frequency`` names the breed.
    """

    symbol: str
    name: str
    wild_type: str = "+"
    z_linked: bool = False
    dominance: Dominance = "dominant"
    shown_by: ShownBy = "both"
    shows_at_days: int = 0
    penetrance: float = 1.0
    error: float = 0.0
    lethal: tuple[int, ...] = ()
    dies: tuple[int, ...] = ()
    frequency: Mapping[str, float] = field(default_factory=dict, hash=False)
    donor_frequency: float = 1.0
    linked_to: str | None = None
    recombination: float | None = None
    shown_words: tuple[str, ...] = ()
    one_copy_words: tuple[str, ...] = ()
    either_words: tuple[str, ...] = ()
    hidden_words: tuple[str, ...] = ()
    safe_copies_max: int = 2
    caution: str = ""
    source: str = ""
    confidence: str = ""

    @property
    def inheritance(self) -> Inheritance:
        """The part that decides how alleles pass from parents to living chicks."""
        return Inheritance(self.z_linked, self.dies)

    def copy_numbers(self, sex: Sex) -> range:
        """Copy numbers a bird of this sex can have: 0 to 2, a hen at a Z-linked locus 0 or 1."""
        return range(2 if self.z_linked and sex is Sex.HEN else 3)

    def dose(self, copies: int, sex: Sex) -> int:
        """Copies as the body feels them: a hen's only allele on the Z has no partner to mask it.

        Examples
        --------
        >>> catalogue()["choc"].dose(1, Sex.HEN), catalogue()["choc"].dose(1, Sex.COCK)
        (2, 1)
        """
        return self.inheritance.dose(sex, copies)

    def can_show(self, sex: Sex) -> bool:
        """Whether a bird of this sex can show the locus at all."""
        return self.shown_by in {"both", str(sex)}

    def phenotype(self, copies: int, sex: Sex) -> Look:
        """What an adult looks like if the locus always shows; a sex that cannot show it hides it.

        Examples
        --------
        >>> (
        ...     str(catalogue()["O"].phenotype(1, Sex.HEN)),
        ...     str(catalogue()["O"].phenotype(2, Sex.COCK)),
        ... )
        ('shown', 'hidden')
        """
        if not self.can_show(sex):
            return Look.HIDDEN
        return self.look_of_dose(self.dose(copies, sex))

    def look_of_dose(self, dose: int) -> Look:
        """Look of 0, 1 or 2 effective copies by dominance alone, age and sex aside."""
        looks = {
            "dominant": (Look.HIDDEN, Look.SHOWN, Look.SHOWN),
            "recessive": (Look.HIDDEN, Look.HIDDEN, Look.SHOWN),
            "incomplete": (Look.HIDDEN, Look.ONE_COPY, Look.SHOWN),
        }
        return looks[self.dominance][dose]

    def is_lethal(self, copies: int, sex: Sex) -> bool:
        """Whether a chick with these copies is one that no pair should produce."""
        return self.dose(copies, sex) in self.lethal

    def lives(self, copies: int, sex: Sex) -> bool:
        """Whether a chick with these copies can live to be banded."""
        return self.dose(copies, sex) not in self.dies

    def founder_frequency(self, breed: str, recurrent: str) -> float:
        """Frequency of the allele in a founder's gamete, 0 to 1.

        What the settings say of the breed; else 0 in the recurrent breed and ``donor_frequency``
        (1: the donor is taken as pure) in every other. A founder of no known breed: one half.

        Examples
        --------
        >>> [catalogue()["O"].founder_frequency(b, "sussex") for b in ("sussex", "araucana", "")]
        [0.0, 1.0, 0.5]
        """
        stated = {name.casefold(): share for name, share in self.frequency.items()}
        if breed.casefold() in stated:
            return stated[breed.casefold()]
        if not breed:
            return 0.5
        return 0.0 if breed.casefold() == recurrent.casefold() else self.donor_frequency


@cache
def catalogue() -> dict[str, Locus]:
    """Return the shipped loci by symbol (single genes with two alleles that fanciers work with).

    Examples
    --------
    >>> catalogue()["O"].name, catalogue()["S"].z_linked
    ('Blue eggshell', True)
    """
    text = resources.files("matchmaker.genetics").joinpath("loci.csv").read_text(encoding="utf-8")
    return {row["symbol"]: _from_row(row) for row in csv.DictReader(text.splitlines())}


def _from_row(row: dict[str, str]) -> Locus:
    return Locus(
        symbol=row["symbol"],
        name=row["name"],
        wild_type=row["wild_type"],
        z_linked=row["inheritance"] == "Z",
        dominance=cast("Dominance", row["dominance"]),
        shown_by=cast("ShownBy", row["shown_by"]),
        shows_at_days=int(row["shows_at_days"]),
        penetrance=float(row["penetrance"]),
        lethal=tuple(int(copies) for copies in _listed(row["lethal"])),
        dies=tuple(int(copies) for copies in _listed(row["dies"])),
        donor_frequency=float(row["donor_frequency"]),
        shown_words=_listed(row["shown_words"]),
        one_copy_words=_listed(row["one_copy_words"]),
        either_words=_listed(row["either_words"]),
        hidden_words=_listed(row["hidden_words"]),
        safe_copies_max=int(row["safe_copies_max"]),
        caution=row["caution"],
        source=row["source"],
        confidence=row["confidence"],
    )


def _listed(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split("|") if part.strip())


def resolve_loci(
    settings: Settings, symbols: Iterable[str]
) -> tuple[dict[str, Locus], list[Fault]]:
    """Return the loci that ``symbols`` name and the faults met on the way.

    ``[loci.X]`` changes what the catalogue says of X, or describes a locus of the keeper's own,
    which needs at least its inheritance and its dominance.

    Examples
    --------
    >>> settings = Settings(season=2027, recurrent="sussex", target={"O": 2})
    >>> loci, faults = resolve_loci(settings, ["O"])
    >>> loci["O"].name, faults
    ('Blue eggshell', [])
    """
    loci: dict[str, Locus] = {}
    faults: list[Fault] = []
    for symbol in dict.fromkeys(symbols):
        found = _resolve(settings, symbol)
        if isinstance(found, Locus):
            loci[symbol] = found
            faults += _link_faults(settings, found)
        else:
            faults.append(found)
    return loci, faults


def _resolve(settings: Settings, symbol: str) -> Locus | Fault:
    known = catalogue().get(symbol)
    stated = settings.loci.get(symbol)
    if known is not None:
        return known if stated is None else _changed(known, stated)
    if stated is None:
        return _unknown_locus(settings, symbol)
    missing = [key for key in ("inheritance", "dominance") if getattr(stated, key) is None]
    if missing:
        return _incomplete_locus(symbol, missing)
    return _changed(Locus(symbol=symbol, name=symbol, source="your settings"), stated)


def _changed(locus: Locus, stated: LocusSettings) -> Locus:
    plain = set(LocusSettings.model_fields) - {"inheritance", "lethal", "frequency"}
    new = {key: getattr(stated, key) for key in plain if getattr(stated, key) is not None}
    if stated.inheritance is not None:
        new["z_linked"] = stated.inheritance == "Z"
    if stated.lethal is not None:
        # What the catalogue knows to be crippled but living stays so; the rest is taken as deadly.
        living = set(locus.lethal) - set(locus.dies)
        new["lethal"] = stated.lethal
        new["dies"] = tuple(copies for copies in stated.lethal if copies not in living)
    return replace(locus, frequency=dict(stated.frequency), **new)


def _unknown_locus(settings: Settings, symbol: str) -> Fault:
    guess = _nearest(symbol, [*catalogue(), *settings.loci])
    mend = f"did you mean {guess}? Otherwise" if guess else "Correct the symbol or"
    return Fault(
        kind="unknown-locus",
        file=SETTINGS_FILE,
        column=f"loci.{symbol}",
        value=symbol,
        problem=f"there is no locus {symbol} in the catalogue or in the settings",
        mend=f"{mend} describe it under [loci.{symbol}] with inheritance and dominance",
    )


def _incomplete_locus(symbol: str, missing: list[str]) -> Fault:
    return Fault(
        kind="incomplete-locus",
        file=SETTINGS_FILE,
        column=f"loci.{symbol}",
        value=symbol,
        problem=f"{symbol} is not in the catalogue and its {' and '.join(missing)} is not given",
        mend=f"add {' and '.join(missing)} under [loci.{symbol}], or use a catalogue symbol",
    )


def _link_faults(settings: Settings, locus: Locus) -> list[Fault]:
    other = locus.linked_to
    if other is None or other in catalogue() or other in settings.loci:
        return []
    guess = _nearest(other, [*catalogue(), *settings.loci])
    fault = Fault(
        kind="unknown-locus",
        file=SETTINGS_FILE,
        column=f"loci.{locus.symbol}",
        value=other,
        problem=f"{locus.symbol} is said to be linked to {other}, which is no known locus",
        mend=f"did you mean {guess}?" if guess else "name a catalogue locus or describe it",
    )
    return [fault]


def _nearest(word: str, known: list[str]) -> str | None:
    for symbol in known:
        if symbol.casefold() == word.casefold():
            return symbol
    close = difflib.get_close_matches(word, known, n=1, cutoff=0.6)
    return close[0] if close else None
