"""A cheap meter's AC volts are true to some 400 Hz or 1 kHz (data sheets; common practice); at 10 kHz it may show half.
What it shows there never passes for certain, nor by being read twice, and never widens what passes."""

import math
from dataclasses import replace
from types import SimpleNamespace
from unittest.mock import patch
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from builds.accounts.forms import MeterForm
from builds.accounts.models import Meter
from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Build, CheckStatus, Reading, Recording
from builds.bench.offline.judging import make_key, rules_for
from builds.bench.readings.context import build_context
from builds.bench.recordings.calibration import find_calibration
from builds.bench.recordings.plans import as_table
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Check, Revision
from checks.band import Band
from checks.derived import Estimate
from checks.errors import ChecksError
from checks.meter import PRESETS, Accuracy, MeterSpec, measure
from checks.outcomes import Outcome, Reason
from checks.quantity import parse_quantity
from checks.tone.sources import Signal, SignalPlan
from checks.verdict import judge_at_line
from tests import factories

CHEAP, WIDE = (
    MeterSpec("digital", Accuracy(0.5, 2), Accuracy(1.0, 3), Accuracy(1, 3), input_ohms=1e7, ac_hertz=top)
    for top in (400.0, 100e3)
)
BAND = Band(1.0, 2.0, 1.5)


def verdict(typed, hertz, meter=CHEAP, band=BAND):
    return judge_at_line(measure(parse_quantity(typed, "V"), "ac volts", meter, hertz=hertz), band)


@pytest.mark.parametrize("hertz", [None, 40.0, 50.0, 400.0])
def test_within_what_the_manual_states_nothing_is_added(hertz):
    assert CHEAP.frequency_doubt(hertz) == 0
    assert verdict("1.500", hertz).outcome is Outcome.IN_BAND


@pytest.mark.parametrize(
    ("hertz", "share"),
    [
        (1000.0, math.sqrt(1 + 1 / 16) - 1),  # one pole at ten times 400 Hz: |H| = 1/√(1 + (f/fc)²)
        (4000.0, math.sqrt(2) - 1),  # where it is 3 dB down
        (20.0, math.sqrt(1 + (4 / 20) ** 2) - 1),  # and the same below 40 Hz
    ],
)
def test_beyond_it_a_pole_s_loss_is_added(hertz, share):
    assert CHEAP.frequency_doubt(hertz) == pytest.approx(share)
    measurement = measure(parse_quantity("1.500", "V"), "ac volts", CHEAP, hertz=hertz)
    plain = measure(parse_quantity("1.500", "V"), "ac volts", CHEAP)
    assert measurement.value == plain.value and measurement.u == pytest.approx(
        math.hypot(plain.u, 1.5 * share / math.sqrt(3))
    )


def test_at_ten_kilohertz_a_cheap_meter_passes_nothing_and_a_wide_one_does():
    """Half of 3 V, which is too much, reads as the middle of the band."""
    close = verdict("1.500", 10e3)
    assert (close.outcome, close.reason, close.confirms) == (Outcome.TOO_CLOSE, Reason.CLOSE_BY_FREQUENCY, False)
    assert verdict("1.500", 10e3, WIDE).outcome is Outcome.IN_BAND


@pytest.mark.parametrize("typed", ["0.990", "2.010", "0.2", "20"])
@pytest.mark.parametrize("hertz", [20.0, 1000.0, 20e3])
def test_what_is_out_as_typed_stays_out(typed, hertz):
    result = verdict(typed, hertz)
    assert result.outcome is Outcome.OUT_OF_BAND and not result.confirms


def test_a_stop_is_a_stop_at_any_frequency():
    assert verdict("3.1", 20e3, band=Band(1.0, 2.0, 1.5, stop_above=3.0)).outcome is Outcome.SWITCH_OFF


def test_a_meter_s_own_loss_is_not_confirmed_by_reading_twice():
    """At 1 kHz it may lose 3 %: near a limit the second reading is as wrong as the first."""
    assert not verdict("1.960", 1000.0).confirms
    assert verdict("1.500", 1000.0).outcome is Outcome.IN_BAND


@pytest.mark.parametrize("hertz", [0.0, 39.0, -1.0, math.nan, math.inf])
def test_a_meter_that_cannot_be_is_refused(hertz):
    with pytest.raises(ChecksError):
        MeterSpec("digital", Accuracy(1), Accuracy(1), Accuracy(1), input_ohms=1e7, ac_hertz=hertz)


def test_a_meter_on_record_without_it_is_taken_for_a_cheap_one():
    row = PRESETS["handheld"].as_dict()
    assert MeterSpec.from_dict(row).frequency_doubt(1000.0) == 0
    del row["ac_hertz"]
    assert MeterSpec.from_dict(row).frequency_doubt(1000.0) == pytest.approx(CHEAP.frequency_doubt(1000.0))


def test_the_form_takes_what_the_manual_states():
    own = {"preset": "own", "dc_percent": "0.5", "ac_percent": "1", "ohms_percent": "1", "input_resistance": "10M"}
    for typed, kept in (("20000", 20e3), ("", None)):
        form = MeterForm(own | {"ac_hertz": typed})
        assert form.is_valid() and form.cleaned_data["spec"].ac_hertz == kept
    assert "ac_hertz" in MeterForm(own | {"ac_hertz": "10"}).errors


