"""Figures of the finished amplifier at the bench: worked out from readings, and measured in recordings."""

import io
import wave
from uuid import uuid4

import numpy as np
import pytest
import soundfile
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from scipy.signal import butter, fftconvolve, sosfilt

from builds.bench.gates.sittings import acknowledge, open_sitting
from builds.bench.models import Reading, Recording
from builds.bench.readings.worked_out import work_out_check
from builds.bench.recordings.files import inspect_sound, list_blocks
from builds.bench.recordings.loopback import SWEEP, list_loopbacks, with_card
from builds.bench.recordings.results_page import _percent
from builds.guides.guide_file import read_guide, store_guide
from builds.guides.models import Revision
from builds.jobs.registry import FUNCTIONS
from builds.reports.worksheet.gather import worksheet
from checks.tone.sources import FULL, Signal, SignalPlan, make_signal
from tests import factories

pytestmark = pytest.mark.django_db
GUIDE = b"""format = 1
[kit]
key = "tone-test"
name = "Test amplifier"
revision = "A"
[[stage]]
key = "sign-off"
title = "Sign-off"
[[stage.check]]
key = "full"
title = "Output just below clipping"
measure = "ac volts"
red = "=the load"
expected = "6.3 V"
band = "15%"
[[stage.check]]
key = "power"
title = "Output power"
measure = "output power"
red = "=the load"
at_least = "4 W"
formula = { of = ["full"], load = "8 ohm" }
[[stage.check]]
key = "thd"
title = "Distortion at 1 kHz"
measure = "distortion"
red = "=the load"
at_most = "2%"
recording = { signal = "tone" }
[[stage.check]]
key = "volts"
title = "Output while recorded"
measure = "output volts"
red = "=the load"
expected = "2.83 V"
band = "20%"
recording = { signal = "tone" }
[[stage.check]]
key = "hum"
title = "Hum"
measure = "hum volts"
red = "=the load"
at_most = "3 mV"
recording = { signal = "silence" }
"""


@pytest.fixture
def build(client):
    revision = store_guide(read_guide(GUIDE), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED)
    revision.refresh_from_db()
    build = factories.make_build(revision=revision)
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    sitting = open_sitting(build)
    acknowledge(sitting, revision.stages.get(), None)
    return build


def read(client, build, key, typed):
    url = reverse("bench:reading", args=[build.pk, "sign-off", key])
    return client.post(url, {"typed": typed, "unit": "V", "entry_key": str(uuid4())})


def sound(samples, rate=48_000, kind="WAV", subtype="PCM_24"):
    out = io.BytesIO()
    soundfile.write(out, samples, rate, subtype=subtype, format=kind)
    return SimpleUploadedFile(f"take.{kind.lower()}", out.getvalue())


def send(client, build, number, file, **more):
    url = reverse("bench:add-recording", args=[build.pk, "sign-off", number])
    return client.post(url, {"file": file, "entry_key": str(uuid4()), **more})


def tone(second=0.01, gain=0.4):
    plan = SignalPlan(Signal.TONE)
    x = make_signal(plan) / 0.891
    return gain * (x + 2 * second * (x**2 - 0.5 * (np.abs(x) > 0)))


def outcome(build, key):
    status = build.statuses.select_related("latest").get(check_row__key=key)
    return status.latest.outcome, status.latest


def test_a_power_is_taken_by_itself_with_the_reading_it_rests_on(client, build):
    assert read(client, build, "full", "6.32").status_code == 302
    word, power = outcome(build, "power")
    assert word == "in band" and power.value == pytest.approx(6.32**2 / 8)
    assert power.u / power.value > 2 * 0.01 / np.sqrt(3)  # the meter counts twice, the load once


def test_a_power_follows_when_its_reading_is_taken_again(client, build):
    read(client, build, "full", "6.32")
    read(client, build, "full", "5.40")
    word, power = outcome(build, "power")
    assert power.attempt == 2 and power.value == pytest.approx(5.40**2 / 8) and word == "out of band"


