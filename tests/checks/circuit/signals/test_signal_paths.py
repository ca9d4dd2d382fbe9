"""Where a tone goes in and comes out, found in the parts list; with its level and the controls set for it."""

import pytest

from checks.circuit import Condition
from checks.circuit.prediction.signal_paths import TONES, signal_paths
from tests.checks.circuit.kits import parts_of, resistor
from tests.checks.circuit.signals.circuits import film, stage


def socket(ref, node):
    return {"ref": ref, "kind": "connector", "joins": {"tip": node, "sleeve": "chassis"}}


def pot(ref, top, wiper, bottom="chassis", value="1M"):
    joins = {"top": top, "wiper": wiper, "bottom": bottom}
    return {"ref": ref, "kind": "potentiometer", "value": value, "tolerance": "20%", "joins": joins}


AMPLIFIER = [
    *(row for row in stage() if row["ref"] != "R1"),
    pot("RV1", "in", "g"),
    film("C1", "a", "out", "100n"),
    resistor("R4", "out", "chassis", "470k"),
]
SOCKETS = [socket("J1", "in"), socket("J2", "out")]


def paths(*rows, **more):
    return signal_paths(parts_of(*rows), Condition(), **more)


def test_a_tone_goes_from_the_input_socket_to_the_output_socket_with_the_volume_full():
    (path,) = paths(*AMPLIFIER, *SOCKETS)
    assert (path.into, path.out, path.settings) == ("in", "out", (("RV1", 1.0),))


def test_a_kit_whose_sockets_are_not_wired_is_entered_before_its_first_grid():
    (path,) = paths(*AMPLIFIER)
    assert (path.into, path.out) == ("in", "out")


def test_no_tone_goes_where_nothing_amplifies():
    assert paths(*AMPLIFIER[:1], *SOCKETS, resistor("R9", "in", "out", "10k")) == ()


def test_no_generator_is_clipped_to_a_point_under_supply_volts():
    """Without its coupling capacitor the output stands at the anode's volts."""
    rows = [row for row in AMPLIFIER if row["ref"] not in ("C1", "R4")]
    assert paths(*rows, socket("J1", "in"), socket("J2", "a")) == ()


def test_nothing_on_the_mains_is_an_input():
    assert paths(*AMPLIFIER, *SOCKETS, barred={"in", "g"}) == ()


def test_an_adjustment_of_bias_is_no_control_of_the_signal():
    """A potentiometer in the cathode changes the gain as well as the direct volts: it stays where it is."""
    rows = [row for row in AMPLIFIER if row["ref"] != "R3"]
    (path,) = paths(*rows, *SOCKETS, pot("RV2", "k", "chassis", value="3k3"))
    assert dict(path.settings) == {"RV1": 1.0}


def test_a_guide_s_own_settings_are_kept_where_they_are_loud_enough_and_not_where_they_are_silent():
    settings = [paths(*AMPLIFIER, *SOCKETS, offered=[{"RV1": share}])[0].settings for share in (0.5, 0.01)]
    assert settings == [(("RV1", 0.5),), (("RV1", 1.0),)]


def test_the_level_stays_below_half_the_onset_of_clipping_and_is_one_that_can_be_set():
    """Gain μRa/(Ra + rp + (μ + 1)Rk), Ra with the 470k behind it: 100 × 82k/(82k + 62k + 151k) = 28. The grid stands
    some 1.3 V below its cathode, which follows it half way: 1.8 V rms drives it to grid current."""
    (path,) = paths(*AMPLIFIER, *SOCKETS)
    assert path.level == 0.5 and path.gain == pytest.approx(28, rel=0.05) and max(TONES) <= 1000


def test_each_of_two_channels_has_its_path():
    names = {"g": "g2", "a": "a2", "k": "k2", "in": "in2", "out": "out2"}

    def other(row):
        joins = row["joins"]
        if isinstance(joins, dict):
            joins = {key: names.get(node, node) for key, node in joins.items()}
        else:
            joins = [names.get(node, node) for node in joins]
        return row | {"ref": row["ref"] + "0", "joins": joins}

    channel = [row for row in AMPLIFIER if row["ref"] != "PS1"]
    result = paths(*AMPLIFIER, *map(other, channel), *SOCKETS, *map(other, SOCKETS))
    assert [(path.into, path.out) for path in result] == [("in", "out"), ("in2", "out2")]
