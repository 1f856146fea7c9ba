"""Every rule, mechanism, cause and crossing has its sentence, in plain words with numbers."""

from __future__ import annotations

import pytest

from matchmaker.pairs.crossings import Crossing, Purpose
from matchmaker.pairs.mechanism import Mechanism
from matchmaker.pairs.rules import Broken, Rule, nearest_cause, nothing_to_test
from matchmaker.plan.season.changes import Cause, Change
from matchmaker.plan.season.season_plan import Idle, Unused
from matchmaker.report.wording import (
    PAIR_STATES,
    PURPOSES,
    change_sentence,
    crossing_sentence,
    listed,
    reasons,
    rule_sentence,
    rule_state,
    unused_sentence,
)
from matchmaker.tables.records import Sex

PARENTS = {"hen": "A1", "cock": "C1", "locus": "choc", "kept": "daughters"}
RELATED = Broken(rule=Rule.TOO_RELATED, measured=0.25, limit=0.125)
SOLD = Broken(rule=Rule.NOT_AVAILABLE, facts={"bird": "A1", "why": "sold", "final": 1})
UNPROVEN = Broken(
    rule=Rule.UNPROVEN,
    measured=0.25,
    limit=0.5,
    facts={"bird": "A1", "locus": "O", "needs": "carrier"},
)


def _none(mechanism: Mechanism, measured: float = 0.0) -> Broken:
    facts = {**PARENTS, "mechanism": mechanism}
    return Broken(rule=Rule.NO_WANTED_CHICKS, measured=measured, limit=0.02, facts=facts)


def _absent(why: str, **facts: str) -> Broken:
    return Broken(rule=Rule.NOT_AVAILABLE, facts={"bird": "A1", "why": why, **facts})


SENTENCES = [
    (RELATED, "kinship 0.250 is above the limit 0.125"),
    (_absent("sold"), "A1 is sold"),
    (_absent("quarantine", until="2027-03-01"), "A1 is in quarantine (until 1 March 2027, after"),
    (_absent("quarantine", until="no date given"), "A1 is in quarantine (no date given)"),
    (_absent("rest", reason="bare back"), "A1 rests this season by your wish: bare back"),
    (_absent("rest", reason=""), "A1 rests this season by your wish"),
    (
        Broken(
            rule=Rule.TOO_YOUNG,
            measured=100,
            limit=150,
            facts={"bird": "A1", "day": "2027-02-01"},
        ),
        "A1 will be 100 days old on 1 February 2027; breeding birds are at least 150",
    ),
    (UNPROVEN, "the chance that A1 carries O is 25 %; at least 50 % is asked"),
    (
        Broken(
            rule=Rule.UNPROVEN,
            measured=0.3,
            limit=0.5,
            facts={"bird": "A1", "locus": "O", "needs": "free"},
        ),
        "the chance that A1 is free of O is 30 %; at least 50 % is asked",
    ),
    (nothing_to_test("A1", "L2", "lav", known=True), "what A1 carries of lav is known"),
    (
        nothing_to_test("A1", "L2", "lav", known=False),
        "A1 with L2 would look the same",
    ),
    (Broken(rule=Rule.WISHED_APART, facts={"reason": "he tore her"}), "wish: he tore her"),
    (Broken(rule=Rule.WISHED_APART, facts={"reason": ""}), "kept apart by your wish"),
    (
        Broken(rule=Rule.UNFIT, facts={"bird": "A1", "defect": "wry tail"}),
        "A1 has a defect that culls: wry tail",
    ),
    (
        Broken(rule=Rule.UNFIT, measured=2.5, limit=3, facts={"bird": "A1", "trait": "temper"}),
        "A1 scored 2.5 for temper on average; the floor is 3",
    ),
    (
        Broken(
            rule=Rule.LETHAL_CHICKS,
            measured=0.25,
            limit=0.01,
            facts={"locus": "Cp", "final": 1},
        ),
        "1 %, and no wish can allow such a pair (put each with a bird that is free of Cp)",
    ),
    (
        Broken(
            rule=Rule.LINE_CLOSED,
            facts={"hen": "A1", "hens": "Alder", "cock": "C1", "cocks": "Birch"},
        ),
        "no crossing of Alder hens (A1) with Birch cocks (C1) is open this season",
    ),
    (_none(Mechanism.HEN_GIVES_Z_TO_SONS), "a hen gives her choc to her sons only"),
    (_none(Mechanism.ONE_COPY_IN_HENS), "a hen can only have one"),
    (_none(Mechanism.NEITHER_CARRIES), "neither A1 nor C1 carries choc"),
    (_none(Mechanism.ONE_PARENT_ONLY), "more copies of choc than A1 and C1 can give together"),
    (_none(Mechanism.ALWAYS_PASSED_ON), "fewer copies of choc than these parents always pass on"),
    (_none(Mechanism.LOCI_TOGETHER), "daughters cannot be right for choc at once"),
    (_none(Mechanism.UNTOLD), "does not show which daughters are wanted"),
    (_none(Mechanism.RARE, 0.004), "only 0.4 % of the chicks would be wanted"),
]


@pytest.mark.parametrize(("broken", "part"), SENTENCES)
def test_what_a_broken_rule_says(broken: Broken, part: str) -> None:
    assert part in rule_sentence(broken)


def test_every_rule_and_mechanism_is_among_them() -> None:
    assert {broken.rule for broken, _ in SENTENCES} == set(Rule)
    told = {b.facts["mechanism"] for b, _ in SENTENCES if b.rule is Rule.NO_WANTED_CHICKS}
    assert told == set(Mechanism)


