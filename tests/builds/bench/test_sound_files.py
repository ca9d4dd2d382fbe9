"""Files of all kinds where a recording is wanted: read exactly, or refused with a reason; never more.

Chunks of WAV after the RIFF specification (1991) and its extensible format (2001), RF64 after EBU Tech 3306.
"""

import io
import random
import struct

import numpy as np
import pytest
import soundfile

from builds.bench.recordings.files import MOST_SECONDS, blocks_of_open, inspect_sound
from checks.errors import ChecksError
from checks.tone.analysis import analyse
from checks.tone.sources import Signal, SignalPlan

WAVE = 0.5 * np.sin(0.13 * np.arange(5001))
PCM, FLOAT, ALAW, EXTENSIBLE = 1, 3, 6, 0xFFFE
REST_OF_GUID = bytes.fromhex("0000000010008000 00aa00389b71")


class File(io.BytesIO):
    @property
    def size(self):
        return len(self.getbuffer())


def chunk(name, data):
    return name + struct.pack("<I", len(data)) + data + bytes(len(data) % 2)


def wav(*chunks, size=None):
    body = b"WAVE" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body) if size is None else size) + body


def layout(tag, bits, channels=1, rate=48_000, more=b""):
    align = max(1, channels * bits // 8)
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, rate, rate * align % 2**32, align, bits) + more)


def extensible(tag, bits, valid):
    return layout(EXTENSIBLE, bits, more=struct.pack("<HHI", 22, valid, 4) + struct.pack("<H", tag) + REST_OF_GUID)


def whole(bits, shift=0):
    return (WAVE * (2 ** (bits - 1) - 1)).astype("<i4") << shift


S16 = whole(16).astype("<i2").tobytes()
S24 = whole(24).astype("<i4").view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
UNTOLD = b"data\xff\xff\xff\xff"


def rf64(frames):
    sizes = struct.pack("<QQQI", 2 * frames + 80, 2 * frames, frames, 0)
    return b"RF64\xff\xff\xff\xffWAVE" + chunk(b"ds64", sizes) + layout(PCM, 16) + UNTOLD + S16


READ = {
    "24 bits after odd chunks": wav(
        chunk(b"LIST", b"INFOx"), layout(PCM, 24), chunk(b"junk", b"abc"), chunk(b"data", S24)
    ),
    "24 bits in 32": wav(extensible(PCM, 32, 24), chunk(b"data", whole(24, 8).astype("<i4").tobytes())),
    "64 bits floating": wav(extensible(FLOAT, 64, 64), chunk(b"data", WAVE.astype("<f8").tobytes())),
    "32 bits floating": wav(layout(FLOAT, 32), chunk(b"data", WAVE.astype("<f4").tobytes())),
    "length left open": wav(layout(PCM, 16), UNTOLD, S16, size=0xFFFFFFFF),
    "large file": rf64(len(WAVE)),
}
REFUSED = {
    "no channel": wav(layout(PCM, 16, channels=0), chunk(b"data", S16)),
    "65,535 channels": wav(layout(PCM, 8, channels=65_535), chunk(b"data", S16)),
    "six channels": wav(layout(PCM, 16, channels=6), chunk(b"data", S16)),
    "rate of zero": wav(layout(PCM, 16, rate=0), chunk(b"data", S16)),
    "rate of 4 GHz": wav(layout(PCM, 16, rate=4_000_000_000), chunk(b"data", S16)),
    "rate of 8 kHz": wav(layout(PCM, 16, rate=8000), chunk(b"data", S16)),
    "8 bits": wav(layout(PCM, 8), chunk(b"data", bytes(400))),
    "companded": wav(layout(ALAW, 8), chunk(b"data", bytes(400))),
    "lossy inside": wav(layout(0x55, 16, more=bytes(2)), chunk(b"data", b"\xff\xfb" * 400)),
    "no layout": wav(chunk(b"data", S16)),
    "no samples": wav(layout(PCM, 16), chunk(b"data", b"")),
    "length of none": wav(layout(PCM, 16), b"data" + bytes(4), S16, size=0),
    "large file of none": rf64(0),
    "end cut off": wav(layout(PCM, 16), chunk(b"data", S16))[:-2000],
    "end of a large file cut off": rf64(len(WAVE))[:-2000],
    "more than the header counts": wav(layout(PCM, 16), b"data" + struct.pack("<I", 4000), S16),
    "nothing": b"",
    "text": b"a recording " * 40,
}


