"""Explanations of a clash as sentences that a keeper can check in the pen."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING, Final

from matchmaker.flock.listing import listed
from matchmaker.genetics.clash.suppositions import ParentRight, PoolPure, RecordRight, SexRight
from matchmaker.genetics.genotypes.observed import ChickCount, Sighting
from matchmaker.tables.records import Sex
from matchmaker.tables.toml_names import section

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matchmaker.flock.pedigree import Pool
    from matchmaker.genetics.clash.corrections import Clash, Correction
    from matchmaker.genetics.clash.suppositions import Supposition
    from matchmaker.genetics.genotypes.observed import Evidence, Place
    from matchmaker.genetics.loci.locus import Locus
    from matchmaker.tables.folder import FolderTables

NAMED_MAX: Final = 4
"""Most bands in one sentence; of more only the number is said."""

SETS_MAX: Final = 6
"""Most sets of several mistakes that are written out."""

NUMBERS: Final = {2: "two", 3: "three", 4: "four"}


class Wording:
    """Sentences on one locus of one flock folder."""

    def __init__(self, tables: FolderTables, locus: Locus, recurrent: str) -> None:
        self._tables = tables
        self._locus = locus
        self._recurrent = recurrent
        self._key = f"say so as frequency under {section('loci', locus.symbol)}"

    def mend(self, clash: Clash, shared: Mapping[str, Sequence[str]]) -> str:
        """What to check, in lines; ``shared``: what other loci a sentence would explain too."""
        single = self.alone(clash)
        single.sort(key=lambda sentence: -len(shared.get(sentence, ())))
        lines = [f"- {sentence}{_also(shared.get(sentence, ()))}" for sentence in single]
        if lines:
            lines.insert(0, _heading(len(single)))
        return "\n".join(lines + self._several(clash, after=bool(single)))

    def alone(self, clash: Clash) -> list[str]:
        """Each mistake that alone would explain everything at this locus, the likeliest first."""
        single = [one for (one,) in clash.corrections] if clash.mistakes_min == 1 else []
        return [*exchange_sentences(clash), *(self.wrong(one) for one in single)]

    def _several(self, clash: Clash, *, after: bool) -> list[str]:
        """Lines on explanations that need several mistakes at once."""
        if clash.mistakes_min == 1:
            return []
        if not clash.mistakes_min:
            return [
                f"no bird could live by what {section('loci', self._locus.symbol)} says: correct it"
            ]
        least = (
            f"{'else at' if after else 'at'} least {NUMBERS[clash.mistakes_min]} things are wrong"
        )
        if not clash.corrections:
            return [f"{least}; begin with the records named here"]
        lists = independent_lists(clash.corrections)
        if lists and not clash.unlisted:
            return [f"{least}, one of each list; check them in the pen:", *self._lists(lists)]
        sets = clash.corrections[:SETS_MAX]
        lines = [f"- {'; and '.join(self.wrong(one) for one in together)}" for together in sets]
        more = clash.unlisted or len(clash.corrections) > SETS_MAX
        return [
            f"{least}; these together, for example, would explain it:"
            if more
            else f"{least}; any of these together would explain it:",
            *self._key_once(lines),
        ]

    def _key_once(self, lines: Sequence[str]) -> list[str]:
        """Long lines without the key for founders, which is told once below them."""
        key = f" ({self._key})"
        told = [f"  {self._key}, if it is the founders"] if any(key in one for one in lines) else []
        return [*(line.replace(key, "") for line in lines), *told]

    def _lists(self, lists: Sequence[Sequence[Supposition]]) -> list[str]:
        return [
            f"- list {number}: {self.wrong(one)}"
            for number, some in enumerate(lists, 1)
            for one in some
        ]

    def wrong(self, one: Supposition) -> str:
        """Say that a supposition is wrong."""
        match one:
            case RecordRight(record=record):
                return self._record_wrong(record)
            case SexRight(bird=bird):
                return f"{bird} is sexed wrongly"
            case ParentRight():
                return _parent_wrong(one)
            case PoolPure(pool=pool):
                return self._impure(pool)

    def _record_wrong(self, record: Evidence) -> str:
        where = f"({self.spot(record.place)}: {record.place.words})"
        if isinstance(record, ChickCount):
            return f"the count of chicks of {_pair(record)} is wrong {where}"
        return f"what was seen of {record.bird} is wrong {where}"

    def _impure(self, pool: Pool) -> str:
        key = self._key
        founders = f"not all founders of the breed {_pool_name(pool)} are"
        taken = self._locus.founder_frequency(pool.breed, self._recurrent)
        if taken in {0.0, 1.0} and not self._locus.series:
            how = "pure for" if taken else "free of"
            return f"{founders} {how} {self._locus.name} ({key})"
        return f"{founders} what is taken of them at {self._locus.name} ({key})"

    def told(self, record: Evidence) -> str:
        """One record with its place and whose it is."""
        whose = record.bird if isinstance(record, Sighting) else _pair(record)
        return f"{self.spot(record.place)} ({whose}): {record.place.words}"

    def spot(self, place: Place) -> str:
        """File, as the keeper has it, and row."""
        table = place.file.removesuffix(".csv")
        return f"{self._tables.place(table)['file']} row {place.row}"


def _pair(count: ChickCount) -> str:
    """The parents of counted chicks, where they are not sure all that they may be."""
    hen, cock = (" or ".join(cell.split("|")) for cell in (count.hen, count.cock))
    return f"{hen} × {cock}"


def exchange_sentences(clash: Clash) -> list[str]:
    """Exchanged bands, the pairs of one bird of many pairs in one sentence.

    Examples
    --------
    >>> from matchmaker.genetics.clash.corrections import Clash
    >>> pairs = (("A", "X"), ("B", "X"), ("C", "D"))
    >>> clash = Clash(records=(), corrections=(), exchanges=pairs, mistakes_min=1)
    >>> exchange_sentences(clash)
    ['bands of X and one of A or B exchanged', 'bands of C and D exchanged']
    """
    left = list(clash.exchanges)
    sentences = []
    while left:
        counts = Counter(band for pair in left for band in pair)
        often = max(counts, key=lambda band: (counts[band], [-ord(letter) for letter in band]))
        partners = [two if one == often else one for one, two in left if often in {one, two}]
        left = [pair for pair in left if often not in pair]
        pair = (
            sorted([often, *partners])
            if len(partners) == 1
            else [often, f"one of {_any_of(partners)}"]
        )
        sentences.append(f"bands of {pair[0]} and {pair[1]} exchanged")
    return sentences


def independent_lists(corrections: Sequence[Correction]) -> list[list[Supposition]]:
    """Lists of which a correction takes one each, freely; empty if there are no such lists.

    Two suppositions stand in one list if no correction has both.

    Examples
    --------
    >>> one, two, three = (SexRight(band) for band in "ABC")
    >>> [[one.bird for one in some] for some in independent_lists([(one, two), (one, three)])]
    [['A'], ['B', 'C']]
    """
    together = {frozenset(pair) for each in corrections for pair in _pairs(each)}
    lists: list[list[Supposition]] = []
    for one in dict.fromkeys(one for each in corrections for one in each):
        for some in lists:
            if all(frozenset({one, other}) not in together for other in some):
                some.append(one)
                break
        else:
            lists.append([one])
    size = len(corrections[0])
    free = len(lists) == size and math.prod(map(len, lists)) == len(corrections)
    return lists if free else []


def _pairs(each: Correction) -> Iterable[tuple[Supposition, Supposition]]:
    return ((one, two) for at, one in enumerate(each) for two in each[at + 1 :])


def _heading(count: int) -> str:
    if count == 1:
        return "this would explain it; check it in the pen:"
    return "any one of these would explain it, the likelier first; check them in the pen:"


def _also(loci: Sequence[str]) -> str:
    return f" (would explain what clashes at {listed(loci)} too)" if loci else ""


def _parent_wrong(one: ParentRight) -> str:
    side = "sire" if one.role is Sex.COCK else "dam"
    bands = [parent for parent in one.parents if isinstance(parent, str)]
    pools = [_pool_name(parent) for parent in one.parents if not isinstance(parent, str)]
    named = [*bands, *(f"a founder of the breed {name}" for name in pools)]
    if len(named) == 1:
        return f"{side} of {one.bird} is not {named[0]}"
    if len(named) > NAMED_MAX:
        return f"{side} of {one.bird} is none of the {len(named)} it could be"
    return f"{side} of {one.bird} is not {listed(named, 'or')}"


def _pool_name(pool: Pool) -> str:
    return f"{pool.breed} from {pool.source}" if pool.source else pool.breed


def _any_of(bands: Sequence[str]) -> str:
    if len(bands) > 2 * NAMED_MAX:
        return f"{', '.join(bands[: 2 * NAMED_MAX])} or {len(bands) - 2 * NAMED_MAX} more"
    return listed(bands, "or")
