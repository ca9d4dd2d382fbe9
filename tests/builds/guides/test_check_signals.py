"""Checks under a signal: in the file, in the editor, from the circuit, shown to the builder, refused on the mains."""

import pytest
from django.urls import reverse

from builds.bench.views.figures import list_figures
from builds.guides.circuit import stored
from builds.guides.guide_file import GuideErrors, read_guide, store_guide, write_guide
from builds.guides.models import Check
from tests import factories
from tests.builds.guides.sent_form import version_at
from tests.checks.circuit.kits import DEMO

pytestmark = pytest.mark.django_db
TONE = '{ into = "in.tip", level = "1 mV", frequency = "1 kHz", load = "8.2R", load_at = "out.hot" }'
CHECK = """[[stage.check]]
key = "s-gain"
title = "Gain at 1 kHz"
measure = "ac volts"
red = "out.hot"
black = "chassis"
expected = "model"
signal = %s
"""
STAGE = """format = 1
[kit]
key = "toned"
name = "A kit under a tone"
revision = "A"
%s
[[stage]]
key = "under-signal"
title = "Under signal"
power = "on"
cautions = ["lethal-voltage"]
settings = { RV1 = 1.0 }
"""


def guide(signal=TONE, check=CHECK) -> bytes:
    """The demonstration's parts with one check."""
    text = DEMO.read_text(encoding="utf-8")
    begins = text.index("[[part]]")
    parts = text[begins : text.index("# -----", begins)]
    return (STAGE % parts + check % signal).encode()


@pytest.fixture
def draft():
    return store_guide(read_guide(guide()), factories.make_designer())


@pytest.mark.lengthy
def test_a_signal_comes_out_of_a_guide_as_it_went_in(draft):
    (check,) = read_guide(write_guide(draft).encode())["stage"][0]["check"]
    tone = {"into": "in.tip", "level": "1 mV", "frequency": "1 kHz"}
    assert check["signal"] == tone | {"load": "8.2R", "load_at": "out.hot"}


@pytest.mark.lengthy
def test_a_check_under_a_tone_gets_figure_band_and_drivers_from_the_circuit(draft):
    stored.figures_or_job(draft)
    figures = stored.saved_figures(draft).detail["checks"]["under-signal/s-gain"]
    assert 4.0 < figures["value"] < 6.0 and figures["low"] < figures["value"] < figures["high"] and figures["drivers"]


def test_ripple_can_be_left_to_the_circuit():
    check = CHECK.replace('"out.hot"', '"ht.reservoir"', 1)
    draft = store_guide(read_guide(guide('{ of = "ripple" }', check)), factories.make_designer())
    stored.figures_or_job(draft)
    assert 1.5 < stored.saved_figures(draft).detail["checks"]["under-signal/s-gain"]["value"] < 3.5


@pytest.mark.lengthy
def test_a_tone_that_clips_gets_a_reason_and_no_figure():
    draft = store_guide(read_guide(guide(TONE.replace("1 mV", "200 mV"))), factories.make_designer())
    stored.figures_or_job(draft)
    figures = stored.saved_figures(draft).detail["checks"]["under-signal/s-gain"]
    assert "value" not in figures and figures["reason"]["code"] == "signal-clips"


@pytest.mark.parametrize(
    "signal",
    [
        '{ into = "in.tip", level = "1 mV" }',
        '{ into = "in.tip", level = "1 ohm", frequency = "1 kHz" }',
        '{ into = "in.tip", level = "0 V", frequency = "1 kHz" }',
        '{ into = "in.tip", level = "1 mV", frequency = "1 kHz", load = "8.2R" }',
        '{ into = "in.tip", level = "1 mV", frequency = "1 kHz", pitch = "high" }',
        '{ into = "nowhere", level = "1 mV", frequency = "1 kHz" }',
        '{ into = "chassis", level = "1 mV", frequency = "1 kHz" }',
        '{ of = "hiss" }',
        '{ of = "ripple", into = "in.tip" }',
        '{ into = 3, level = "1 mV", frequency = "1 kHz" }',
    ],
)
def test_a_signal_that_says_too_little_or_too_much_is_refused(signal):
    with pytest.raises(GuideErrors) as refused:
        read_guide(guide(signal))
    assert any("signal" in str(problem) for problem in refused.value.problems)


