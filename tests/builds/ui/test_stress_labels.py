"""What the circuit names by code is named in words, with a winding's or a section's own name left alone."""

import pytest
from django.utils.translation import override

from builds.ui.messages.places import pin_label, place_label, row_label
from builds.ui.messages.stress import scatter_label, stress_label
from checks.circuit.netlist.signal import RIPPLE, TONE
from checks.circuit.prediction.probes import Probe
from checks.diagnosis.place import Place


@pytest.mark.parametrize(
    ("code", "label"),
    [("ht volts", "ht voltage"), ("a strength", "a anode current"), ("value", "value"), ("no such", "no such")],
)
def test_what_a_figure_scatters_with_is_named(code, label):
    assert scatter_label(code) == label


@pytest.mark.parametrize("code", ["anode dissipation", "anode dissipation a", "reverse voltage", "dissipation"])
def test_every_stress_is_named_in_the_readers_language(code):
    assert stress_label(code) == code
    with override("de"):
        assert stress_label(code) != code and stress_label("gate-source voltage") == "gate-source voltage"


def test_a_tone_and_a_ripple_are_not_called_dc_volts():
    tone = Place("", "", Probe("v1.anode", "chassis", "ac volts", under=TONE, hertz=40.0), "on")
    ripple = Place("", "", Probe("ht.main", "chassis", "ac volts", under=RIPPLE), "on", part="C1")
    assert "DC" not in place_label(tone) + place_label(ripple)
    assert "40" in place_label(tone) and "C1" in place_label(ripple)


def test_a_row_kept_as_a_sentence_stays_one_and_a_code_follows_the_reader():
    assert row_label("Stage 1: Check 1") == "Stage 1: Check 1" and pin_label("the whole stage") == "the whole stage"
    english = row_label(["step", "Supply", 3]), pin_label(["part", "R1"])
    with override("de"):
        assert (row_label(["step", "Supply", 3]), pin_label(["part", "R1"])) != english
