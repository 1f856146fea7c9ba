"""The screen of ``route``: the scheme step by step, others beside it, traps, the lines."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from matchmaker.report.numbers import share_text
from matchmaker.report.route_words import (
    BIRDS,
    CAUTIONS,
    CHICKS,
    COUNTED,
    SCHEMES,
    after_sentence,
    amount_sentences,
    chicks_sentence,
    fraction_text,
    keep_sentences,
    marker_sentence,
    none_sentence,
    pitfall_sentence,
    step_heading,
    symbols_text,
    way_words,
)
from matchmaker.report.screen import Column, print_rows, say
from matchmaker.report.stopping import print_stopping
from matchmaker.report.wording import breed_name, counted
from matchmaker.route.steps import kept_for_ever
from matchmaker.route.task import PROOFS
from matchmaker.tables.records import Sex

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from rich.console import Console

    from matchmaker.route.routing import Routing
    from matchmaker.route.schemes import Scheme
    from matchmaker.route.standing import Count, Standing
    from matchmaker.route.steps import Route
    from matchmaker.route.stopping import Stopping

COLUMNS: Final = (
    Column(heading="Scheme"),
    Column(heading="Seasons", number=True),
    Column(heading="Chicks", number=True),
    Column(heading="Test chicks", number=True),
    Column(heading="DNA tests", number=True),
    Column(heading="What it may do", sentence=True),
)


def print_route(
    console: Console, answer: Routing, scheme: str = "any", stop: Sequence[Stopping] = ()
) -> None:
    """The route asked for in full, then everything beside it."""
    _print_aim(console, answer)
    chosen = answer.schemes.named(scheme)
    if chosen.best is None:
        named = "No route was found" if scheme == "any" else f"The scheme {scheme} has no route"
        say(console, f"{named}: {none_sentence(answer.task, chosen)}.")
        console.print()
    else:
        _print_steps(console, answer, scheme, chosen.best)
    _print_schemes(console, answer)
    _print_pitfalls(console, answer)
    _print_lines(console, answer)
    print_stopping(console, stop, answer.study.flock.settings.recurrent)
    say(console, CAUTIONS)


def _print_aim(console: Console, answer: Routing) -> None:
    task, settings = answer.task, answer.study.flock.settings
    donor, recurrent = breed_name(answer.posed.donor), breed_name(settings.recurrent)
    wanted = ", ".join(
        f"{COUNTED[copies]} of {symbols_text([locus])}"
        for locus, copies in zip(task.genome.loci, task.wanted, strict=True)
    )
    say(console, f"From {donor} into {recurrent}: {wanted}", style="bold")
    say(
        console,
        f"{_times(answer)}, or other crosses that give as much: at least "
        f"{share_text(float(task.share))} {recurrent} in finished cocks and hens. Donor "
        f"birds in the tables: {_donors(answer)}. {task.birds} birds of each class go on.",
    )
    for text in link_sentences(answer):
        say(console, text)
    say(
        console,
        f"Of the eggs set {share_text(task.reared)} are reckoned to become chicks raised "
        f"(matchmaker season shows your rates); the last chicks are {task.age} days old "
        "when the next pens are made up.",
    )
    console.print()


def _times(answer: Routing) -> str:
    number = answer.posed.backcrosses
    said = f"{number} backcross{'es' if number > 1 else ''}"
    if answer.asked.backcrosses is None:
        said += " (three to five are common practice; --backcrosses asks for another number)"
    return said


def _donors(answer: Routing) -> str:
    sexes = answer.posed.donor_sexes
    if not sexes:
        return "none, both sexes taken as to be had"
    only = "only " if len(sexes) == 1 else ""
    return only + " and ".join(BIRDS[sex] for sex in sexes)


def link_sentences(answer: Routing) -> Iterator[str]:
    """What is known of the linkage of the loci, and what is left out of account."""
    genome = answer.task.genome
    for stretch in genome.stretches:
        if len(stretch.loci) == 2:
            one, two = (genome.loci[at].symbol for at in stretch.loci)
            yield (
                f"{one} and {two} lie near each other: {share_text(float(stretch.parted))} of "
                "gametes part them."
            )
    for one, two in genome.left:
        yield f"{one} and {two} are linked too, but counted as if they were not."


def _print_steps(console: Console, answer: Routing, scheme: str, route: Route) -> None:
    named = "The route proposed" if scheme == "any" else f"The scheme {scheme}"
    say(console, f"{named}: {_totals(route)}", style="bold")
    say(console, in_short(route))
    for step in route.steps:
        say(console, step_heading(answer.task, step))
        for text in (
            chicks_sentence(answer.task, step),
            *(text for kept in step.kept for text in keep_sentences(answer.task, kept)),
            *amount_sentences(step),
            after_sentence(step, answer.study.flock.settings.recurrent),
        ):
            say(console, text, indent=2)
    say(console, end_sentence(answer, route))
    say(console, PIECE_LEGEND)
    console.print()


PIECE_LEGEND: Final = (
    "Donor's piece: what is still the donor's on either side of the gene, in centimorgans (cM). A "
    "stretch of 1 cM is parted in about one egg or sperm of a hundred."
)


def in_short(route: Route) -> str:
    """Whom the route keeps, season by season; said where it is sons and daughters in turn."""
    kept = [sorted({one.way.sex for one in step.kept}) for step in route.steps]
    words = [" and ".join(CHICKS[sex] for sex in sexes) for sexes in kept]
    only = [sexes[0] for sexes in kept if len(sexes) == 1]
    in_turn = len(only) == len(kept) > 2 and all(a is not b for a, b in pairwise(only))
    told = "Sons and daughters carry it on in turn" if in_turn else "Kept, season by season"
    return f"{told}: {', '.join(words)}."


def _totals(route: Route) -> str:
    parts = [f"{route.seasons} seasons", f"{route.chicks:,} chicks to raise"]
    if route.test_chicks:
        parts.append(f"{route.test_chicks:,} test chicks")
    if route.dna_tests:
        parts.append(f"{route.dna_tests} DNA tests")
    return ", ".join(parts)


def end_sentence(answer: Routing, route: Route) -> str:
    """What is at hand after the last step, and whether it breeds true."""
    cock, hen = (way_words(answer.task, way) for way in (route.found.cock, route.found.hen))
    if all(copies != 1 for copies in answer.task.wanted):
        one_z = any(answer.task.genome.loci[at].z_linked for at in answer.task.carried)
        z_words = " A hen has one Z, so one copy is all she can have." if one_z else ""
        return f"At the end: {cock}, and {hen}. Bred together they breed true.{z_words}"
    singles = [
        locus.symbol
        for locus, copies in zip(answer.task.genome.loci, answer.task.wanted, strict=True)
        if copies == 1
    ]
    part = kept_for_ever(answer.task, route.found.cock)
    wanted = "half" if part == Fraction(1, 2) else fraction_text(part)
    return (
        f"At the end: {cock}, and {hen}. One copy of {' and '.join(singles)} is wanted, and that "
        f"never breeds true: carrier × free, {wanted} of the chicks as wanted, for ever."
    )


def _print_schemes(console: Console, answer: Routing) -> None:
    say(console, "Schemes compared", style="bold")
    print_rows(console, COLUMNS, [row for one in shown_schemes(answer) for row in one])
    for marker in answer.markers:
        say(console, marker_sentence(marker))
    say(
        console,
        "Chicks to raise, test chicks and DNA tests are for "
        f"{answer.task.birds} birds of each class with 95 % at each step. Where a scheme has a "
        "quicker way and one with less work, both stand here. Where parents may or may not carry, "
        "the numbers hold for chicks spread over all of them. Proposed is the least seasons × "
        "(chicks + test chicks + DNA tests). A DNA test is reckoned with where the mutation is "
        "published; ask whether a laboratory offers it. Any of them step by step: matchmaker "
        "route --scheme NAME",
    )
    console.print()


def shown_schemes(answer: Routing) -> Iterator[list[list[str]]]:
    """The rows of each scheme."""
    for scheme in (answer.schemes.all_routes, *answer.schemes.schemes):
        if scheme.name == "any" and scheme in answer.schemes.schemes:
            continue
        yield _scheme_rows(answer, scheme)


def _scheme_rows(answer: Routing, scheme: Scheme) -> list[list[str]]:
    words = SCHEMES[scheme.name]
    if not scheme.routes:
        none = none_sentence(answer.task, scheme)
        return [[scheme.name, "–", "–", "–", "–", f"{words}; none, since {none}"]]
    rows = []
    for at, route in enumerate(scheme.routes):
        proposed = scheme.name == "any" and route is answer.schemes.best
        rows.append(
            [
                scheme.name if at == 0 else "",
                str(route.seasons),
                f"{route.chicks:,}",
                f"{route.test_chicks:,}" if route.test_chicks else "–",
                str(route.dna_tests) if route.dna_tests else "–",
                (words if at == 0 else "the same with less work")
                + (" (proposed)" if proposed else ""),
            ]
        )
    return rows


def _print_pitfalls(console: Console, answer: Routing) -> None:
    if answer.pitfalls:
        say(console, "What does not work", style="bold")
        recurrent = answer.study.flock.settings.recurrent
        for pitfall in answer.pitfalls:
            say(console, pitfall_sentence(answer.task, pitfall, recurrent), indent=2)
        console.print()


def _print_lines(console: Console, answer: Routing) -> None:
    if not answer.standings:
        return
    say(console, "Where the lines stand", style="bold")
    for standing in answer.standings:
        for at, text in enumerate(line_sentences(answer, standing)):
            say(console, text, indent=0 if at == 0 else 2)
    console.print()


def line_sentences(answer: Routing, standing: Standing) -> Iterator[str]:
    """Where one line stands, what it does next, and whether the settings say otherwise."""
    recurrent = breed_name(answer.study.flock.settings.recurrent)
    counts = ". ".join(_count(standing.counts[sex], sex) for sex in (Sex.COCK, Sex.HEN))
    yield f"{standing.line}: {_stage(standing, recurrent)}. {counts}."
    if standing.route is None:
        yield "Next: no route from these birds alone; bring carriers in from another line."
    elif standing.next_step == "done":
        yield "Next: nothing, finished birds of both sexes are there."
    else:
        yield from _next(answer, standing, standing.route)
    if standing.disagrees:
        yield (
            f'Your matchmaker.toml says step = "{standing.step}" for it, and the plan obeys that; '
            f"the rest of the route would otherwise begin with {_article(standing.free_step)}"
            f"{_free_length(standing)}."
        )


def _stage(standing: Standing, recurrent: str) -> str:
    """How far a line's carriers have come, and birds that perhaps carry where they are further."""
    perhaps = "" if standing.perhaps is None else f"up to {share_text(float(standing.perhaps))}"
    if standing.share is None and standing.perhaps == 0:
        return "no bird that surely carries; donor birds perhaps do"
    if standing.share is None:
        said = f"; birds that perhaps carry {perhaps} {recurrent}" if perhaps else ""
        return f"no bird that surely carries{said}"
    times = standing.backcrosses
    stage = "donor birds" if times < 0 else "first cross" if times == 0 else f"backcross {times}"
    said = f"; birds that perhaps carry {perhaps}" if perhaps else ""
    if not standing.share:
        return f"only {stage} surely carry{said}"
    return f"carriers up to {share_text(float(standing.share))} {recurrent} ({stage}){said}"


