"""One recording sent twice, however it was cut and stored, and two of one amplifier, which are never one."""

import io

import numpy as np
import pytest
import soundfile

from checks.tone.marks import KEPT, Marker, is_one_recording

RATE = 48_000


def recording(seed, seconds=4.0, level=0.3, hiss=1e-5, bits=24):
    time = np.arange(round(seconds * RATE)) / RATE
    x = level * np.sin(2 * np.pi * 996.826171875 * time) + 1e-4 * np.sin(2 * np.pi * 50 * time)
    return np.round((x + hiss * np.random.default_rng(seed).standard_normal(len(x))) * 2 ** (bits - 1)) / 2 ** (
        bits - 1
    )


def marks(samples, block=10_007):
    columns = samples.reshape(len(samples), -1)
    marker = Marker(columns.shape[1])
    for at in range(0, len(columns), block):
        marker.add(columns[at : at + block])
    return marker.marks()


def stored(samples, container, subtype):
    out = io.BytesIO()
    soundfile.write(out, samples, RATE, format=container, subtype=subtype)
    out.seek(0)
    return soundfile.read(out)[0]


SENT = recording(1)
COPIES = {
    "in other blocks": lambda: (marks(SENT, 65_536), marks(SENT)),
    "as FLAC": lambda: (marks(stored(SENT, "WAV", "FLOAT")), marks(stored(SENT, "FLAC", "PCM_24"))),
    "cut at both ends": lambda: (marks(SENT), marks(SENT[30_011:120_000])),
    "one channel of two": lambda: (marks(SENT), marks(np.column_stack([recording(2), SENT]))),
    "channels swapped": lambda: (
        marks(np.column_stack([SENT, recording(2)])),
        marks(np.column_stack([recording(2), SENT])),
    ),
    "a silence in 16 bits": lambda: (
        marks(recording(3, level=0, hiss=2e-5, bits=16)),
        marks(recording(3, level=0, hiss=2e-5, bits=16)[5000:]),
    ),
}


@pytest.mark.parametrize("name", COPIES)
def test_a_recording_is_known_again(name):
    assert is_one_recording(*COPIES[name]())


@pytest.mark.parametrize("kind", [{}, {"level": 0}, {"level": 0, "hiss": 2e-5, "bits": 16}, {"bits": 16}])
def test_two_recordings_of_one_amplifier_are_two(kind):
    assert not set(marks(recording(1, **kind))) & set(marks(recording(2, **kind)))


def test_noise_never_shares_a_mark_and_digital_silence_has_none():
    seen = [set(marks(recording(seed, seconds=1.0))) for seed in range(12)]
    assert len(set.union(*seen)) == sum(map(len, seen)) == 12 * KEPT
    assert marks(np.zeros(RATE)) == () and marks(np.full(RATE, 0.25)) == () and marks(np.zeros(10)) == ()


def test_a_recording_that_begins_with_another_s_silence_is_another():
    """Digital zeros before the signal are in every file of one recorder."""
    pair = (np.concatenate([np.zeros(RATE), recording(seed)]) for seed in (1, 2))
    assert not is_one_recording(*map(marks, pair))
