"""Readings stored before there were codes are given theirs from their columns."""

from importlib import import_module
from types import SimpleNamespace

import pytest

from checks.outcomes import Outcome, Reason

reason_of = import_module("builds.bench.migrations.0015_codes_for_words").reason_of
CHECK = SimpleNamespace(measure="dc volts", through="", stop_above="400 V", stop_below="200 V")


def old(outcome, value, *, low=270.0, high=330.0, over_range=False):
    return SimpleNamespace(
        outcome=outcome.value,
        value=value,
        true_value=value,
        low=low,
        high=high,
        over_range=over_range,
        check_row=CHECK,
    )


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (old(Outcome.IN_BAND, 300.0), (Reason.WITHIN, None, 300.0)),
        (old(Outcome.IN_BAND, 300.0, low=None, high=None), (Reason.NO_FIGURE, None, 300.0)),
        (old(Outcome.IN_BAND, None, high=None, over_range=True), (Reason.OVER_RANGE_WANTED, None, None)),
        (old(Outcome.TOO_CLOSE, 329.0), (Reason.CLOSE, 330.0, 329.0)),
        (old(Outcome.TOO_CLOSE, 271.0), (Reason.CLOSE, 270.0, 271.0)),
        (old(Outcome.OUT_OF_BAND, 350.0), (Reason.HIGH, 330.0, 350.0)),
        (old(Outcome.OUT_OF_BAND, 250.0), (Reason.LOW, 270.0, 250.0)),
        (old(Outcome.OUT_OF_BAND, None, over_range=True), (Reason.OVER_RANGE, 330.0, None)),
        (old(Outcome.SWITCH_OFF, 450.0), (Reason.STOP_ABOVE, 400.0, 450.0)),
        (old(Outcome.SWITCH_OFF, 150.0), (Reason.STOP_BELOW, 200.0, 150.0)),
        (old(Outcome.SWITCH_OFF, None, over_range=True), (Reason.STOP_OVER_RANGE, 400.0, None)),
    ],
)
def test_an_old_reading_keeps_its_meaning(row, expected):
    assert reason_of(row) == expected


def test_a_stop_whose_limit_cannot_be_read_any_more_has_none():
    row = old(Outcome.SWITCH_OFF, 450.0)
    row.check_row = SimpleNamespace(measure="dc volts", through="", stop_above="much", stop_below="")
    assert reason_of(row) == (Reason.STOP_ABOVE, None, 450.0)
