"""Recordings of the demo's finished builds: synthesised here, since the builders are invented, and then measured by the
same code as anybody's.

Planted: FW-005 hums at twice the mains frequency (its reservoir has dried up), FW-009 has a tired output valve (more
second harmonic, less power), and the builds of revision B have less third harmonic than those of A.
"""

import io
import math
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID, uuid5

import numpy as np
import soundfile
from django.core.files.uploadedfile import SimpleUploadedFile
from scipy.signal import butter, sosfilt

from builds.bench.models import Build, Recording, StageVisit
from builds.bench.recordings.files import inspect_sound
from builds.bench.recordings.loopback import loopback_signals
from builds.bench.recordings.plans import Wanted, list_wanted_signals
from builds.bench.recordings.taking import keep_recording
from builds.guides.models import Stage
from builds.jobs.registry import job
from builds.review.amplifier.recorded import name_reference
from builds.review.demo.plan import RECORDED, TIRED_VALVE, WORN_RESERVOIR
from checks.tone.sources import FULL, Signal, make_signal

KIND = "demo-recordings"
SPACE = UUID("7d0b8a3e-2b1d-4f5b-9c55-3f2f4c9f0a11")
REFERENCES = ("FW-001", "FW-013")  # of revision A and of B
FULL_SCALE = 9.0  # volts at the load that fill the converter: sound card and divider
PLAYED = 2.83  # volts RMS across 8.2 ohm, about a watt
AFTER = timedelta(minutes=5)


@dataclass(frozen=True)
class Amplifier:
    """A build as what its recordings show: harmonics at PLAYED as shares, hum in RMS volts at f, 2f and 4f, noise in
    RMS volts over the whole band, and the −3 dB points in hertz."""

    second: float
    third: float
    hum: tuple[float, float, float]
    noise: float
    edges: tuple[float, float]
    mains: float

    def plays(self, signal: Wanted, random: np.random.Generator) -> np.ndarray:
        """What the sound card records of a test signal, as shares of full scale."""
        rate = signal.plan.rate
        sent = make_signal(signal.plan) / FULL
        time = np.arange(len(sent)) / rate
        volts = self._distorted(sent, signal) if signal.plan.signal is not Signal.SILENCE else np.zeros(len(sent))
        volts = sosfilt(butter(1, self.edges, "bandpass", fs=rate, output="sos"), volts)
        for multiple, rms in zip((1, 2, 4), self.hum, strict=True):
            volts += math.sqrt(2) * rms * np.sin(2 * math.pi * multiple * self.mains * time + multiple)
        return (volts + self.noise * random.standard_normal(len(time))) / FULL_SCALE

    def _distorted(self, sent: np.ndarray, signal: Wanted) -> np.ndarray:
        """The sums of Chebyshev's polynomials give a full sine these shares of second and third harmonic; a sweep is
        played 20 dB lower, where they hardly matter."""
        if signal.plan.signal is Signal.SWEEP:
            return math.sqrt(2) * PLAYED * 0.1 * sent
        bent = sent + self.second * (2 * sent**2 - (sent != 0)) + self.third * (4 * sent**3 - 3 * sent)
        return math.sqrt(2) * PLAYED * bent


CARD = Amplifier(3e-5, 2e-5, (2e-5, 1e-5, 1e-6), 5e-5, (2.0, 22_000.0), 50.0)  # volts as at the load


def build_amplifier(number: int, letter: str, mains: float) -> Amplifier:
    """The build of this number: good ones scatter a little about one another."""
    random = np.random.default_rng(number)
    hum = [0.0021, 0.0034, 0.0008]
    second, third = 0.021, 0.0085 if letter == "A" else 0.0034
    if number == WORN_RESERVOIR:
        hum[1:] = [0.0174, 0.0041]
    if number == TIRED_VALVE:
        second = 0.062
    scatter = random.normal(1.0, 0.06, 8).clip(0.8, 1.2)
    return Amplifier(
        second * scatter[0],
        third * scatter[1],
        (hum[0] * scatter[2], hum[1] * scatter[3], hum[2] * scatter[4]),
        0.00035 * scatter[5],
        (80.0 * scatter[6], 15_000.0 * scatter[7]),
        mains + 0.02 * random.standard_normal(),
    )


@job(KIND)
def load_recordings(report, kit: str) -> str:
    """Every recording of the demo's builds that is not there yet; each is measured by a job of its own."""
    builds = list(Build.objects.filter(revision__kit__key=kit, serial__in=RECORDED).select_related("revision"))
    for done, build in enumerate(sorted(builds, key=lambda row: row.serial)):
        report(done, len(builds))
        for stage in build.revision.stages.prefetch_related("checks"):
            for signal in loopback_signals(list_wanted_signals(stage)) if build.serial in REFERENCES else ():
                _record_card(build, stage, signal)
            for signal in list_wanted_signals(stage):
                _record(build, stage, signal)
    for build in builds:
        if build.serial in REFERENCES:
            name_reference(build.revision, build, build.revision.kit.designers.first())
    return kit


def _record(build: Build, stage: Stage, signal: Wanted) -> None:
    number = int(build.serial.rpartition("-")[2])
    key = uuid5(SPACE, f"{build.pk}/{stage.key}/{signal.number}")
    if Recording.objects.filter(entry_key=key).exists():
        return
    random = np.random.default_rng((number, signal.number))
    amplifier = build_amplifier(number, build.revision.letter, build.mains_hertz)
    file = _flac(amplifier.plays(signal, random), signal, build.serial)
    keep_recording(
        build,
        stage,
        signal.plan,
        file,
        inspect_sound(file),
        key=key,
        meter_volts=f"{PLAYED:.2f}" if signal.is_calibrating else "",
        by=build.builder,
        at=_moment(build, stage) + signal.number * AFTER,
    )


def _record_card(build: Build, stage: Stage, signal: Wanted) -> None:
    """The sound card by itself, before the amplifier: clean but for a little of its own."""
    number = int(build.serial.rpartition("-")[2])
    key = uuid5(SPACE, f"{build.pk}/card/{signal.number}")
    if Recording.objects.filter(entry_key=key).exists():
        return
    random = np.random.default_rng((number, signal.number, 1))
    file = _flac(CARD.plays(signal, random), signal, f"{build.serial}-card")
    sound, at = inspect_sound(file), _moment(build, stage) + (signal.number - 4) * AFTER
    keep_recording(build, None, signal.plan, file, sound, key=key, meter_volts="", by=build.builder, at=at)


def _moment(build: Build, stage: Stage):
    """When the stage's other readings were taken."""
    return StageVisit.objects.get(build=build, stage=stage).done_at


def _flac(samples: np.ndarray, signal: Wanted, serial: str) -> SimpleUploadedFile:
    out = io.BytesIO()
    soundfile.write(out, samples, signal.plan.rate, subtype="PCM_24", format="FLAC")
    name = f"{serial}-{signal.plan.signal.value.replace(' ', '-')}.flac"
    return SimpleUploadedFile(name, out.getvalue(), "audio/flac")
