"""What is wrong or doubtful in what was seen, in words, and how to mend it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from matchmaker.errors import CellMend, Fault
from matchmaker.genetics.genotypes.words import accepted
from matchmaker.tables.nearness import Likeness, Near, did_you_mean, meant, nearest
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matchmaker.genetics.genotypes.observed import Place
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.tables.records import BirdRecord, SeenRecord

BIRDS_FILE = "birds.csv"
SEEN_FILE = "seen.csv"


@dataclass(frozen=True, slots=True)
class Remarks:
    """What can be said of one place in the keeper's tables: each a fault, or a doubt."""

    place: Place

    def _says(self, kind: str, problem: str, mend: str) -> Fault:
        return Fault(
            kind=kind,
            file=self.place.file,
            row=self.place.row,
            column=self.place.column,
            value=self.place.words,
            problem=problem,
            mend=mend,
        )

    def unknown_locus(self, known: Iterable[str]) -> Fault:
        """A row or column that names no locus."""
        return self._says(
            "unknown-locus",
            f"{self.place.words or 'nothing'} is not a locus that this flock follows",
            did_you_mean(
                self.place.words,
                sorted(known),
                f"write one of {', '.join(sorted(known))}, or add [loci.SYMBOL] to the settings: "
                "empty for a symbol that matchmaker loci lists, else with a few words on it",
            ),
        )

    def unknown_bird(self, column: str, band: str) -> Fault:
        """A band that is not in the books."""
        return Fault(
            kind="unknown-bird",
            file=self.place.file,
            row=self.place.row,
            column=column,
            value=band,
            problem=f"there is no bird {band} in {BIRDS_FILE}",
            mend="correct the band, or add the bird",
        )

    def wrong_sex(self, role: str, bird: BirdRecord) -> Fault:
        """A hen named as the cock of counted chicks, or the other way round."""
        found = self._says(
            "wrong-sex",
            f"{bird.bird} is named as the {role} but is a {bird.sex}",
            "correct the band or the sex",
        )
        return replace(found, birds=(bird.bird,))

    def unsexed(self, role: str, band: str) -> Fault:
        """A possible parent of counted chicks of which nobody wrote whether it is a cock."""
        return self._says(
            "no-sex",
            f"{band} is named as a possible {role}, but its sex is not written",
            "write its sex in the table of birds",
        )

    def one_bird_counted(self, band: str, words: str) -> Fault:
        """A count of chicks written for one banded bird."""
        return self._says(
            "one-bird-counted",
            f"{band} is one bird, but {words} is written",
            "write what that bird shows, or name hen and cock instead of the bird",
        )

    def unknown_class(self, locus: Locus, words: str) -> Fault:
        """Words that mean nothing at a locus."""
        near = nearest(words, accepted(locus).split(", "))
        found = self._says(
            "unknown-class",
            f"{words!r} says nothing about {_named(locus)}",
            meant(near, f"write one of: {accepted(locus)}"),
        )
        return replace(found, mends=self._cell(words, near))

    def _cell(self, words: str, near: Near) -> tuple[CellMend, ...]:
        """The mend of a cell that holds one mistyped word and nothing else."""
        place, only = self.place, near.only
        if only is None or near.likeness is Likeness.SHAPE or place.words != words:
            return ()
        table = place.file.removesuffix(".csv")
        return (CellMend(table=table, row=place.row, column=place.column, was=words, becomes=only),)

    def impossible_genotype(self, bird: BirdRecord, locus: Locus) -> Fault:
        """More alleles, or fewer, than a bird of that sex has at a Z-linked locus."""
        alleles, mend = "one Z, so one allele", "write 0, 1 or one allele"
        if bird.sex is not Sex.HEN:
            alleles, mend = "two Z, so two alleles", "write both alleles"
        return self._says(
            "impossible-copies",
            f"{bird.bird} is a {bird.sex} and has {alleles} of {locus.symbol}",
            f"{mend}, or correct the sex",
        )

    def sex_cannot_show(self, locus: Locus, bird: BirdRecord) -> Fault:
        """A look written for a bird of the sex that does not show the locus."""
        who = "of unknown sex" if bird.sex is None else f"a {bird.sex}"
        return self._says(
            "sex-cannot-show",
            f"{locus.name} shows in {locus.shown_by}s only and {bird.bird} is {who}: not counted",
            "leave it empty, write a DNA result, or correct the sex",
        )

    def too_young(self, locus: Locus, seen: str, mend: str) -> Fault:
        """A look that age may still change; ``seen`` says of whom and how young."""
        return self._says(
            "too-young-to-show",
            f"{locus.name} shows at {locus.shows_at_days} day"
            f"{'' if locus.shows_at_days == 1 else 's'} and {seen}: not counted",
            mend,
        )

    def without_parents(self, row: SeenRecord) -> Fault:
        """A count of chicks of which not both parents are named."""
        named, missing = row.hen or row.cock, "cock" if row.hen else "hen"
        if named:
            problem = f"these chicks of {named} have no {missing} named, and it takes both"
            mend = f"name the {missing}, or all it can have been as in H1|H2"
        else:
            pen = f" of pen {row.pen}" if row.pen else ""
            problem = f"these chicks{pen} have no hen and no cock named, so they speak of no bird"
            mend = "name both where they are known, or band the chicks and give them their parents"
        return self._says("chicks-without-parents", f"{problem}: not counted", mend)


def _named(locus: Locus) -> str:
    """Name and symbol, once where a locus has no other name."""
    named = locus.name != locus.symbol
    return f"{locus.name} ({locus.symbol})" if named else locus.symbol