def samples_of(raw):
    file = File(raw)
    sound = inspect_sound(file)
    blocks = list(blocks_of_open(file))
    assert sum(map(len, blocks)) <= MOST_SECONDS * sound.rate
    return np.concatenate(blocks)[:, 0] if blocks else np.zeros(0)


@pytest.mark.parametrize("raw", READ.values(), ids=READ)
def test_every_layout_a_recorder_writes_gives_its_samples(raw):
    assert samples_of(raw) == pytest.approx(WAVE, abs=1e-4)


@pytest.mark.parametrize("raw", REFUSED.values(), ids=REFUSED)
def test_what_holds_no_recording_is_refused_with_a_reason(raw):
    with pytest.raises(ChecksError) as refused:
        samples_of(raw)
    assert str(refused.value)


def test_a_file_without_samples_is_not_said_to_be_too_long():
    said = {}
    for name in ("no samples", "length of none", "rate of 8 kHz", "six channels", "text", "8 bits"):
        with pytest.raises(ChecksError) as refused:
            samples_of(REFUSED[name])
        said.setdefault(str(refused.value), name)
    assert len(said) == 5  # the first two have one reason


@pytest.mark.parametrize("worst", [np.nan, np.inf, 1e300, -1e200])
def test_samples_that_are_no_numbers_are_refused(worst):
    spoiled = np.tile(WAVE, 4)
    spoiled[777] = worst
    raw = File(wav(layout(FLOAT, 64), chunk(b"data", spoiled.astype("<f8").tobytes())))
    with pytest.raises(ChecksError) as refused:
        analyse(SignalPlan(Signal.TONE), 48_000, 1, lambda: blocks_of_open(raw))
    assert refused.value.code == "not finite"


def flac(total):
    """One of so many samples by its header (RFC 9639: the last 36 bits of the eight bytes from the 18th)."""
    raw = bytearray(written("FLAC", "PCM_16"))
    raw[18:26] = (int.from_bytes(raw[18:26], "big") >> 36 << 36 | total).to_bytes(8, "big")
    return bytes(raw)


def test_a_flac_is_read_whole_or_refused():
    """What its header leaves out would be silence, hum or a click that nobody sees."""
    assert len(samples_of(flac(len(WAVE)))) == len(WAVE)
    for raw in (flac(len(WAVE) - 1), flac(len(WAVE) // 2), flac(len(WAVE) + 1), flac(9 * len(WAVE)), flac(0)):
        with pytest.raises(ChecksError):
            samples_of(raw)
    for part in (0.95, 0.5):
        with pytest.raises(ChecksError):
            samples_of(flac(len(WAVE))[: int(len(flac(len(WAVE))) * part)])


def written(container, depth):
    out = io.BytesIO()
    soundfile.write(out, np.column_stack([WAVE, WAVE]), 48_000, subtype=depth, format=container)
    return out.getvalue()


def spoiled(raw, draw):
    """Bytes changed, put in, taken out, a size in the header set to an awkward one, or the end cut off."""
    parts, header = bytearray(raw), min(len(raw), 96)
    at = draw.randrange(header)
    kind = draw.randrange(5)
    if kind == 0:
        parts[at] = draw.randrange(256)
    elif kind == 1:
        parts[at : at + draw.randint(1, 9)] = b""
    elif kind == 2:
        parts[at:at] = draw.randbytes(draw.randint(1, 9))
    elif kind == 3:
        size = draw.choice((0, 1, 3, 2**31 - 1, 2**31, 2**32 - 1, len(raw), 2 * len(raw), draw.getrandbits(32)))
        parts[at : at + 4] = struct.pack("<I", size)
    return bytes(parts[: draw.randrange(len(parts))] if kind == 4 else parts)


@pytest.mark.parametrize(
    ("container", "depth"),
    [
        ("WAV", "PCM_16"),
        ("WAV", "DOUBLE"),
        ("WAVEX", "PCM_24"),
        ("RF64", "FLOAT"),
        ("FLAC", "PCM_16"),
        ("FLAC", "PCM_24"),
    ],
)
def test_headers_spoiled_at_random_are_read_or_refused_and_nothing_else(container, depth):
    draw, raw, refused = random.Random(f"{container} {depth}"), written(container, depth), 0
    for _ in range(120):
        try:
            samples_of(spoiled(raw, draw))
        except ChecksError as error:
            refused += 1
            assert str(error)
    assert 20 < refused < 120
