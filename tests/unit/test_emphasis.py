"""What weights come to: shares of the merit, responses, weights that work against themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from matchmaker.genetics.emphasis import TraitEmphasis, emphasis, weight_doubts
from tests.scored_flocks import TRAITS, scored

if TYPE_CHECKING:
    from pathlib import Path

    from matchmaker.genetics.study import Study

TIED = '[[correlations]]\ntraits = ["eggs", "size"]\ngenetic = -0.7\n'
BOTH_UP = TRAITS.replace("optimum = 58", 'direction = "up"')
OPPOSED = BOTH_UP.replace("weight = 0.2", "weight = 0.05").replace("weight = 0.3", "weight = 0.8")


def study(path: Path, settings: str = TRAITS) -> Study:
    return scored(path, settings).study


def of(found: Study) -> dict[str, TraitEmphasis]:
    return {one.trait: one for one in emphasis(found)}


def test_shares_sum_to_one(tmp_path: Path) -> None:
    found = of(study(tmp_path))
    assert set(found) == {"eggs", "size", "temper"}
    assert sum(one.share for one in found.values()) == pytest.approx(1)
    assert found["temper"].share == 0


def test_one_trait_alone_is_all_of_the_merit(tmp_path: Path) -> None:
    """With one trait a merit one SD better is that trait one SD of its predictions better."""
    inbred = "[breeds.sussex]\nbase = 0.1\n"
    found = study(tmp_path, TRAITS.replace("weight = 0.2", "weight = 0") + inbred)
    eggs, forecast = of(found)["eggs"], found.forecast
    trait = forecast.trait("eggs")
    birds = [forecast.position(bird.band) for bird in found.flock.breeders]
    assert forecast.inbreeding[birds].max() > 0.05
    own = (1 + forecast.inbreeding[birds]) * trait.genetic_sd**2
    spread = np.sqrt((own * trait.reliability[birds]).mean())
    assert eggs.share == pytest.approx(1)
    assert eggs.response == pytest.approx(spread)
    assert eggs.correlated == 0
    assert eggs.pulls == ()


def test_without_weights_nothing_is_led_anywhere(tmp_path: Path) -> None:
    settings = TRAITS.replace("weight = 0.2", "weight = 0").replace("weight = 0.3", "weight = 0")
    assert all(one.share == one.response == 0 for one in emphasis(study(tmp_path, settings)))


def test_without_correlations_no_weight_works_against_itself(tmp_path: Path) -> None:
    found = study(tmp_path, OPPOSED)
    assert weight_doubts(found) == []
    assert of(found)["size"].response > 0
    assert of(found)["size"].holding is None


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return study(tmp_path_factory.mktemp("opposed"), OPPOSED + TIED)


class TestOpposed:
    def test_the_weak_one_goes_the_wrong_way(self, found: Study) -> None:
        size = of(found)["size"]
        assert size.response < 0 < size.direct
        assert size.response == pytest.approx(size.direct + size.correlated)
        ((trait, pull),) = size.pulls
        assert trait == "eggs"
        assert pull == pytest.approx(size.correlated)

    def test_check_can_say_so(self, found: Study) -> None:
        (doubt,) = weight_doubts(found)
        size = of(found)["size"]
        assert (doubt.file, doubt.column) == ("matchmaker.toml", "traits.size.weight")
        assert doubt.kind == "weights-against-themselves"
        assert doubt.problem.startswith("size shall go up")
        assert f"−{abs(size.response):.2f} g" in doubt.problem
        assert "that of eggs, which is tied to it" in doubt.problem
        assert f"{size.holding:.2f}" in doubt.mend

    def test_the_weight_it_names_holds_the_trait(self, found: Study, tmp_path: Path) -> None:
        holding = of(found)["size"].holding
        assert holding is not None
        for factor, sign in ((0.98, -1), (1.02, 1)):
            settings = OPPOSED.replace("weight = 0.05", f"weight = {holding * factor:.6f}")
            other = study(tmp_path / str(factor), settings + TIED)
            assert np.sign(of(other)["size"].response) == sign

    def test_responses_are_those_of_the_covariances(self, found: Study) -> None:
        """Plain loops over breeders and traits."""
        forecast = found.forecast
        traits = forecast.traits
        weights = [t.aim.sign * t.aim.weight / t.genetic_sd for t in traits]
        birds = [forecast.position(bird.band) for bird in found.flock.breeders]
        known = np.zeros((3, 3))
        for one, first in enumerate(traits):
            for two, second in enumerate(traits):
                spread = forecast.correlations[one, two] * first.genetic_sd * second.genetic_sd
                known[one, two] = np.mean(
                    [
                        (1 + forecast.inbreeding[at]) * spread - forecast.bird_errors[at, one, two]
                        for at in birds
                    ]
                )
        merit = np.sqrt(
            sum(weights[i] * known[i, j] * weights[j] for i in range(3) for j in range(3))
        )
        for at, trait in enumerate(traits):
            expected = sum(known[at, j] * weights[j] for j in range(3)) / merit
            assert of(found)[trait.aim.trait].response == pytest.approx(expected)