def test_a_figure_that_is_worked_out_cannot_be_typed(client, build):
    assert read(client, build, "power", "9").status_code == 404
    assert not Reading.objects.exists()
    page = client.get(reverse("bench:check", args=[build.pk, "sign-off", "power"]))
    assert page.context["form"] is None
    assert [row.check.key for row in page.context["worked_out"].inputs] == ["full"]
    assert page.context["worked_out"].missing[0].key == "full"


@pytest.mark.lengthy
@pytest.mark.parametrize(("kind", "subtype"), [("WAV", "PCM_16"), ("WAV", "FLOAT"), ("FLAC", "PCM_24")])
def test_one_recording_answers_every_check_of_its_signal(client, build, kind, subtype):
    answer = send(client, build, 1, sound(tone(), kind=kind, subtype=subtype), meter_volts="2.83")
    assert answer.status_code == 302, answer.context["rows"][0]["form"].errors
    recording = Recording.objects.get()
    assert recording.state == "analysed" and recording.error == {}
    word, thd = outcome(build, "thd")
    assert word == "in band" and thd.value == pytest.approx(1.0, rel=0.02)
    assert outcome(build, "volts")[1].value == pytest.approx(2.83, rel=1e-3)


@pytest.mark.lengthy
def test_hum_is_read_in_volts_by_the_calibration_of_the_tone(client, build):
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    full_scale = Recording.objects.get().scale
    time = np.arange(48_000 * 6) / 48_000
    hum = np.sqrt(2) * 0.0015 / full_scale * np.sin(2 * np.pi * 100 * time)
    assert (
        send(client, build, 2, sound(hum + 1e-5 * np.random.default_rng(1).standard_normal(len(time)))).status_code
        == 302
    )
    word, reading = outcome(build, "hum")
    assert word == "in band" and reading.value == pytest.approx(0.0015, rel=0.02)


@pytest.mark.lengthy
def test_without_a_calibration_volts_are_not_guessed(client, build):
    answer = send(client, build, 1, sound(tone()))
    assert answer.status_code == 422 and "meter_volts" in answer.context["rows"][0]["form"].errors
    assert not Recording.objects.exists()
    send(client, build, 2, sound(0.01 * np.random.default_rng(1).standard_normal(48_000 * 4)))
    assert Recording.objects.get().error["checks"]["hum"]["code"] == "no-calibration"
    assert not Reading.objects.exists()


def silence_with_hum(volts, scale, seed=1):
    time = np.arange(48_000 * 6) / 48_000
    noise = 1e-5 * np.random.default_rng(seed).standard_normal(len(time))
    return sound(np.sqrt(2) * volts / scale * np.sin(2 * np.pi * 100 * time) + noise)


def a_tone(seed):
    return sound(tone() + 1e-5 * np.random.default_rng(seed).standard_normal(len(tone())))


def swept(corner):
    """A sound card by itself, whose input capacitor cuts the first order off below `corner` hertz."""
    played = sosfilt(butter(1, corner, "high", fs=48_000, output="sos"), 0.4 * make_signal(SWEEP))
    return sound(played + 1e-5 * np.random.default_rng(int(corner)).standard_normal(len(played)))


@pytest.mark.lengthy
def test_hum_that_a_card_may_have_cut_waits_for_the_card_s_own_sweep(client, build):
    """2 mV at 100 Hz, where 3 mV may be: behind an input of 120 Hz they were 3.1 mV (1/√(1 + 1.2²) of it remains)."""
    send(client, build, 1, a_tone(1), meter_volts="2.83")
    words, pages = [], []
    for corner in (None, 120.0, 3.0):
        if corner:
            assert loop(client, build, 3, swept(corner)).status_code == 302
        send(client, build, 2, silence_with_hum(0.002, TRUE_SCALE))
        words.append(outcome(build, "hum")[0])
        recording = build.recordings.filter(stage__isnull=False).first()
        pages.append(shown(client, build, recording).content.decode())
    assert words == ["too close to call", "out of band", "in band"]
    assert outcome(build, "hum")[1].value == pytest.approx(0.002, rel=0.01)
    assert "hum may be up to 3.9 dB higher than shown" in pages[0]
    assert "shows 3.8 dB too little hum" in pages[1] and "too little hum" not in pages[2]
    signal = client.get(reverse("bench:signal", args=[build.pk, "sign-off", 3]))
    assert signal.status_code == 200 and len(soundfile.read(io.BytesIO(signal.content))[0]) == len(make_signal(SWEEP))


