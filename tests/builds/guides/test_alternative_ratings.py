"""A permitted alternative's own ratings and figures are held to what the guide's own valve is held to."""

import pytest

from builds.guides.guide_file.alternative_rules import alternative_rules
from tests.checks.circuit.kits import pentode

HEATED = {"heater_volts": 6.3, "heater_amps": 0.76}


def problems(**alternative):
    row = pentode("V1", "a", "s", "g", "k") | {"alternatives": [{"type": "6BQ5"} | alternative]}
    return [str(problem[1]) for problem in alternative_rules(row)]


def test_an_alternative_with_sound_ratings_of_its_own_is_permitted():
    assert problems() == problems(limits=HEATED | {"anode_volts": 300, "anode_watts": 12}) == []


@pytest.mark.parametrize("name", ["anode_volts", "anode_watts", "screen_watts", "cathode_milliamps"])
@pytest.mark.parametrize("value", [0, -300, "300"])
def test_an_alternative_with_a_rating_that_nothing_could_exceed_is_refused(name, value):
    (problem,) = problems(limits={name: value})
    assert name in problem


def test_an_alternative_with_a_model_of_words_is_refused():
    (problem,) = problems(type="own", limits=HEATED, model={"mu": "about 20"})
    assert "mu" in problem
