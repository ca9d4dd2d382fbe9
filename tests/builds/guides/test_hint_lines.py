"""Hints typed as lines."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builds.guides.editor.hint_lines import from_lines, to_lines
from checks.errors import ChecksError

WORDS = st.text("ab :.,\nlow", min_size=1, max_size=12).map(str.strip).filter(bool)
HINT = st.fixed_dictionaries(
    {"when": st.sampled_from(["low", "high", "off"]), "text": WORDS},
    optional={"next": st.sampled_from(["ht", "v2-anode", "a_1"])},
)


@pytest.mark.lengthy
@given(st.lists(HINT, max_size=4))
def test_hints_come_back_as_they_were(hints):
    assert from_lines(to_lines(hints)) == hints


def test_a_longer_hint_goes_on_in_the_lines_below_it():
    assert from_lines("LOW: F2 is blown.\r\n\r\nFit a new one.\r\nhigh, then ht: No load.") == [
        {"when": "low", "text": "F2 is blown.\n\nFit a new one."},
        {"when": "high", "text": "No load.", "next": "ht"},
    ]


@pytest.mark.parametrize("text", ["Is F2 whole?", "low: ", "sometimes: yes", "low, ht: no"])
def test_a_hint_without_words_or_a_when_is_refused(text):
    with pytest.raises(ChecksError):
        from_lines(text)
