"""The signal of a check as a guide writes it: what each key must be, and which go together."""

import pytest

from checks.circuit import Signal, Stated, as_probed, stated_signal
from checks.circuit.netlist.signal import RANGES, UNITS
from checks.errors import ChecksError

TONE = {"into": "in.tip", "level": "100 mV", "frequency": "1 kHz"}


def refused(**changes):
    mapping = {k: v for k, v in (TONE | changes).items() if v is not ...}
    with pytest.raises(ChecksError) as error:
        stated_signal(mapping)
    assert error.value.argument == error.value.params["key"]
    return error.value.code, error.value.argument


def test_a_tone_is_read_into_volts_and_hertz():
    stated = stated_signal(TONE)
    assert (stated.signal.into, stated.level, stated.hertz) == ("in.tip", pytest.approx(0.1), pytest.approx(1000))
    assert stated.signal.load_ohms is None and stated.signal.load_at == ""
    assert as_probed(stated) == (stated.level, stated.hertz, "tone")


def test_a_load_has_its_place():
    stated = stated_signal(TONE | {"load": "8R2", "load_at": "out.hot"})
    assert (stated.signal.load_at, stated.signal.load_ohms) == ("out.hot", pytest.approx(8.2))
    assert refused(load="8R") == ("signal-missing", "load_at")
    assert refused(load_at="out") == ("signal-missing", "load")


@pytest.mark.parametrize("mapping", [None, {}])
def test_a_check_without_a_signal_has_none(mapping):
    assert stated_signal(mapping) is None and as_probed(None) == ()


def test_ripple_has_no_input_but_may_have_a_load():
    stated = stated_signal({"of": "ripple"})
    assert stated == Stated(Signal()) and as_probed(stated) == (0.0, 0.0, "ripple")
    assert stated_signal({"of": "ripple", "load": "8R", "load_at": "out"}).signal.load_ohms == 8


@pytest.mark.parametrize("key", ["into", "level", "frequency"])
def test_a_tone_needs_all_three_of_its_figures(key):
    assert refused(**{key: ...}) == ("signal-missing", key)


@pytest.mark.parametrize("key", ["into", "level", "frequency"])
def test_ripple_with_any_figure_of_a_tone_is_refused(key):
    with pytest.raises(ChecksError) as error:
        stated_signal({"of": "ripple", key: TONE[key]})
    assert error.value.code == "signal-of"


@pytest.mark.parametrize("of", ["hum", "Ripple", "noise"])
def test_a_signal_is_of_ripple_or_of_nothing(of):
    with pytest.raises(ChecksError) as error:
        stated_signal({"of": of})
    assert (error.value.code, error.value.params["typed"]) == ("signal-of", of)


@pytest.mark.parametrize("key", ["lvl", "Into", "volts", "load_in"])
def test_a_key_that_there_is_not_is_refused(key):
    assert refused(**{key: "1 V"}) == ("signal-key", key)


@pytest.mark.parametrize("key", ["into", "level", "frequency"])
@pytest.mark.parametrize("value", ["", "  ", 5, None, True, ["a"]])
def test_every_key_is_text(key, value):
    assert refused(**{key: value}) == ("signal-text", key)


@pytest.mark.parametrize(("key", "typed"), [("level", "loud"), ("level", "1 kHz"), ("frequency", "100 mV"),
                                            ("frequency", "high"), ("load", "8 V")])  # fmt: skip
def test_a_figure_of_another_quantity_is_refused(key, typed):
    more = {"load_at": "out"} if key == "load" else {}
    assert refused(**{key: typed}, **more) == ("signal-figure", key)


@pytest.mark.parametrize("key", RANGES)
def test_a_figure_lies_within_what_a_bench_can_give_ends_included(key):
    low, high = RANGES[key]
    more = {"load_at": "out"} if key == "load" else {}
    for good in (low, high):
        assert stated_signal(TONE | more | {key: f"{good:.9f}"})
    for bad in (low / 2, high * 2, 0, -1):
        assert refused(**{key: f"{bad:.9f}"}, **more) == ("signal-range", key)
    assert UNITS[key]


@pytest.mark.parametrize("ohms", [0, -8.0, float("nan"), float("inf")])
def test_no_signal_is_made_with_a_load_that_is_none(ohms):
    with pytest.raises(ChecksError):
        Signal("in", "out", ohms)


@pytest.mark.parametrize("figures", [(-0.1, 1000), (0.1, -1), (float("nan"), 1), (1, float("inf"))])
def test_nothing_is_stated_with_a_level_or_frequency_below_zero(figures):
    with pytest.raises(ChecksError):
        Stated(Signal("in"), *figures)
