from __future__ import annotations

import numpy as np
import pytest

from matchmaker.flock.pedigree import Links, Pedigree, Pool
from matchmaker.genetics.kin.ancestry import ancestry_of
from matchmaker.genetics.traits import together
from matchmaker.genetics.traits.kindred import kindred_of
from matchmaker.genetics.traits.model import predict
from matchmaker.genetics.traits.origin import Origin, Source, origin
from matchmaker.genetics.traits.records import Heredity, Records
from matchmaker.genetics.traits.together import predict_together

HEREDITY = Heredity(h2=0.4, repeatability=0.5)
FOUNDER: Links = ((0, 1.0),)
NAMES = ("cock", "hen", "other", "stranger", "A", "B", "half", "maybe", "chick", "grandchick")
FLOCK = Pedigree(
    pools=(Pool("sussex"),),
    bases=((0.0,),),
    birds=NAMES,
    sexes=(None,) * 10,
    sires=(
        *(FOUNDER,) * 4,
        ((1, 1.0),),
        ((1, 1.0),),
        ((1, 1.0),),
        ((1, 0.25), (4, 0.75)),
        ((5, 1.0),),
        ((9, 1.0),),
    ),
    dams=(
        *(FOUNDER,) * 4,
        ((2, 1.0),),
        ((2, 1.0),),
        ((3, 1.0),),
        ((3, 1.0),),
        ((3, 1.0),),
        ((3, 1.0),),
    ),
)
BIRDS = np.array([at for at in range(10) for _ in range(1 + at % 2)])


def scores(seed: int = 1) -> Records:
    rng = np.random.default_rng(seed)
    return Records(
        trait="eggs",
        birds=BIRDS,
        values=rng.normal(50, 5, len(BIRDS)),
        groups=np.zeros(len(BIRDS), dtype=np.int64),
        covariates=np.empty((len(BIRDS), 0)),
    )


def origin_of(name: str, flock: Pedigree = FLOCK, records: Records | None = None) -> Origin:
    records = scores() if records is None else records
    ancestry = ancestry_of(flock)
    found = predict(kindred_of(ancestry), records, HEREDITY)
    return origin(NAMES.index(name), found, records, ancestry)


def test_kin_are_counted_where_they_belong() -> None:
    found = origin_of("A")
    birds = {source.value: part.birds for source, part in found.parts.items()}
    assert birds == {"own": 1, "parents": 2, "progeny": 1, "sibs": 3, "others": 3}
    assert found.parts[Source.PARENTS].scores == 3  # the cock has one score, the hen two
    assert (
        found.parts[Source.SIBS].scores == 5
    )  # B two, the half-sib one, the possible half-sib two
    assert found.parts[Source.OWN].scores == 1
    assert found.parts[Source.PROGENY].birds == 1
    assert found.parts[Source.OTHERS].scores == 1 + 2 + 2


def test_a_likely_parent_is_a_parent_and_has_a_chick() -> None:
    assert origin_of("maybe").parts[Source.PARENTS].birds == 3
    assert origin_of("cock").parts[Source.PROGENY].birds == 4
    assert origin_of("stranger").parts[Source.PROGENY].birds == 1


def test_an_unlikely_parent_is_one_of_the_others() -> None:
    sires = list(FLOCK.sires)
    sires[7] = ((1, 0.125), (4, 0.875))
    flock = Pedigree(
        pools=FLOCK.pools,
        bases=FLOCK.bases,
        birds=FLOCK.birds,
        sexes=FLOCK.sexes,
        sires=tuple(sires),
        dams=FLOCK.dams,
    )
    assert origin_of("maybe", flock).parts[Source.PARENTS].birds == 2
    assert origin_of("cock", flock).parts[Source.PROGENY].birds == 3


def test_chicks_of_one_clutch_are_sibs_though_their_parents_are_unknown() -> None:
    def flock(clutch: int | None) -> Pedigree:
        return Pedigree(
            pools=FLOCK.pools,
            bases=FLOCK.bases,
            birds=NAMES,
            sexes=(None,) * 10,
            sires=(FOUNDER,) * 10,
            dams=(FOUNDER,) * 10,
            clutches=(*(None,) * 8, clutch, clutch),
        )

    assert origin_of("chick", flock(0)).parts[Source.SIBS].birds == 1
    assert origin_of("chick", flock(0)).parts[Source.SIBS].value != 0
    assert origin_of("chick", flock(None)).parts[Source.SIBS].birds == 0


def test_the_largest_part_of_a_stranger_is_its_own() -> None:
    strangers = Pedigree(
        pools=FLOCK.pools,
        bases=FLOCK.bases,
        birds=NAMES,
        sexes=(None,) * 10,
        sires=(FOUNDER,) * 10,
        dams=(FOUNDER,) * 10,
    )
    for name in NAMES:
        found = origin_of(name, strangers)
        assert found.parts[Source.OWN].value == pytest.approx(found.total, abs=1e-12)
        assert found.parts[Source.OWN].value != 0


@pytest.mark.parametrize("whole", [together.WHOLE, 1])
def test_other_traits_have_their_part(whole: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(together, "WHOLE", whole)
    ancestry = ancestry_of(FLOCK)
    records = [scores(1), scores(2)]
    found, _ = predict_together(
        kindred_of(ancestry), records, [HEREDITY] * 2, np.array([[1.0, 0.6], [0.6, 1.0]])
    )
    for one, own in zip(found, records, strict=True):
        for bird in range(10):
            parts = origin(bird, one, own, ancestry)
            assert parts.other_traits != 0
            assert parts.total == pytest.approx(one.values[bird], abs=1e-9)


def test_nothing_predicted_comes_from_nothing() -> None:
    ancestry, records = ancestry_of(FLOCK), scores()
    found = predict(kindred_of(ancestry), records, Heredity(h2=0.0, repeatability=0.5))
    parts = origin(4, found, records, ancestry)
    assert [part.value for part in parts.parts.values()] == [0.0] * len(Source)
    assert parts.parts[Source.OWN].scores == 1


def test_a_bird_that_is_none() -> None:
    ancestry, records = ancestry_of(FLOCK), scores()
    found = predict(kindred_of(ancestry), records, HEREDITY)
    with pytest.raises(IndexError, match="birds go from 0 to 9"):
        origin(10, found, records, ancestry)