TRUE_SCALE = 2.83 / (0.4 / np.sqrt(2))  # volts of full scale: of a sine of 0.4, its RMS by its definition


@pytest.mark.lengthy
@pytest.mark.parametrize("typed", ["0.283", "283 mV", "28.3", "0.0283"])
def test_a_meter_reading_ten_times_off_sets_no_scale_and_lets_no_hum_pass(client, build, typed):
    """20 mV of hum, where 3 mV may be: by a tenth of the volts it would read 2 mV and pass."""
    send(client, build, 1, a_tone(1), meter_volts=typed)
    first = Recording.objects.get()
    assert first.scale is None and first.error["checks"]["volts"]["code"] == "meter-decades"
    send(client, build, 2, silence_with_hum(0.020, TRUE_SCALE))
    assert not Reading.objects.filter(check_row__key__in=("hum", "volts")).exists()
    page = client.get(reverse("bench:recording", args=[build.pk, first.pk])).content.decode()
    assert "about ten times too high or too low" in page


@pytest.mark.lengthy
def test_a_meter_reading_ten_times_off_the_recordings_before_it_sets_no_scale(client, build):
    assert send(client, build, 1, a_tone(1), meter_volts="2.83").status_code == 302
    send(client, build, 1, sound(0.1 * tone() + 1e-5 * noises(len(tone()))[1]), meter_volts="2.83")
    assert [bool(r.scale) for r in Recording.objects.order_by("pk")] == [True, False]
    send(client, build, 1, sound(0.1 * tone() + 1e-5 * noises(len(tone()))[0]), meter_volts="2.9")
    assert [bool(r.scale) for r in Recording.objects.order_by("pk")] == [True, False, True]
    assert Recording.objects.order_by("pk").last().scale == pytest.approx(10 * 2.9 / 2.83 * TRUE_SCALE, rel=0.02)


@pytest.mark.lengthy
def test_an_output_that_is_a_tenth_is_believed_the_second_time(client, build):
    for seed in (1, 2):
        send(client, build, 1, a_tone(seed), meter_volts="0.28")
    assert [bool(r.scale) for r in Recording.objects.order_by("pk")] == [False, True]
    word, volts = outcome(build, "volts")
    assert word == "out of band" and volts.value == pytest.approx(0.28, rel=1e-3)


@pytest.mark.lengthy
@pytest.mark.parametrize("typed", ["1.0", "2.3", "5.6", "9.0"])
def test_an_output_that_is_only_weak_or_strong_sets_the_scale(client, build, typed):
    send(client, build, 1, a_tone(1), meter_volts=typed)
    assert Recording.objects.get().scale == pytest.approx(float(typed) / (0.4 / np.sqrt(2)), rel=1e-2)


@pytest.mark.lengthy
def test_the_recording_of_another_build_is_not_this_one_s(client, build):
    """One file sent for two builds passed both."""
    other = factories.make_build(revision=build.revision, builder=build.builder)
    acknowledge(open_sitting(other), build.revision.stages.get(), None)
    noise = 1e-5 * np.random.default_rng(3).standard_normal(len(tone()))
    send(client, build, 1, sound(tone() + noise), meter_volts="2.83")
    send(client, other, 1, sound(tone() + noise), meter_volts="3.00")
    refused = other.recordings.get()
    assert (refused.state, refused.error["code"]) == ("refused", "another-build")
    assert refused.error["params"]["serial"] == build.serial and not other.readings.exists()
    send(client, other, 1, sound(tone() + noise[::-1]), meter_volts="3.00")
    send(client, build, 1, sound(tone() + noise), meter_volts="2.83")  # the same build may send it again
    assert other.recordings.filter(state="analysed").count() == 1 and build.readings.count() == 4


