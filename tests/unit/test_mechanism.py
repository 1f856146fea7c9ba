"""Why no chick of a pair can be wanted: each mechanism with its sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from matchmaker.pairs.mechanism import Mechanism
from matchmaker.pairs.rules import Rule
from matchmaker.report.wording import rule_sentence
from tests.builders import Row, cock, dna, hen, judged, only

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.pairs.rules import Broken

ROW = '[[matings]]\nhens = "Alder"\ncocks = "Pure"\nchicks = "Alder"\npurpose = "hold"\n'


def top(locus: str) -> str:
    return f'season = 2027\nrecurrent = "sussex"\ntarget = {{{locus} = 1}}\n'


def broken(
    path: Path, keep: str, hen_has: dict[str, int], cock_has: dict[str, int], more: str = ""
) -> Broken | None:
    """Return the rule of no wanted chicks that AH × SC breaks, copies being given by locus."""
    seen: list[Row] = [dna("AH", locus, copies) for locus, copies in hen_has.items()]
    seen += [dna("SC", locus, copies) for locus, copies in cock_has.items()]
    frequency = "".join(
        f"[loci.{locus}.frequency]\nsussex = 0.5\naraucana = 0.5\n" for locus in hen_has
    )
    birds = [cock("SC"), hen("AH", "Alder", "sussex:0.5|araucana:0.5")]
    settings = ROW + f"keep = {keep}\n" + more + frequency
    found = judged(path, birds, settings, top(next(iter(hen_has))), seen=seen)
    pair = only(found, "AH", "SC")
    told = [one for one in pair.broken if one.rule is Rule.NO_WANTED_CHICKS]
    return told[0] if told else None


def said(found: Broken | None) -> tuple[object, str]:
    assert found is not None
    return found.facts["mechanism"], rule_sentence(found)


def test_a_hen_gives_her_z_to_her_sons_only(tmp_path: Path) -> None:
    found = broken(tmp_path, "{S = [1]}", {"S": 1}, {"S": 0}, 'keep_sex = "hen"\n')
    assert found is not None
    assert (found.measured, found.limit) == (0.0, 0.02)
    assert said(found) == (
        Mechanism.HEN_GIVES_Z_TO_SONS,
        (
            "no chick can be wanted: a hen gives her S to her sons only (it lies on the Z "
            "chromosome, and her daughters get theirs from the sire), SC has none to give, and "
            "this row keeps daughters"
        ),
    )


@pytest.mark.parametrize("sex", ["cock", "both"])
def test_the_same_hen_serves_where_sons_are_kept(tmp_path: Path, sex: str) -> None:
    assert broken(tmp_path, "{S = [1]}", {"S": 1}, {"S": 0}, f'keep_sex = "{sex}"\n') is None


def test_the_same_hen_serves_under_a_carrier_cock(tmp_path: Path) -> None:
    assert broken(tmp_path, "{S = [1]}", {"S": 1}, {"S": 1}, 'keep_sex = "hen"\n') is None


def test_a_hen_has_one_copy_of_a_z_linked_allele_at_most(tmp_path: Path) -> None:
    found = broken(tmp_path, "{S = [2]}", {"S": 1}, {"S": 2}, 'keep_sex = "hen"\n')
    assert said(found) == (
        Mechanism.ONE_COPY_IN_HENS,
        (
            "no chick can be wanted: the row asks for daughters with two copies of S, and a hen "
            "can only have one (it lies on the Z chromosome)"
        ),
    )


def test_neither_carries(tmp_path: Path) -> None:
    assert said(broken(tmp_path, "{O = [1, 2]}", {"O": 0}, {"O": 0})) == (
        Mechanism.NEITHER_CARRIES,
        "no chick can be wanted: neither AH nor SC carries O",
    )


@pytest.mark.parametrize(("hen_has", "cock_has"), [(0, 1), (1, 0), (2, 0)])
def test_one_parent_cannot_give_two_copies(tmp_path: Path, hen_has: int, cock_has: int) -> None:
    assert said(broken(tmp_path, "{O = [2]}", {"O": hen_has}, {"O": cock_has})) == (
        Mechanism.ONE_PARENT_ONLY,
        (
            "no chick can be wanted: the row keeps chicks with more copies of O than AH and SC can "
            "give together"
        ),
    )


@pytest.mark.parametrize(
    ("keep", "hen_has", "cock_has"),
    [
        pytest.param("{O = [0]}", 2, 0, id="always one, none kept"),
        pytest.param("{O = [0, 1]}", 2, 2, id="always two, one at most kept"),
        pytest.param("{O = [1]}", 2, 2, id="always two, just one kept"),
    ],
)
def test_what_parents_always_pass_on(
    tmp_path: Path, keep: str, hen_has: int, cock_has: int
) -> None:
    assert said(broken(tmp_path, keep, {"O": hen_has}, {"O": cock_has})) == (
        Mechanism.ALWAYS_PASSED_ON,
        (
            "no chick can be wanted: the row keeps sons and daughters with fewer copies of O than "
            "these parents always pass on"
        ),
    )


def test_sons_get_one_copy_of_a_z_linked_allele_from_their_dam(tmp_path: Path) -> None:
    keep = "{cock = {S = [2]}, hen = {S = [1]}}"
    assert said(broken(tmp_path, keep, {"S": 1}, {"S": 0}))[0] is Mechanism.ONE_PARENT_ONLY


def test_daughters_of_a_pure_z_linked_cock_always_have_it(tmp_path: Path) -> None:
    found = broken(tmp_path, "{S = [0]}", {"S": 0}, {"S": 2}, 'keep_sex = "hen"\n')
    assert said(found)[0] is Mechanism.ALWAYS_PASSED_ON


def test_no_sex_can_be_right_for_two_loci_at_once(tmp_path: Path) -> None:
    """Silver but not slow feathering is wanted: sons get both from this hen, daughters neither."""
    found = broken(tmp_path, "{S = [1], K = [0]}", {"S": 1, "K": 1}, {"S": 0, "K": 0})
    assert said(found) == (
        Mechanism.LOCI_TOGETHER,
        "no chick can be wanted: sons and daughters cannot be right for K and S at once",
    )


def test_rare_is_not_never(tmp_path: Path) -> None:
    """Two loci, each right in a quarter: 1/16 wanted, against a limit of a tenth."""
    keep = "{O = [2], P = [2]}"
    more = "[limits]\nwanted_chance_min = 0.1\n"
    found = broken(tmp_path, keep, {"O": 1, "P": 1}, {"O": 1, "P": 1}, more)
    assert found is not None
    assert (found.measured, found.limit) == (0.0625, 0.1)
    assert said(found) == (
        Mechanism.RARE,
        (
            "only 6.2 % of the chicks would be wanted (O and P, sons and daughters kept); the "
            "limit is 10 %"
        ),
    )


def test_chicks_that_hatch_but_cannot_be_told_are_not_called_impossible(tmp_path: Path) -> None:
    """O shows in laying hens only at 180 days, never in cocks: sons with it look like the rest."""
    more = 'keep_sex = "cock"\nrecognise = "sight"\n'
    found = broken(tmp_path, "{O = [1]}", {"O": 1}, {"O": 0}, more)
    assert found is not None
    assert found.measured == 0.0
    assert found.facts["mechanism"] is Mechanism.UNTOLD
