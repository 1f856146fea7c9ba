"""Sentences about losses: what happened, who goes where on which day, whose the eggs are."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from matchmaker.flock.listing import natural
from matchmaker.plan.arithmetic.moved import hens_left
from matchmaker.rebalance.brothers import full_brothers
from matchmaker.rebalance.steps import LEAST_TOLD
from matchmaker.report.days import day_text, span_text, whole_day
from matchmaker.report.numbers import chicks_text
from matchmaker.report.wording import GROUP_LEFT_OUT, counted, listed
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from matchmaker.rebalance.eggs import EggRun, PenEggs, SetEggs
    from matchmaker.rebalance.orders import Order
    from matchmaker.rebalance.rebalancing import LineAfter, Rebalance


def what_happened(answer: Rebalance) -> str:
    """The loss in one line."""
    flock = answer.table.study.flock
    birds = flock.by_band()
    parts = []
    for bird, pen in sorted(answer.lost_from.items(), key=lambda item: item[::-1]):
        sex = "cock" if birds[bird].sex is Sex.COCK else "hen"
        when = answer.standing.lost[bird]
        day = "" if when == answer.loss.day else f" since {day_text(when)}"
        parts.append(f"{sex} {bird} of pen {pen} is lost{day}")
    outside = [bird for bird in answer.loss.lost if bird not in answer.lost_from]
    parts += [f"{bird}, in no pen, is lost" for bird in outside]
    parts += [f"pen {pen} is closed" for pen in answer.loss.closed]
    parts += [f"{bird} is at hand" for bird in answer.loss.added]
    text = listed(parts) if parts else "nothing is lost; the pens as they stand"
    return f"{whole_day(answer.loss.day)}: {text}"


def where_from(answer: Rebalance) -> str:
    """Where it is known from who stands where."""
    tables = answer.table.study.flock.tables
    if answer.standing.from_plan:
        up = answer.table.study.flock.tables.settings
        day = "" if up is None else f" on {day_text(up.pen_up)}"
        return (
            f"{tables.files.get('moves', 'moves.csv')} says nothing of pens that stand, so the "
            f"written plan is taken ({tables.files.get('plan', 'plan.csv')}), as made up{day}."
        )
    return f"Who stands where is taken from {tables.files.get('moves', 'moves.csv')}."


def orders_by_day(answer: Rebalance) -> list[tuple[dt.date, list[str]]]:
    """What to do on each day; orders alike in one sentence."""
    found: dict[dt.date, list[str]] = defaultdict(list)
    today = answer.loss.day
    for sentence in _waiting(answer):
        found[today].append(sentence)
    for day, sentence in _left_behind(answer):
        found[day].append(sentence)
    for day, sentence in _order_sentences(answer.orders, answer.standing.closed):
        found[day].append(sentence)
    return sorted(found.items())


def _waiting(answer: Rebalance) -> Iterator[str]:
    """Hens that are to be left without a cock for now, or for good."""
    comes = {one.enters: one for one in answer.orders if one.is_cock}
    leave = {one.bird for one in answer.orders}
    pens = {pen for _, pen in answer.whole.places} - answer.standing.closed
    for pen in sorted(pen for pen in pens if answer.whole.cock_in(pen) in answer.standing.lost):
        inside = answer.standing.hens_in(pen)
        hens = sorted((hen for hen in inside if hen not in leave), key=natural)
        if not hens:
            continue
        order = comes.get(pen)
        if order is None:
            yield f"Leave {named('hen', hens)} of pen {pen} without a cock."
        elif order.in_on and order.in_on > answer.loss.day:
            yield f"Leave {named('hen', hens)} of pen {pen} without a cock for now."


def _left_behind(answer: Rebalance) -> Iterator[tuple[dt.date, str]]:
    """Hens whose cock goes to another pen."""
    left = hens_left(answer.posed.problem, answer.response.pens)
    for order in answer.orders:
        hens = [hen for hen in left if answer.standing.pen_of.get(hen) == order.leaves]
        if order.is_cock and hens and order.out_on is not None:
            yield order.out_on, f"Leave {named('hen', hens)} of pen {order.leaves} without a cock."


def _order_sentences(
    orders: Sequence[Order], closed: frozenset[str]
) -> Iterator[tuple[dt.date, str]]:
    """Each order on its day; one of two days makes two sentences."""
    alike: dict[tuple[object, ...], list[Order]] = defaultdict(list)
    for one in orders:
        key = (one.is_cock, one.leaves, one.out_on, one.enters, one.in_on, one.mate)
        alike[key].append(one)
    for same in alike.values():
        yield from _sentences(same[0], sorted((one.bird for one in same), key=natural), closed)


def _sentences(
    one: Order, birds: list[str], closed: frozenset[str]
) -> Iterator[tuple[dt.date, str]]:
    kind = "cock" if one.is_cock else "hen"
    whom = named(kind, birds)
    source = f" from pen {one.leaves}" if one.leaves else ""
    to_mate = f", to {one.mate}" if one.mate else ""
    if one.enters is None or one.in_on is None:
        if one.out_on is not None:
            why = "" if one.leaves in closed else ": she is not for the cock who is or comes there"
            why = why.replace("she is", "they are") if len(birds) > 1 else why
            yield one.out_on, f"Take {whom} out of pen {one.leaves}{why}."
        return
    if one.out_on is None or one.out_on == one.in_on:
        yield one.in_on, f"Put {whom}{source} into pen {one.enters}{to_mate}."
        return
    apart = "them" if len(birds) > 1 else "him" if one.is_cock else "her"
    where = "by himself" if one.is_cock else "without a cock"
    until = f"keep {apart} {where} until {day_text(one.in_on)}"
    yield one.out_on, f"Take {whom} out of pen {one.leaves} and {until}."
    yield one.in_on, f"Put {whom} into pen {one.enters}{to_mate}."


def named(kind: str, birds: Sequence[str]) -> str:
    """Birds with what they are.

    Examples
    --------
    >>> named("hen", ["A1"]), named("hen", ["A1", "A2"])
    ('hen A1', 'hens A1 and A2')
    """
    return f"{kind}{'s' if len(birds) > 1 else ''} {listed(birds)}"


def egg_sentences(answer: Rebalance, eggs: PenEggs) -> list[tuple[str, str]]:
    """Days and what to do with the eggs of these hens on them."""
    last = answer.season.last
    mate = next((pen.cock for pen in answer.response.pens if pen.pen == eggs.pen), None)
    found = []
    for number, run in enumerate(eggs.runs):
        final = number == len(eggs.runs) - 1
        if run.last == last:
            when = f"from {day_text(run.first)}"
        elif number == 0 and run.first <= answer.loss.day:
            when = f"until {day_text(run.last)}"
        else:
            when = span_text(run.first, run.last)
        if final and run.cock is None and run.sires != (mate,):
            continue  # too few are fertile, and nothing comes after
        found.append((when, _whose(answer, run, mate)))
    return found


def _whose(answer: Rebalance, run: EggRun, mate: str | None) -> str:
    if run.cock is not None:
        less = "" if run.falls is None else _fewer(run.falls)
        return f"{run.cock}'s: set them{less}"
    if len(run.sires) == 1:
        few = "few are fertile yet" if run.sires == (mate,) else "too few are fertile by now"
        return f"do not set: {few} (only by {run.sires[0]})"
    either = " or ".join(run.sires)
    sure = full_brothers(answer.table.study.flock, run.sires)
    kin = " (full brothers: the grandparents are certain)" if sure else ""
    if answer.loss.set_mixed:
        return f"set apart, their sire is {either}{kin}"
    return f"do not set: {either} may be the sire{kin}"


def _fewer(falls: dt.date) -> str:
    return f"; fewer hatch from those laid after {day_text(falls)}"


def incubator_sentence(eggs: SetEggs) -> str:
    """Whose eggs in the incubator are."""
    count = "eggs" if eggs.eggs is None else f"{eggs.eggs} eggs"
    of_whom = f"of hen {eggs.hen}" if eggs.hen else f"of pen {eggs.pen}"
    when = f" set on {day_text(eggs.set_on)}" if eggs.set_on else ""
    if not eggs.sires:
        return f"{count} {of_whom}{when}: by what is written no cock was with the hens"
    sure = f"{eggs.sires[0]}'s" if len(eggs.sires) == 1 else f"{' or '.join(eggs.sires)}'s"
    return f"{count} {of_whom}{when}: {sure}"


def line_remark(line: LineAfter) -> str:
    """What is to be feared for a line, "" for nothing."""
    if line.ended:
        return "no hen with a cock any more"
    return "hangs on one cock" if line.on_one_cock else ""


def lost_sentence(answer: Rebalance) -> str:
    """What the loss costs against the old plan, with the moves that are proposed."""
    whole = chicks_text(answer.before)
    if answer.lost_value < LEAST_TOLD:
        return f"Against the old plan nothing is lost that counts (of {whole} wanted chicks)."
    return (
        f"Lost against the old plan: {chicks_text(answer.lost_value)} of {whole} wanted chicks, as "
        "a plan counts them."
    )


def steps_sentence(answer: Rebalance) -> str:
    """Which number of moves is proposed, and why not more or fewer."""
    chosen, best = answer.chosen, answer.best
    if answer.loss.most is not None:
        return f"You asked for {counted(answer.loss.most, 'move')} at most."
    if best.moves == 0:
        return "No move would win anything back."
    if chosen is best:
        return "More moves would win nothing back."
    if answer.lost_value < LEAST_TOLD:
        return (
            f"More moves would only make more of the season than was planned: --moves {best.moves}."
        )
    return (
        f"More moves win back less than half a wanted chick each; to have it all the same: --moves "
        f"{best.moves}."
    )


def undone_sentence(answer: Rebalance) -> str:
    """What was written for today or later, and whether it stays so."""
    orders = {(one.bird, one.enters): one for one in answer.orders}
    told = []
    for stay in answer.standing.undone:
        order = orders.get((stay.bird, stay.pen))
        when = "" if stay.first is None else f" on {day_text(stay.first)}"
        if order is None:
            state = "no longer"
        elif order.in_on == stay.first or order.in_on is None:
            state = "as written"
        else:
            state = f"now on {day_text(order.in_on)}"
        told.append(f"{stay.bird} into pen {stay.pen}{when} ({state})")
    return f"Written for today or later, and planned anew: {listed(told)}."


def last_sentences(answer: Rebalance) -> Iterator[str]:
    """Eggs in the incubator, pairs that stand for nothing, what was left out or not proved."""
    if answer.incubator:
        told = "; ".join(incubator_sentence(eggs) for eggs in answer.incubator)
        yield f"In the incubator: {told}."
    for pair in answer.tolerated:
        yield (
            f"{pair.hen} stands with {pair.cock}, which your rules reject or which is not for that "
            "pen: it counts for nothing."
        )
    for wish in answer.dropped:
        yield f"No longer possible: {wish.name}."
    away = answer.standing.missing.keys() - set(answer.loss.lost)
    birds = answer.table.study.flock.by_band()
    at_hand = sorted(bird for bird in away if birds[bird].alive_here)
    if at_hand:
        who = listed(at_hand)
        yield f"Taken out of the pens before, and not used: {who}. If at hand: --add BAND."
    if answer.kinship_left_out:
        yield GROUP_LEFT_OUT


def warnings(answer: Rebalance) -> Iterator[str]:
    """What must not be overlooked: what cannot be kept, what is not proved, quarantines."""
    for sentence in answer.broken:
        yield f"Not kept: {sentence}."
    if not answer.proved:
        yield f"Not proved: the search was stopped. At most {answer.left_open:.1f} more can be won."
    for bird, until in answer.quarantined.items():
        yield f"{bird} is in quarantine {_until(until)}: ask a veterinarian before it is moved."
    for bird, until in answer.standing.quarantined.items():
        pens = listed(sorted(pen for band, pen in answer.whole.places if band == bird))
        yield (
            f"By birds.csv {bird} is in quarantine {_until(until)}, but "
            f"{'stood' if bird in answer.loss.lost else 'stands'} in pen {pens}: "
            "nobody is put in there or taken to others before a veterinarian has looked."
        )


def _until(day: dt.date | None) -> str:
    return f"until {day_text(day)}" if day else "without an end that is written"


def to_write(answer: Rebalance) -> Iterator[str]:
    """What the keeper has to write into other tables."""
    birds = answer.table.study.flock.by_band()
    gone = [bird for bird in answer.loss.lost if birds[bird].alive_here]
    if gone:
        them = "it" if len(gone) == 1 else "them"
        yield (
            f"In birds.csv write what became of {listed(gone)} (status dead, sold or culled; "
            f"left_on {answer.loss.day}), or the next plan counts on {them}."
        )
    if answer.loss.closed:
        pens = named("pen", answer.loss.closed)
        yield f"In pens.csv write open = no for {pens}, while it is so."
