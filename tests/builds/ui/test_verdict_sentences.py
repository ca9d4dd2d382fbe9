"""A verdict's sentence shows what it says: a value past its limit never reads like the limit."""

import pytest

from builds.ui.messages.verdicts import finding_text


@pytest.mark.parametrize(
    "reason, value, limit, said",
    [
        ("stop above", 500.027, 500.0, "500.03 V is above the stop limit of 500.00 V."),
        ("stop above", 520.0, 500.0, "520 V is above the stop limit of 500 V."),
        ("high", 309.31, 308.6, "Too high: 309.3 V. The upper limit is 308.6 V."),
        ("low", 5.9999, 6.0, "Too low: 5.9999 V. The lower limit is 6.0000 V."),
    ],
)
def test_a_value_past_its_limit_does_not_read_like_it(reason, value, limit, said):
    assert finding_text(reason, {"value": value, "limit": limit, "u": 0.1}, "V") == said


def test_a_value_on_its_limit_is_written_as_it_is():
    text = finding_text("close", {"value": 285.0, "limit": 285.0, "u": 1.0}, "V")
    assert "cannot tell 285 V from the limit, 285 V" in text
