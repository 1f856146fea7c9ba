"""What must not be overlooked at a pen: rules set aside, too many hens, chicks that would die."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Final

from matchmaker.pairs.chances import chick_table
from matchmaker.plan.posing.pose import cock_limit
from matchmaker.report.numbers import percent
from matchmaker.report.precautions import loss_box
from matchmaker.report.season_words import closed_sentence, late_sentences
from matchmaker.report.wording import listed, reasons, waived_sentence

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matchmaker.pairs.pair import Pair
    from matchmaker.report.page.door_stays import Occupancy
    from matchmaker.reporting import SeasonReport
    from matchmaker.season.guide import SeasonGuide

LEAST_TOLD: Final = 0.005
"""A part of the chicks smaller than this is not told: half of one in a hundred."""


def cautions(guide: SeasonGuide, place: Occupancy, pairs: Sequence[Pair]) -> tuple[str, ...]:
    """Everything to beware of in a pen, what is worst first; ``guide`` is narrowed to it."""
    return (
        *_against_rules(pairs),
        *_closed(guide, place.pen),
        *_lethal(guide, pairs),
        *_too_many(guide, place),
        *late_sentences(guide),
    )


def loss_texts(report: SeasonReport, place: Occupancy) -> tuple[str, ...]:
    """What to do if a cock of the pen dies; says so where it was worked out for other hens."""
    return tuple(_loss(report, stay.bird, place) for stay in place.cocks)


def _loss(report: SeasonReport, cock: str, place: Occupancy) -> str:
    flock = report.table.study.flock
    box = loss_box(flock, report.care, cock)
    if not box:
        return f"If {cock} dies: matchmaker rebalance --lost {cock} tells what to do."
    planned = [{pair.hen for pair in pen.pairs} for pen in report.plan.pens if pen.cock == cock]
    planned_here = {stay.bird for stay in place.hens} in planned
    if planned_here and report.stands_as_planned:
        return box + _shared_out(report, cock)
    others = listed(sorted(set().union(*planned)))
    other = "has other pairs elsewhere" if planned_here else f"gives him other hens ({others})"
    return (
        f"{box} This was worked out for the best plan, which {other}. For the pens that stand: "
        f"matchmaker rebalance --lost {cock}."
    )


def _shared_out(report: SeasonReport, cock: str) -> str:
    """Where it is told which hen goes to whom, if no other cock takes his place."""
    loss = report.care.of(cock)
    if loss is None or loss.spare is not None or not loss.shares_out:
        return ""
    return f" Who goes where: matchmaker rebalance --lost {cock}."


def _against_rules(pairs: Iterable[Pair]) -> Iterator[str]:
    """Pairs that stand against a rule, those with the same cock and reason together."""
    found: dict[tuple[bool, str, str], list[Pair]] = defaultdict(list)
    for pair in pairs:
        if pair.crossing is not None and pair.broken:
            found[not pair.waived, pair.cock, reasons(pair.broken)].append(pair)
    for (unwaived, cock, why), own in sorted(found.items(), key=lambda one: one[0]):
        if unwaived:
            yield f"{listed([one.hen for one in own])} with {cock}, against a rule: {why}."
        else:
            yield waived_sentence(own)


def _closed(guide: SeasonGuide, pen: str) -> Iterator[str]:
    """Pairs that no open row of matings takes."""
    of_pen = {stay.bird for stay in guide.pens.stays if stay.pen == pen}
    closed = [
        f"{hen} with {one.cock}"
        for one in guide.safe
        if one.cock in of_pen
        for hen in one.hens
        if (pair := guide.pens.pair(hen, one.cock)) is None or pair.crossing is None
    ]
    if closed:
        yield closed_sentence(closed)


def _lethal(guide: SeasonGuide, pairs: Sequence[Pair]) -> Iterator[str]:
    """Chicks to be expected dead or suffering, where no rule that is broken tells of them."""
    own = [pair for pair in pairs if not pair.broken]
    if not own:
        return
    hens, cocks = sorted({one.hen for one in own}), sorted({one.cock for one in own})
    chicks = chick_table(guide.table.study, hens, cocks)
    found: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for locus, part in chicks.lethal.items():
        for pair in own:
            share = float(part[hens.index(pair.hen), cocks.index(pair.cock)])
            if share >= LEAST_TOLD:
                found[pair.cock, locus, percent(share)].append(pair.hen)
    for (cock, locus, told), names in found.items():
        yield (
            f"{told} of the chicks of {listed(names)} with {cock} are expected to die or suffer "
            f"from a double dose of {locus}."
        )


def _too_many(guide: SeasonGuide, place: Occupancy) -> Iterator[str]:
    flock = guide.table.study.flock
    for stay in place.cocks:
        most = cock_limit(flock.by_band()[stay.bird], flock.settings).hens_max
        if len(place.hens) > most:
            yield (
                f"{len(place.hens)} hens are more than {stay.bird} usually serves: {most} at most, "
                "by his breed and age, or hens_max in birds.csv. Look for clear eggs when candling."
            )
