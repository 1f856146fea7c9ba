"""The chicks of a season: hatched out of the pens' families, and those that get a band."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from matchmaker.ahead.books import Chick
from matchmaker.ahead.chicks import hatch
from matchmaker.ahead.first_look import Chances, Hopeful, banded
from matchmaker.ahead.luck import Event
from matchmaker.ahead.world import sex_of
from matchmaker.pairs.chances import chick_table
from matchmaker.route.played import free_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from matchmaker.ahead.birds import Birds, Numbers
    from matchmaker.ahead.breeding import Family
    from matchmaker.ahead.places import Size
    from matchmaker.ahead.world import Fate, World
    from matchmaker.grade.places import Place
    from matchmaker.pairs.crossings import Crossing
    from matchmaker.pairs.table import PairTable


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Brood:
    """All chicks raised in a season, with the number of each one's family."""

    families: Sequence[Family]
    birds: Birds
    of_family: Numbers


def brood_of(world: World, families: Sequence[Family], fate: Fate) -> Brood:
    """The chicks of the families; those that a lethal gene would kill are not raised."""
    numbers = np.repeat(np.arange(len(families)), [one.raised for one in families])
    sires = world.at([families[at].pair.cock for at in numbers])
    dams = world.at([families[at].pair.hen for at in numbers])
    birds = hatch(world.birds, fate.nature, sires, dams, fate.stream(Event.GENES))
    alive = fate.nature.can_live(birds)
    return Brood(families=families, birds=birds.take(alive), of_family=numbers[alive])


def with_bands(
    brood: Brood, table: PairTable, size: Size, fate: Fate
) -> tuple[tuple[Chick, ...], Birds]:
    """The chicks that get a band, as the keeper knows them and as they are."""
    hopefuls = list(_hopefuls(brood, table, fate))
    kept = banded(hopefuls, size.places(_here(table)), fate.stream(Event.CHOICE))
    flock, chicks = table.study.flock, []
    taken = {record.bird for record in flock.tables.birds}
    for number, at in enumerate(kept, start=1):
        (line, sex), family = hopefuls[at].place, brood.families[brood.of_family[at]]
        chicks.append(
            Chick(
                band=free_name(f"{line}-{flock.settings.season}-{number:03}", taken),
                sex=sex,
                line=line,
                cock=family.pair.cock,
                mates=family.mates,
            )
        )
    return tuple(chicks), brood.birds.take(np.array(kept, dtype=np.int64))


def _hopefuls(brood: Brood, table: PairTable, fate: Fate) -> Iterator[Hopeful]:
    hens = sorted({hen for one in brood.families for hen in one.mates})
    cocks = sorted({one.pair.cock for one in brood.families})
    target = table.study.flock.settings.target
    chances = Chances(chick_table(table.study, hens, cocks), target)
    rows = _rows(table)
    loci, copies = fate.nature.loci, fate.nature.copies(brood.birds).tolist()
    told_apart: dict[tuple[object, ...], int] = {}
    for at, number in enumerate(brood.of_family.tolist()):
        family = brood.families[number]
        pair = family.pair
        known = told_apart.setdefault((pair.row, pair.cock, family.mates), number)
        sex = sex_of(brood.birds, at)
        own = dict(zip(loci, copies[at], strict=True))
        chance, parted = chances.of(rows[pair.row], (family.mates, pair.cock), sex, own)
        yield Hopeful(at=at, place=(pair.line, sex), family=known, chance=chance, parted=parted)


def _rows(table: PairTable) -> Mapping[str, Crossing]:
    """The open rows by name, and those that a wish made for a pair."""
    made = (pair.crossing for pair in table.pairs if pair.waived)
    return {row.name: row for row in (*table.crossings, *made) if row is not None}


def _here(table: PairTable) -> Mapping[Place, int]:
    """Birds by line and sex: all may be here next spring."""
    living = table.study.flock.living
    return Counter((bird.line, bird.sex) for bird in living if bird.sex is not None)