GUIDE = b"""format = 1
[kit]
key = "wide-test"
name = "Test amplifier"
revision = "A"
[[stage]]
key = "sign-off"
title = "Sign-off"
[[stage.check]]
key = "middle"
title = "Output at 1 kHz"
measure = "ac volts"
red = "=the load"
expected = "2 V"
band = "20%"
[[stage.check]]
key = "high"
title = "Output at 20 kHz"
measure = "ac volts"
red = "=the load"
low = "0.5 V"
high = "3 V"
[[stage.check]]
key = "edge"
title = "Upper band edge"
measure = "upper band edge"
red = "=the load"
at_least = "3.5 kHz"
formula = { of = ["middle", "high"], hertz = [1000, 20000] }
"""


def bench(meter: MeterSpec, guide=GUIDE):
    revision = store_guide(read_guide(guide), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    builder = factories.make_builder()
    own = Meter.objects.create(owner=builder, name="Own", spec=meter.as_dict())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk), builder=builder, meter=own)
    acknowledge(open_sitting(build), build.revision.stages.get(), None)
    return build


def send(client, build, **typed):
    client.force_login(build.builder)
    for key, value in typed.items():
        address = reverse("bench:reading", args=[build.pk, "sign-off", key])
        posted = client.post(address, {"typed": value, "unit": "V", "entry_key": str(uuid4())})
        assert posted.status_code in (200, 302)
    return {status.check_row.key: status for status in CheckStatus.objects.filter(build=build)}


@pytest.mark.lengthy
@pytest.mark.django_db
def test_a_response_by_a_cheap_meter_passes_no_check_however_often_it_is_read(client):
    """Its own fall is in the figure: the edge may be anywhere."""
    build = bench(CHEAP)
    for _again in range(2):
        result = send(client, build, middle="2.000", high="1.000")
    assert not result["high"].passed and not result["edge"].passed
    assert Reading.objects.filter(check_row__key="edge", outcome=Outcome.TOO_CLOSE, confirms=False).count() == 4 - 1
    page = client.get(reverse("bench:check", args=[build.pk, "sign-off", "high"]))
    assert [f.label for f in page.context["figures"] if f.is_signal] == ["Meter"]


@pytest.mark.lengthy
@pytest.mark.django_db
def test_a_response_by_a_meter_that_reaches_it_passes(client):
    """Of readings at 1 kHz and 6 kHz; four octaves apart, the line between two of them is no curve."""
    near = GUIDE.replace(b"hertz = [1000, 20000]", b"hertz = [1000, 6000]").replace(b"3.5 kHz", b"2 kHz")
    near = near.replace(b"wide-test", b"near-test")
    result = send(client, bench(WIDE, near), middle="2.000", high="1.300")
    assert result["high"].passed and result["edge"].passed
    far = send(client, bench(WIDE), middle="2.000", high="1.000")
    assert far["high"].passed and not far["edge"].passed


def look_up(table: list, n: int) -> str:
    """What the phone does with a row of the table: the code of the last boundary at or below."""
    return [code for start, code in zip([-math.inf, *table[1::2]], table[::2], strict=True) if start <= n][-1]


@pytest.mark.django_db
@pytest.mark.parametrize(("meter", "code"), [(CHEAP, "c"), (WIDE, "i")])
def test_the_phone_without_a_connection_judges_the_same(meter, code):
    build = bench(meter)
    context = build_context(build, Check.objects.get(stage__revision=build.revision, key="high"), None)
    assert context.hertz == 20e3 and look_up(rules_for(context)["powers"]["-3"], 1500) == code
    assert make_key(context) != make_key(replace(context, hertz=None))


@pytest.mark.django_db
def test_a_figure_of_such_readings_is_not_confirmed(client):
    build = bench(WIDE)
    context = build_context(build, Check.objects.get(stage__revision=build.revision, key="edge"), None)
    close = context.judged_known(Estimate(3700.0, 300.0), 300.0).verdict
    assert close.outcome is Outcome.TOO_CLOSE and not close.confirms
    assert context.judged_known(Estimate(3700.0, 300.0), 100.0).verdict.confirms


@pytest.mark.django_db
def test_a_tone_that_the_meter_does_not_reach_sets_no_scale():
    """Volts of a recording would be wrong by as much as the meter is."""
    plan = SignalPlan(Signal.TONE, hertz=(10_000.0,))
    for top, reaches in ((400.0, False), (20e3, True)):
        meter = Meter(name="Own", spec=replace(CHEAP, ac_hertz=top).as_dict())
        row = Recording(build=Build(meter=meter), plan=as_table(plan), meter_volts="2.83")
        result = SimpleNamespace(distortion=SimpleNamespace(fundamental=SimpleNamespace(rms=0.1)), is_usable=True)
        with_none_before = patch("builds.bench.recordings.calibration.latest_calibration", return_value=None)
        with with_none_before:
            scale = find_calibration(row, result)
        assert (scale is not None and scale.value == pytest.approx(28.3)) is reaches
