"""Texts compared word by word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.ui.word_diff import Piece, word_diff

WORDS = ["C9", "the", "bus", "pin", "3", ".", " ", "\n", "**plus**", "4.7 kΩ", "it's"]
TEXTS = st.lists(st.sampled_from(WORDS), max_size=25).map("".join)


def spelled(pieces, kinds):
    return "".join(p.text for p in pieces if p.kind in kinds)


@pytest.mark.lengthy
@given(TEXTS | st.text(max_size=40), TEXTS | st.text(max_size=40))
def test_a_word_diff_spells_out_both_texts(before, after):
    pieces = word_diff(before, after)
    assert spelled(pieces, ("same", "out")) == before
    assert spelled(pieces, ("same", "in")) == after
    assert all(p.text and p.kind in ("same", "out", "in") for p in pieces)


@given(TEXTS)
def test_a_text_does_not_differ_from_itself(text):
    assert {p.kind for p in word_diff(text, text)} <= {"same"}


def test_only_the_word_that_changed_is_marked():
    assert word_diff("Solder C9 to pin 3 of V2.", "Solder C9 to pin 7 of V2.") == (
        Piece("same", "Solder C9 to pin "),
        Piece("out", "3"),
        Piece("in", "7"),
        Piece("same", " of V2."),
    )


def test_a_figure_is_one_word():
    assert word_diff("It reads 4.7 kΩ here.", "It reads 4.8 kΩ here.")[1:3] == (Piece("out", "4.7"), Piece("in", "4.8"))


def test_words_changed_in_a_row_are_marked_as_a_phrase():
    marked = [p for p in word_diff("Fit the small red wire now.", "Fit one large blue wire now.") if p.kind != "same"]
    assert marked == [Piece("out", "the small red"), Piece("in", "one large blue")]
