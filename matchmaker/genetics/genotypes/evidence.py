"""What was seen or tested at one locus, as weights on the copies of birds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, TypedDict

from matchmaker.genetics.genotypes.evidence_faults import BIRDS_FILE, SEEN_FILE, Remarks
from matchmaker.genetics.genotypes.observed import ChickCount, Evidence, Place, Sighting, birds_of
from matchmaker.genetics.genotypes.words import is_certain, may_be_unripe, meaning, tidy, weights
from matchmaker.tables.parents import read_parent
from matchmaker.tables.records import BirdRecord, Parentage, SeenRecord, Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.errors import Fault
    from matchmaker.genetics.genotypes.observed import Weights
    from matchmaker.genetics.loci.locus import Locus


class _Several(TypedDict, total=False):
    hens: tuple[tuple[str, float], ...]
    cocks: tuple[tuple[str, float], ...]


LATER = "look again when it is older"

BLANK = ("", "?", "unknown", "n/a")


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceReading:
    """What the tables say of one locus; ``doubts`` list what was set aside, and why."""

    evidence: tuple[Evidence, ...]
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]


def read_evidence(
    birds: Sequence[BirdRecord],
    seen: Sequence[SeenRecord],
    locus: Locus,
    today: dt.date | None = None,
) -> EvidenceReading:
    """Return all usable evidence on one locus.

    Rows of ``seen.csv`` replace the bird's own locus column. Set aside with a doubt: what a bird
    of that sex cannot show, what it was too young to show, and counts of chicks whose hen or cock
    is not named. A locus column counts as seen ``today``; without that day no age is known, and the
    bird is taken for grown. A report counts as seen by an adult's looks; only ``dna`` is exact.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> hen = BirdRecord(row=2, bird="H1", sex=Sex.HEN, seen={"P": "pea"})
    >>> reading = read_evidence([hen], [], catalogue()["P"])
    >>> [(one.bird, one.weights[1]) for one in reading.evidence]
    [('H1', (0.0, 1.0, 1.0))]
    """
    reader = _Reader(locus, {bird.bird: bird for bird in birds}, today)
    rows = [row for row in seen if _same(row.locus, locus.symbol) and not _blank(row)]
    told = {row.bird for row in rows if row.bird}
    for bird in birds:
        if bird.bird not in told:
            reader.column(bird)
    for row in rows:
        reader.row(row)
    return EvidenceReading(
        evidence=tuple(sorted(reader.evidence, key=_content)),
        faults=tuple(reader.faults),
        doubts=tuple(reader.doubts),
    )


def unknown_loci(
    birds: Iterable[BirdRecord], seen: Iterable[SeenRecord], loci: Mapping[str, Locus]
) -> list[Fault]:
    """Return a fault for each row of ``seen.csv`` and each locus column that names no locus.

    Examples
    --------
    >>> from matchmaker.genetics.loci.catalogue import catalogue
    >>> hen = BirdRecord(row=2, bird="H1", seen={"Q": "yes"})
    >>> [(fault.row, fault.value) for fault in unknown_loci([hen], [], {"P": catalogue()["P"]})]
    [(2, 'Q')]
    """
    known = {symbol.casefold() for symbol in loci}
    places = [
        Place(file=BIRDS_FILE, row=bird.row, column=symbol, words=symbol)
        for bird in birds
        for symbol in bird.seen
    ]
    places += [Place(file=SEEN_FILE, row=row.row, column="locus", words=row.locus) for row in seen]
    return [
        Remarks(place).unknown_locus(loci)
        for place in places
        if place.words.casefold() not in known
    ]


@dataclass(frozen=True, slots=True)
class _Read:
    """What words say of a bird: weights, whether they are certain, or may change with age."""

    weights: Weights
    certain: bool
    unripe: bool

    @classmethod
    def of(cls, locus: Locus, words: str, *, dna: bool) -> _Read | None:
        meant = meaning(locus, words, dna=dna)
        if meant is None:
            return None
        return cls(weights(locus, meant, dna=dna), is_certain(meant), may_be_unripe(meant))


@dataclass(slots=True)
class _Reader:
    """Collects evidence, faults and doubts of one locus while the tables are gone through."""

    locus: Locus
    birds: Mapping[str, BirdRecord]
    today: dt.date | None
    evidence: list[Evidence] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)
    _read: dict[tuple[str, bool], _Read | None] = field(default_factory=dict)

    def column(self, bird: BirdRecord) -> None:
        """Read the locus column of ``birds.csv``."""
        for symbol, words in bird.seen.items():
            if _same(symbol, self.locus.symbol) and tidy(words) not in BLANK:
                place = Place(file=BIRDS_FILE, row=bird.row, column=symbol, words=words)
                self._sighting(bird, place, "adult", self._last_seen(bird))

    def _last_seen(self, bird: BirdRecord) -> dt.date | None:
        """The latest day on which a bird can have been looked at: the day it left, else today.

        Of a bird gone without a date only the hatch date is sure.
        """
        if bird.status.alive_here:
            return self.today
        return bird.left_on or bird.hatched

    def row(self, row: SeenRecord) -> None:
        """Read one row of ``seen.csv``."""
        if not row.bird:
            place = Place(file=SEEN_FILE, row=row.row, column="what", words=_listed(row))
            self._count(row, place)
            return
        place = Place(file=SEEN_FILE, row=row.row, column="what", words=row.what[0][0])
        bird = self.birds.get(row.bird)
        if bird is None:
            self.faults.append(Remarks(place).unknown_bird("bird", row.bird))
        elif len(row.what) > 1 or row.what[0][1] != 1:
            self.faults.append(Remarks(place).one_bird_counted(row.bird, _listed(row)))
        else:
            self._sighting(bird, place, row.how, row.date)

    def _sighting(self, bird: BirdRecord, place: Place, how: str, date: dt.date | None) -> None:
        dna = how == "dna"
        read = self._meaning(place, place.words, dna=dna)
        if read is None:
            return
        if read.certain and not any(_for_bird(read.weights, bird.sex)):
            self.faults.append(Remarks(place).impossible_genotype(bird, self.locus))
            return
        if not (dna or read.certain):
            doubt = self._unfit(bird, place, read, _age(bird, how, date))
            if doubt is not None:
                self.doubts.append(doubt)
                return
        self.evidence.append(Sighting(bird=bird.bird, weights=read.weights, place=place))

    def _unfit(self, bird: BirdRecord, place: Place, read: _Read, age: int | None) -> Fault | None:
        """Return the doubt for which a look is set aside, if there is one."""
        locus = self.locus
        if locus.shown_by not in {"both", bird.sex}:
            return Remarks(place).sex_cannot_show(locus, bird)
        if read.unripe and age is not None and age < locus.shows_at_days:
            return Remarks(place).too_young(locus, *_seen_young(bird, age))
        return None

    def _count(self, row: SeenRecord, place: Place) -> None:
        """Read a count of unbanded chicks."""
        if not (row.hen and row.cock):
            self.doubts.append(Remarks(place).without_parents(row))
            return
        sides = (_possible(row.hen), _possible(row.cock))
        named: tuple[tuple[Literal["hen", "cock"], str], ...] = (
            *(("hen", band) for band, _ in sides[0]),
            *(("cock", band) for band, _ in sides[1]),
        )
        several = len(named) > 2
        wrong = [
            fault
            for role, band in named
            for fault in self._role(place, role, band, several=several)
        ]
        self.faults += wrong
        dna = row.how == "dna"
        meant = [(self._meaning(place, name, dna=dna), count) for name, count in row.what]
        known = [(one, count) for one, count in meant if one is not None]
        if wrong or len(known) < len(meant):
            return
        self._counted(row, place, known)

    def _counted(self, row: SeenRecord, place: Place, classes: list[tuple[_Read, int]]) -> None:
        locus, dna = self.locus, row.how == "dna"
        by_eye = not dna and not all(one.certain for one, _ in classes)
        hidden = any(one.unripe for one, _ in classes)
        if by_eye and row.how == "day-old" and hidden and locus.shows_at_days > 1:
            self.doubts.append(
                Remarks(place).too_young(
                    locus, "these are day-old chicks", "look again when they are older"
                )
            )
            return
        limited = by_eye and locus.shown_by != "both"
        self.evidence.append(
            ChickCount(
                hen=row.hen,
                cock=row.cock,
                classes=tuple((one.weights, count) for one, count in classes),
                sex=Sex(locus.shown_by) if limited else None,
                place=place,
                **_several(row),
            )
        )

    def _role(
        self, place: Place, role: Literal["hen", "cock"], band: str, *, several: bool
    ) -> list[Fault]:
        bird = self.birds.get(band)
        if bird is None:
            return [Remarks(place).unknown_bird(role, band)]
        if bird.sex is not None and bird.sex != role:
            return [Remarks(place).wrong_sex(role, bird)]
        if several and bird.sex is None:
            return [Remarks(place).unsexed(role, band)]
        return []

    def _meaning(self, place: Place, words: str, *, dna: bool) -> _Read | None:
        """What words say; few things are seen of many birds: each is weighed once."""
        if (words, dna) not in self._read:
            self._read[words, dna] = _Read.of(self.locus, words, dna=dna)
        found = self._read[words, dna]
        if found is None:
            self.faults.append(Remarks(place).unknown_class(self.locus, words))
        return found


def _content(evidence: Evidence) -> tuple[tuple[str, ...], str, str]:
    """Order of evidence that no order of rows can change."""
    return (birds_of(evidence), evidence.place.file, evidence.place.words)


def _possible(cell: str) -> tuple[tuple[str, float], ...]:
    """The birds that a cell of hen or cock names: one, or several as in H1|H2."""
    read = read_parent(cell).value
    return read.candidates if isinstance(read, Parentage) and read.candidates else ((cell, 1.0),)


def _several(row: SeenRecord) -> _Several:
    """All possible parents of counted chicks, if more than one on a side is."""
    hens, cocks = _possible(row.hen), _possible(row.cock)
    return {"hens": hens, "cocks": cocks} if len(hens) + len(cocks) > 2 else {}


def _listed(row: SeenRecord) -> str:
    """What was seen, with the number of each."""
    return ", ".join(f"{count} {name}" for name, count in row.what)


def _same(one: str, two: str) -> bool:
    return one.casefold() == two.casefold()


def _blank(row: SeenRecord) -> bool:
    return all(tidy(name) in BLANK for name, _ in row.what)


def _for_bird(found: Weights, sex: Sex | None) -> tuple[float, ...]:
    cock, hen = found
    if sex is None:
        return cock + hen
    return hen if sex is Sex.HEN else cock


def _seen_young(bird: BirdRecord, age: int) -> tuple[str, str]:
    """How young a bird was when it was seen, and what to do."""
    if bird.hatched_is_year:
        only_year = f"{bird.bird}, of which only the year of hatching is written,"
        young = f"{only_year} may have been younger when it was seen"
        return young, f"write the day on which it hatched, or {LATER}"
    if age < 0:
        return f"{bird.bird} was seen before it hatched", "mend one of the two dates"
    return f"{bird.bird} was seen at {age} day{'' if age == 1 else 's'}", LATER


def _age(bird: BirdRecord, how: str, date: dt.date | None) -> int | None:
    """Age in days when seen; a bird with only a year is taken as hatched at its end.

    On the day it hatched a chick is day-old, whatever is written of how it was seen.
    """
    if how == "day-old":
        return 1
    if date is None or bird.hatched is None:
        return None
    hatched = bird.hatched
    if bird.hatched_is_year:
        hatched = hatched.replace(month=12, day=31)
    return (date - hatched).days or 1