TWO_STAGES = GUIDE + GUIDE[GUIDE.index(b"[[stage]]") :].replace(b"sign-off", b"again")


@pytest.mark.lengthy
def test_one_recording_is_not_sent_for_two_stages_nor_cut_for_two_builds(client):
    """Of the same build too: the stage after a change would pass with the figures from before it."""
    revision = store_guide(read_guide(TWO_STAGES), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    one, other = (factories.make_build(revision=Revision.objects.get(pk=revision.pk)) for _ in range(2))
    taken = tone() + 1e-5 * noises(len(tone()))[0]

    def sent(build, stage, samples):
        client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
        acknowledge(open_sitting(build), build.revision.stages.get(key=stage), None)
        url = reverse("bench:add-recording", args=[build.pk, stage, 1])
        client.post(url, {"file": sound(samples), "entry_key": str(uuid4()), "meter_volts": "2.83"})
        row = build.recordings.filter(stage__key=stage).order_by("-pk").first()
        return row.state, row.error.get("code")

    assert sent(one, "sign-off", taken) == ("analysed", None)
    assert sent(one, "again", taken) == ("refused", "another-stage")
    assert sent(other, "again", taken[20_000:]) == ("refused", "another-build")
    assert sent(one, "sign-off", taken) == ("analysed", None)  # the same again, in its own place
    assert sent(one, "again", tone() + 1e-5 * noises(len(tone()))[1]) == ("analysed", None)


STEREO = GUIDE.replace(b'recording = { signal = "tone" }', b'recording = { signal = "tone", channel = "right" }', 1)


@pytest.mark.lengthy
def test_swapped_channels_give_no_reading_and_the_marked_signal_is_offered(client):
    revision = store_guide(read_guide(STEREO), factories.make_designer())
    Revision.objects.filter(pk=revision.pk).update(state=Revision.State.ISSUED, issued_at=timezone.now())
    build = factories.make_build(revision=Revision.objects.get(pk=revision.pk))
    client.force_login(build.builder, backend="django.contrib.auth.backends.ModelBackend")
    acknowledge(open_sitting(build), build.revision.stages.get(), None)
    played = client.get(reverse("bench:signal", args=[build.pk, "sign-off", 1])).content
    sent, rate = soundfile.read(io.BytesIO(played), always_2d=True)
    assert sent.shape[1] == 2 and rate == 48_000
    left, right = (0.4 * x + 0.004 * x**2 + 1e-5 * n for x, n in zip(sent.T, noises(len(sent)), strict=True))
    send(client, build, 1, sound(np.column_stack([right, left])), meter_volts="2.83")
    assert not Reading.objects.exists()
    doubts = [{r["doubt"] for r in table["remarks"]} for table in Recording.objects.get().results]
    assert doubts == [{"channels swapped"}] * 2
    send(client, build, 1, sound(np.column_stack([left, right])), meter_volts="2.83")
    assert {reading.check_row.key for reading in Reading.objects.all()} == {"thd", "volts"}


def noises(count):
    return np.random.default_rng(4).standard_normal((2, count))


@pytest.mark.lengthy
def test_a_clipped_recording_gives_no_reading_and_says_so(client, build):
    send(client, build, 1, sound(np.clip(4 * tone(), -1, 1)), meter_volts="2.83")
    recording = Recording.objects.get()
    assert not Reading.objects.exists()
    page = client.get(reverse("bench:recording", args=[build.pk, recording.pk]))
    assert page.status_code == 200 and not page.context["channels"][0].is_usable
    assert page.context["channels"][0].remarks


@pytest.mark.parametrize(
    "file",
    [
        SimpleUploadedFile("take.wav", b"RIFF\x00\x00\x00\x00WAVE"),
        SimpleUploadedFile("take.wav", b"not a sound at all"),
        SimpleUploadedFile("take.flac", b"fLaC" + bytes(200)),
        SimpleUploadedFile("take.wav", b""),
        sound(np.zeros(0)),
        sound(np.zeros((4800, 3))),
        sound(np.zeros(4800), rate=12_345),
        sound(np.zeros(4800), subtype="PCM_U8"),
    ],
)
def test_what_is_no_recording_is_refused_in_words_and_nothing_is_kept(client, build, file):
    file.seek(0)
    answer = send(client, build, 1, file, meter_volts="2.83")
    assert answer.status_code == 422
    assert answer.context["rows"][0]["form"].errors["file"]
    assert answer.context["rows"][0]["form"]["meter_volts"].value() == "2.83"
    assert not Recording.objects.exists()


def test_a_recording_too_short_is_kept_with_its_reason(client, build):
    send(client, build, 1, sound(tone()[:4000]), meter_volts="2.83")
    recording = Recording.objects.get()
    assert recording.state == "refused" and recording.error["code"] == "too short"
    assert client.get(reverse("bench:recording", args=[build.pk, recording.pk])).status_code == 200


@pytest.mark.lengthy
def test_the_same_entry_sent_twice_is_kept_once(client, build):
    key = str(uuid4())
    for _ in range(2):
        assert send(client, build, 1, sound(tone()), meter_volts="2.83", entry_key=key).status_code == 302
    assert Recording.objects.count() == 1
    assert Reading.objects.filter(check_row__key="thd").count() == 1


def test_the_test_signal_is_a_sound_file_of_its_plan(client, build):
    answer = client.get(reverse("bench:signal", args=[build.pk, "sign-off", 1]))
    assert answer["Cache-Control"] == "no-store"  # on a shared phone nobody else has it
    samples, rate = soundfile.read(
        io.BytesIO(b"".join(answer.streaming_content) if answer.streaming else answer.content)
    )
    assert rate == 48_000
    assert np.abs(samples - make_signal(SignalPlan(Signal.TONE))).max() < 2e-7
    assert client.get(reverse("bench:signal", args=[build.pk, "sign-off", 9])).status_code == 404


def test_a_sweep_comes_with_its_inverse_and_a_tone_has_none(client, build):
    addresses = [reverse("bench:signal", args=[build.pk, "sign-off", number]) for number in (1, 3)]
    assert client.get(addresses[0] + "?inverse=1").status_code == 404
    sweep, inverse = (
        soundfile.read(io.BytesIO(client.get(addresses[1] + asked).content))[0] for asked in ("", "?inverse=1")
    )
    assert np.abs(inverse).max() == pytest.approx(FULL, abs=1e-6)
    pulse = fftconvolve(sweep, inverse)
    peak = int(np.abs(pulse).argmax())
    beside = np.abs(np.concatenate([pulse[: peak - 480], pulse[peak + 480 :]])).max()
    assert beside < 0.02 * np.abs(pulse[peak])


@pytest.mark.lengthy
def test_a_stranger_gets_neither_signal_nor_results(client, build):
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    recording = Recording.objects.get()
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    for name, args in (("recording", [build.pk, recording.pk]), ("signal", [build.pk, "sign-off", 1])):
        assert client.get(reverse(f"bench:{name}", args=args)).status_code == 404
    assert send(client, build, 1, sound(tone()), meter_volts="2.83").status_code == 404


def test_a_figure_that_no_meter_shows_has_no_box_on_the_worksheet(client, build):
    page = client.get(reverse("bench:sheet", args=[build.pk, "sign-off"]))
    assert [line.key for line in page.context["lines"]] == ["full"]
    data = {"entry_key": str(uuid4()), "day": str(timezone.localdate()), "read": "on"}
    client.post(reverse("bench:sheet", args=[build.pk, "sign-off"]), data | {"thd-typed": "0.1", "thd-at": "00:00"})
    assert not Reading.objects.exists()
    (stage,) = worksheet(build, ("sign-off",), str)
    assert [line.check.key for line in stage.lines] == ["full"]


@pytest.mark.lengthy
def test_a_silence_that_a_worker_takes_up_first_waits_for_the_tone_that_calibrates_it(client, build, settings):
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    noise = 1e-3 * np.random.default_rng(1).standard_normal(48_000 * 6)
    send(client, build, 2, sound(noise + 1e-3 * np.sin(2 * np.pi * 100 * np.arange(len(noise)) / 48_000)))
    silence, first = Recording.objects.all()
    FUNCTIONS["recording"](lambda *_args: None, silence.pk)
    FUNCTIONS["recording"](lambda *_args: None, first.pk)
    assert {row.state for row in Recording.objects.all()} == {"analysed"}
    assert Recording.objects.get(pk=silence.pk).error == {} and outcome(build, "hum")
    assert Reading.objects.filter(check_row__key="thd").count() == 1  # measured once, whoever was quicker


def loop(client, build, number, file):
    url = reverse("bench:add-loopback", args=[build.pk, "sign-off", number])
    return client.post(url, {"file": file, "entry_key": str(uuid4())})


def noise(rms, seed=1, seconds=4):
    return sound(rms * np.random.default_rng(seed).standard_normal(48_000 * seconds))


def shown(client, build, recording):
    return client.get(reverse("bench:recording", args=[build.pk, recording.pk]))


@pytest.mark.lengthy
def test_the_cards_own_noise_is_taken_away_as_power_where_that_leaves_a_figure(client, build):
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    send(client, build, 2, noise(1e-3))
    silence = Recording.objects.first()
    assert shown(client, build, silence).context["knows_card"] is False  # said when it is not known
    assert loop(client, build, 2, noise(6e-4, 2)).status_code == 302
    card = Recording.objects.first()
    assert card.is_loopback and not Reading.objects.filter(check_row__key="noise").exists()
    answer = shown(client, build, silence)
    assert answer.context["knows_card"] is True
    (tables, _known) = with_card(silence)
    own = tables[0]["noise_without_card"]["rms"]
    whole = silence.results[0]["noise"]["rms"]
    assert not own["is_floor"] and own["rms"] / whole == pytest.approx(0.8, rel=0.02)  # 1 and 0.6 of power


@pytest.mark.lengthy
def test_a_noise_that_is_the_cards_own_is_called_its_floor(client, build):
    send(client, build, 2, noise(1e-3))
    silence = Recording.objects.get()
    loop(client, build, 2, noise(9e-4, 2))
    assert with_card(silence)[0][0]["noise_without_card"]["rms"]["is_floor"]


@pytest.mark.lengthy
def test_a_card_recorded_with_one_signal_only_is_not_called_known(client, build):
    """Of tone, silence and sweep, hum is judged by the last."""
    page = reverse("bench:recordings", args=[build.pk, "sign-off"])
    assert "Record the card once on its own" in client.get(page).content.decode()
    loop(client, build, 2, noise(9e-4, 2))
    answer = client.get(page)
    assert not answer.context["is_card_whole"] and "some of the signals only" in answer.content.decode()
    loop(client, build, 1, sound(tone()))
    loop(client, build, 3, swept(3.0))
    assert "are taken into account" in client.get(page).content.decode()


@pytest.mark.lengthy
def test_a_card_is_recorded_once_for_all_builds_of_its_builder_and_for_nobody_elses(client, build):
    loop(client, build, 2, noise(9e-4, 2))
    same = factories.make_build(revision=build.revision, builder=build.builder)
    assert "silence" in list_loopbacks(same)
    assert not list_loopbacks(factories.make_build(revision=build.revision))


@pytest.mark.lengthy
def test_a_loop_back_gives_no_reading_and_is_nobodys_but_the_builders(client, build):
    loop(client, build, 1, sound(tone()))
    assert Recording.objects.get().is_loopback and not Reading.objects.exists()
    assert loop(client, build, 9, sound(tone())).status_code == 404
    assert loop(client, build, 1, SimpleUploadedFile("take.wav", b"no sound")).status_code == 422
    client.force_login(factories.make_builder(), backend="django.contrib.auth.backends.ModelBackend")
    assert loop(client, build, 1, sound(tone())).status_code == 404


@pytest.mark.lengthy
def test_a_loop_back_that_clipped_counts_for_nothing(client, build):
    loop(client, build, 1, sound(np.clip(4 * tone(), -1, 1)))
    assert Recording.objects.get().state == "analysed" and not list_loopbacks(build)


@pytest.mark.lengthy
@pytest.mark.parametrize(("kind", "subtype"), [("WAV", "PCM_24"), ("FLAC", "PCM_16"), ("WAV", "FLOAT")])
def test_a_broken_header_never_breaks_the_page(client, build, kind, subtype):
    whole = sound(tone()[:20_000], kind=kind, subtype=subtype).read()
    random = np.random.default_rng(7)
    for turn in range(40):
        broken = bytearray(whole[: random.integers(1, len(whole))] if turn % 4 == 0 else whole)
        for at in random.integers(0, min(90, len(broken)), random.integers(1, 6)):
            broken[at] = random.choice([0, 1, 0x7F, 0x80, 0xFF, random.integers(256)])
        file = SimpleUploadedFile(f"take.{kind.lower()}", bytes(broken))
        assert send(client, build, 1, file, meter_volts="2.83").status_code in (302, 422)
    for recording in Recording.objects.exclude(state="waiting"):
        assert shown(client, build, recording).status_code == 200
    assert not Recording.objects.filter(state="waiting").exists()


@pytest.mark.parametrize("bytes_each", [2, 3, 4])
def test_samples_are_those_of_pythons_own_wave_module(bytes_each):
    """Written by the wave module of the standard library, in two channels."""
    random = np.random.default_rng(3)
    values = random.integers(-(2 ** (8 * bytes_each - 1)), 2 ** (8 * bytes_each - 1), (5000, 2))
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(bytes_each)
        file.setframerate(44_100)
        file.writeframes(b"".join(int(v).to_bytes(bytes_each, "little", signed=True) for v in values.ravel()))
    stored = SimpleUploadedFile("take.wav", out.getvalue())
    header = inspect_sound(stored)
    assert (header.rate, header.channels, header.frames) == (44_100, 2, 5000)
    flac = io.BytesIO()
    samples = np.concatenate(list(list_blocks(ContentFile(out.getvalue()))))
    assert np.array_equal(samples, values / 2.0 ** (8 * bytes_each - 1))
    if bytes_each < 4:
        soundfile.write(flac, samples, 44_100, format="FLAC", subtype=f"PCM_{8 * bytes_each}")
        assert np.array_equal(np.concatenate(list(list_blocks(ContentFile(flac.getvalue())))), samples)


@pytest.mark.lengthy
def test_a_recording_whose_measuring_broke_does_not_wait_for_ever(client, build, monkeypatch):
    monkeypatch.setattr("builds.bench.recordings.analysing.build_results", lambda *_args: 1 / 0)
    send(client, build, 1, sound(tone()), meter_volts="2.83")
    recording = Recording.objects.get()
    assert recording.state == "refused" and recording.error["code"] == "broke" and not Reading.objects.exists()
    assert shown(client, build, recording).status_code == 200


def test_no_figure_in_band_is_made_of_a_reading_that_stopped_the_build(client, build):
    stage = build.revision.stages.get()
    factories.add_reading(build=build, check=stage.checks.get(key="full"), value=19.0)
    power = stage.checks.get(key="power")
    assert work_out_check(build, power).value.value == pytest.approx(19.0**2 / 8)
    factories.add_reading(build=build, check=stage.checks.get(key="full"), value=19.0, outcome="switch off")
    assert work_out_check(build, power).value is None
    factories.add_reading(build=build, check=stage.checks.get(key="full"), value=12.0, outcome="out of band")
    assert work_out_check(build, power).value is None  # the stop stands until it reads well


@pytest.mark.parametrize(("share", "shown"), [(2.5e-6, "0.00025"), (5.1e-5, "0.0051"), (0.0232, "2.3"), (0.31, "31")])
def test_a_small_distortion_is_not_shown_as_none(share, shown):
    """A sound card's 0.0003 % used to read 0.0 %."""
    assert _percent(share).split() == [shown, "%"]
