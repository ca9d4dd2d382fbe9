"""What is solved once is solved anew for anything else, and never handed out half made."""

import pytest

from tests.solved_once import folder_of_this_code, kept


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


def test_an_answer_half_written_is_worked_out_anew(solve, tmp_path):
    solve(3)
    (file,) = tmp_path.iterdir()
    file.write_bytes(file.read_bytes()[:-5])
    assert solve(3)["volts"] == 6 and solve.calls == [3, 3]


def test_a_changed_line_leaves_nothing_of_what_the_code_before_had_worked_out(tmp_path):
    code = tmp_path / "checks" / "circuit" / "solve.py"
    code.parent.mkdir(parents=True)
    code.write_text("VOLTS = 300")
    before = folder_of_this_code(tmp_path / "solved", tmp_path)
    before.mkdir(parents=True)
    assert folder_of_this_code(tmp_path / "solved", tmp_path) == before and before.exists()
    code.write_text("VOLTS = 301")
    assert folder_of_this_code(tmp_path / "solved", tmp_path) != before and not before.exists()