def _article(step: str | None) -> str:
    return "an intercross" if step == "intercross" else f"a {step}"


def _free_length(standing: Standing) -> str:
    if standing.free_route is None:
        return ""
    return f" and take {_totals(standing.free_route)}"


def _next(answer: Routing, standing: Standing, route: Route) -> Iterator[str]:
    first = [step for step in route.steps if step.season == route.steps[0].season]
    waiting = f"{counted(route.seasons, 'season')} to go"
    yield f"Next: {standing.next_step}; {waiting}, {_totals(route).split(', ', 1)[1]}."
    if standing.next_step == "intercross":
        yield "Take the mates from another line at the same step, to keep close kin apart."
    for step in first:
        kept = " ".join(
            text
            for one in step.kept
            for text in keep_sentences(answer.task, one)[: 1 if one.cell.telling in PROOFS else 2]
        )
        yield f"{way_words(answer.task, step.cock)} × {way_words(answer.task, step.hen)}. {kept}"


def _count(count: Count, sex: Sex) -> str:
    parts = [f"{count.carrying} carrying"]
    if count.finished:
        parts[0] += f" ({count.finished} finished)"
    if count.perhaps:
        parts.append(f"{count.perhaps} perhaps")
    if count.free:
        parts.append(f"{count.free} free")
    return f"{BIRDS[sex].capitalize()}: {', '.join(parts)}"
