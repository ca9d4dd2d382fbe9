"""A folder of recordings goes to its builds and signals by itself; what is something else is named and left out."""

import math
from types import SimpleNamespace
from uuid import uuid4

import numpy as np
import pytest
from django.urls import reverse
from scipy.signal import resample_poly

from builds.bench.models import Reading, Recording
from builds.review.amplifier.folder import _metered
from checks.errors import ChecksError
from checks.tone.recognise import recognise
from checks.tone.sources import STEPS, Signal, SignalPlan, make_signal
from tests.builds.bench.test_figures import build, sound, tone  # noqa: F401

pytestmark = pytest.mark.django_db
PLANS = [
    SignalPlan(Signal.TONE),
    SignalPlan(Signal.TONE, hertz=(40.0,)),
    SignalPlan(Signal.TWO_TONE, hertz=(250.0, 8000.0)),
    SignalPlan(Signal.SWEEP, hertz=(8.0, 22_000.0)),
    STEPS,
    SignalPlan(Signal.SILENCE, hertz=()),
]


def heard(samples, rate=48_000):
    blocks = (samples[n : n + 50_000, None] for n in range(0, len(samples), 50_000))
    return recognise(PLANS, rate, blocks)


def noise(count, rms=1e-4):
    return rms * np.random.default_rng(5).standard_normal(count)


@pytest.mark.lengthy
@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: f"{plan.signal} {plan.hertz}")
def test_every_test_signal_is_told_from_the_others(plan):
    samples = 0.3 * make_signal(plan)
    samples = samples + 0.02 * samples**2 + noise(len(samples))
    samples += 0.003 * np.sin(2 * np.pi * 100 * np.arange(len(samples)) / 48_000)
    assert heard(samples) == plan


def test_what_is_none_of_them_is_not_taken_for_one():
    time = np.arange(48_000 * 6) / 48_000
    assert heard(0.3 * np.sin(2 * np.pi * 440 * time) + noise(len(time))) is None
    assert heard(noise(48_000 * 6, 0.2)) is None
    assert heard(np.zeros(48_000 * 6)) is None


def send(client, of, files, **more):
    url = reverse("review:add-recordings", args=[of.revision.kit.key, "A"])
    return client.post(url, {"files": files, "entry_key": str(uuid4()), "meter_volts": "2.83"} | more)


def named(file, name):
    file.name = name
    file.seek(0)
    return file


@pytest.fixture
def designer(client, build):  # noqa: F811
    person = build.revision.kit.designers.get()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return person


@pytest.mark.lengthy
def test_a_folder_is_sorted_by_serial_number_and_by_listening(client, build, designer):  # noqa: F811
    hum = 1e-3 * np.sin(2 * np.pi * 50 * np.arange(48_000 * 6) / 48_000)
    files = [
        named(sound(noise(48_000 * 6) + hum), f"{build.serial} b.wav"),
        named(sound(tone()), f"{build.serial} a.wav"),
        named(sound(tone()), "somebody.wav"),
        named(sound(0.3 * np.sin(np.arange(48_000 * 4) / 17)), f"{build.serial} song.wav"),
    ]
    answer = send(client, build, files)
    taken = {one.name: one for one in answer.context["taken"]}
    assert taken[f"{build.serial} a.wav"].recording.plan["signal"] == "tone"
    assert taken[f"{build.serial} b.wav"].recording.plan["signal"] == "silence"
    assert taken["somebody.wav"].problem and taken[f"{build.serial} song.wav"].problem
    assert Recording.objects.count() == 2
    read = {r.check_row.key for r in Reading.objects.select_related("check_row")}
    assert read == {"thd", "volts", "hum"}  # the tone calibrated the silence that came before it
    rows = client.get(reverse("reports:specification", args=[build.revision.kit.key, "A"])).context["rows"]
    assert {figure.check.key for figure, _spread in rows} == read


@pytest.mark.lengthy
def test_the_same_folder_sent_twice_is_kept_once(client, build, designer):  # noqa: F811
    key = str(uuid4())
    for _turn in range(2):
        send(client, build, [named(sound(tone()), "x.wav")], entry_key=key, build=build.pk)
    assert Recording.objects.count() == 1


def test_a_folder_without_files_or_for_a_build_of_another_kit_is_refused(client, build, designer):  # noqa: F811
    assert send(client, build, []).status_code == 422
    assert send(client, build, [named(sound(tone()), "x.wav")], build=999_999).status_code == 422
    assert not Recording.objects.exists()


def recognised(pk, plan):
    """A file as far as the meter's reading asks."""
    wanted = SimpleNamespace(plan=plan, is_calibrating=plan.signal is Signal.TONE)
    return SimpleNamespace(build=SimpleNamespace(pk=pk), wanted=wanted)


def test_the_one_meter_reading_is_of_the_tone_nearest_1_khz_and_of_no_other():
    """At 40 Hz the same input gives an amplifier with a corner at 22 Hz 0.876 of its volts at 1 kHz."""
    files = [recognised(1, plan) for plan in (*PLANS, SignalPlan(Signal.TONE, hertz=(10_000.0,)))]
    files.append(recognised(2, SignalPlan(Signal.TONE, hertz=(40.0,))))  # of this build the only tone
    assert _metered(files) == {(1, 1000.0), (2, 40.0)}


@pytest.mark.parametrize("rate", [44_100, 96_000])
def test_a_sweep_recorded_at_another_rate_is_named_as_that(rate):
    """It cannot be measured. "None of the test signals" would have its maker look for another mistake."""
    plan = SignalPlan(Signal.SWEEP, hertz=(8.0, 22_000.0), seconds=2.0)
    divisor = math.gcd(rate, 48_000)
    samples = resample_poly(0.3 * make_signal(plan), rate // divisor, 48_000 // divisor)
    samples = samples + noise(len(samples))
    with pytest.raises(ChecksError) as error:
        recognise([plan, SignalPlan(Signal.TONE)], rate, iter([samples[:, None]]))
    assert error.value.code == "other rate" and error.value.params["rate"] == 48_000
    assert recognise([plan], rate, iter([noise(rate * 3, 0.05)[:, None]])) is None
