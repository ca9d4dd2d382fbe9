"""What a move asks for is kept as a code with its parts, and old rows are worked out again from the two revisions."""

from importlib import import_module
from types import SimpleNamespace

import pytest
from django.utils import translation

from builds.ui.messages.moves import swap_sentence

convert = import_module("builds.bench.migrations.0024_codes_for_moves")


def part(value="10k", kind="resistor", tolerance="5%", **detail):
    return SimpleNamespace(kind=kind, value=value, tolerance=tolerance, detail=detail)


@pytest.mark.parametrize(
    ("old", "new", "action"),
    [
        (None, part(), "fit"),
        (part(), None, "remove"),
        (part("10k"), part("12k"), "change"),
        (part(type="EL84"), part(type="EL34"), "change"),
        (part(tolerance="5%"), part(tolerance="1%"), "change"),
        (part(joins=["a", "b"]), part(joins=["a", "c"]), "rewire"),
        (None, None, "rewire"),  # on neither list: a row that a later edit of the guide left behind
    ],
)
def test_an_old_row_gets_the_action_its_two_revisions_give(old, new, action):
    assert convert.action_of(old, new) == action


@pytest.mark.parametrize("action", ["fit", "remove", "change", "rewire"])
def test_every_action_names_its_part_and_no_sentence_is_kept(action):
    params = {"old": convert.listed(part("10k")), "new": convert.listed(part("12k"))}
    sentence = swap_sentence(action, "R1", params)
    assert "R1" in sentence and ("10k" in sentence) == (action in ("remove", "change"))
    assert ("12k" in sentence) == (action in ("fit", "change"))
    with translation.override("de"):
        assert "R1" in swap_sentence(action, "R1", params)


def test_a_part_that_is_no_longer_known_leaves_a_sentence_without_holes():
    assert "None" not in swap_sentence("change", "R1", {})