def test_cannot_is_said_only_of_what_cannot_be() -> None:
    assert "no chick can" not in rule_sentence(_none(Mechanism.RARE, 0.004))


def test_a_lethal_that_a_wish_may_allow_does_not_say_otherwise() -> None:
    facts: dict[str, str | int | float] = {"locus": "Cp", "final": 0}
    broken = Broken(rule=Rule.LETHAL_CHICKS, measured=0.25, limit=0.01, facts=facts)
    assert "No wish" not in rule_sentence(broken)


def test_every_rule_has_a_state_of_a_few_words() -> None:
    assert PAIR_STATES.keys() == set(Rule)
    assert all(len(state.split()) <= 5 for state in PAIR_STATES.values())
    assert rule_state(RELATED) == "too closely related"


def test_a_bird_of_a_pure_line_is_not_proven_pure() -> None:
    facts = {"bird": "A1", "locus": "O", "needs": "free"}
    assert rule_state(Broken(rule=Rule.UNPROVEN, facts=facts)) == "not proven pure"
    assert rule_state(UNPROVEN) == "not proven to carry"


def test_reasons_are_said_once() -> None:
    assert reasons([SOLD, SOLD, UNPROVEN]) == (
        "A1 is sold; the chance that A1 carries O is 25 %; at least 50 % is asked"
    )


def test_of_a_bird_that_is_gone_nothing_else_matters() -> None:
    assert nearest_cause([UNPROVEN, RELATED, SOLD]) == (SOLD,)


def test_that_a_non_carrier_has_no_wanted_chicks_goes_without_saying() -> None:
    assert nearest_cause([UNPROVEN, _none(Mechanism.NEITHER_CARRIES)]) == (UNPROVEN,)
    assert nearest_cause([RELATED, _none(Mechanism.RARE)]) == (RELATED, _none(Mechanism.RARE))


@pytest.mark.parametrize(
    ("unused", "sentence"),
    [
        (Unused(bird="A1", reason=Idle.SEX_UNKNOWN), "its sex is not known yet"),
        (
            Unused(bird="A1", reason=Idle.NO_PLACE),
            "could be paired, but no place is left where it would add to the plan",
        ),
        (Unused(bird="A1", reason=Idle.REJECTED, broken=(SOLD,)), "A1 is sold"),
        (Unused(bird="A1", reason=Idle.NO_PAIR), "no mate is left for it"),
    ],
)
def test_why_a_bird_is_in_no_pen(unused: Unused, sentence: str) -> None:
    assert unused_sentence(unused) == sentence


def _change(
    cause: Cause,
    *,
    worth: float | None = None,
    before: str | None = "C1",
    after: str | None = None,
    broken: tuple[Broken, ...] = (),
) -> Change:
    """A change from pen 1 to pen 2."""
    return Change(
        hen="A1",
        cock_before=before,
        pen_before=before and "1",
        cock_after=after,
        pen_after=after and "2",
        cause=cause,
        broken=broken,
        worth=worth,
    )


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (_change(Cause.GONE, broken=(SOLD,)), "A1: C1 in pen 1 → unused (A1 is sold)"),
        (_change(Cause.RULE), "A1: C1 in pen 1 → unused (the old pair is not in the tables)"),
        (
            _change(Cause.BETTER, worth=0.456, after="C2"),
            "A1: C1 in pen 1 → C2 in pen 2 (keeping the old pair would cost 0.46 wanted chicks)",
        ),
        (_change(Cause.BETTER), "A1: C1 in pen 1 → unused (a better plan)"),
        (
            _change(Cause.NEW, before=None, after="C2"),
            "A1: unused → C2 in pen 2 (was in no pen)",
        ),
    ],
)
def test_what_changed_and_why(change: Change, sentence: str) -> None:
    assert change_sentence(change) == sentence


def _crossing(sexes: tuple[Sex, ...], **copies: tuple[int, ...]) -> str:
    named = {"sons": Sex.COCK, "daughters": Sex.HEN}
    keep = {named[word]: {"O": kept} for word, kept in copies.items()}
    crossing = Crossing(
        name="row",
        hens=("Alder", "Birch"),
        cocks=("Pure",),
        chicks="Alder",
        purpose=Purpose.BACKCROSS,
        keep=keep,
        sexes=sexes,
    )
    return crossing_sentence(crossing).split("; ")[1]


@pytest.mark.parametrize(
    ("sentence", "kept"),
    [
        (_crossing((Sex.COCK, Sex.HEN)), "all chicks are kept"),
        (_crossing((Sex.COCK,), sons=(1,)), "kept are sons with 1 copy of O"),
        (_crossing((Sex.HEN,), daughters=(1, 2)), "kept are daughters with 1 or 2 copies of O"),
        (
            _crossing((Sex.COCK, Sex.HEN), sons=(2,), daughters=(1,)),
            "kept are sons with 2 copies of O and daughters with 1 copy of O",
        ),
        (
            _crossing((Sex.COCK, Sex.HEN), sons=(1,), daughters=(1,)),
            "kept are chicks with 1 copy of O",
        ),
    ],
)
def test_which_chicks_a_crossing_keeps(sentence: str, kept: str) -> None:
    assert sentence == kept


def test_every_purpose_has_its_words() -> None:
    assert PURPOSES.keys() == set(Purpose)


def test_names_are_listed_as_people_do() -> None:
    assert listed(["A", "B"]) == "A and B"