@pytest.mark.parametrize("key", ["into", "load_at"])
def test_a_signal_or_load_on_the_mains_is_refused(key):
    wrong = TONE.replace("in.tip" if key == "into" else "out.hot", "mains.live")
    with pytest.raises(GuideErrors) as refused:
        read_guide(guide(wrong))
    assert any("mains" in str(problem) for problem in refused.value.problems)


def test_only_ac_volts_with_the_power_on_are_read_under_a_signal():
    for wrong in (
        guide(check=CHECK.replace("ac volts", "dc volts")),
        guide().replace(b'power = "on"', b'power = "off"'),
    ):
        with pytest.raises(GuideErrors) as refused:
            read_guide(wrong)
        assert any("signal" in str(problem) for problem in refused.value.problems)


@pytest.mark.lengthy
def test_the_editor_takes_a_signal_and_refuses_half_of_one(client, draft):
    client.force_login(draft.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    address = reverse(
        "guides:add-inner",
        kwargs={"kit": draft.kit.key, "letter": draft.letter, "stage": "under-signal", "kind": "check"},
    )
    row = {"key": "low", "title": "Low end", "measure": "ac volts", "red": "out.hot", "black": "chassis"}
    row |= {"expected": "2 V", "figure_from": "designer", "band": "20%"}
    half = {"under-0-into": "in.tip", "under-0-level": "1 mV"}
    refused = client.post(address, row | half)
    assert refused.status_code == 422 and 'value="in.tip"' in refused.content.decode()
    whole = half | {"under-0-frequency": "40 Hz", "under-0-load": "8.2R", "under-0-load_at": "out.hot"}
    assert client.post(address, row | whole | {"under-0-of": "ripple"}).status_code == 422
    assert client.post(address, row | whole | {"under-1-of": "ripple"}).status_code == 422
    assert client.post(address, row | whole).status_code == 302
    check = Check.objects.get(key="low")
    assert check.signal["frequency"] == "40 Hz"
    edit = reverse("guides:edit-inner", args=[draft.kit.key, draft.letter, "under-signal", "check", check.pk])
    assert 'value="40 Hz"' in client.get(edit).content.decode()
    assert client.post(edit, row | dict.fromkeys(whole, "") | version_at(client, edit)).status_code == 302
    assert Check.objects.get(key="low").signal is None


def test_the_builder_is_told_what_to_connect(draft):
    check = Check.objects.get(key="s-gain")
    first = list_figures(check, None, None, "", False)[0]
    assert "1 kHz" in first.figure and "8.2" in first.figure


@pytest.mark.lengthy
def test_the_designer_sees_gain_response_impedances_and_limits(client, draft):
    client.force_login(draft.kit.designers.get(), backend="django.contrib.auth.backends.ModelBackend")
    stored.figures_or_job(draft)
    (row,) = stored.saved_figures(draft).detail["responses"]
    # the grid leak of a megohm beside what the first grid takes at 1 kHz
    assert row["gain"] == pytest.approx(4900, rel=0.1) and 7e5 < row["input_ohms"] < 1e6
    low_3, low_1, high_1, high_3 = row["corners"]
    assert low_3 < low_1 < 1000 < high_1 < high_3
    assert [(s["ref"], s["section"]) for s in row["stages"]] == [("V1", "a"), ("V1", "b"), ("V2", "")]
    assert 3 < row["watts"] < 5 and row["clipping"]["ref"] == "V2"
    body = client.get(reverse("guides:circuit", args=[draft.kit.key, draft.letter])).content.decode()
    assert "Input impedance" in body and "Response within 3 dB" in body
