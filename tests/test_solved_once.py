"""What is solved once a run is solved anew for anything else, and never handed out half made."""

import pytest

from tests.solved_once import kept


@pytest.fixture
def solve(tmp_path):
    calls = []

    def double(volts, samples=1):
        calls.append(volts)
        if volts < 0:
            raise ValueError("no such circuit")
        return {"volts": 2 * volts, "samples": samples}

    once = kept(double, lambda volts, samples=1: (volts, samples), tmp_path)
    once.calls = calls
    return once


def test_the_same_is_solved_once_and_handed_out_as_a_copy(solve):
    first = solve(3)
    first["volts"] = 0
    assert solve(3) == {"volts": 6, "samples": 1} and solve.calls == [3]


def test_other_figures_or_samples_are_solved_anew(solve):
    assert solve(3) != solve(4) and solve(3, samples=9)["samples"] == 9 and solve.calls == [3, 4, 3]


def test_what_cannot_be_solved_is_refused_every_time(solve):
    for _ in range(2):
        with pytest.raises(ValueError, match="no such circuit"):
            solve(-1)
    assert solve.calls == [-1, -1]
