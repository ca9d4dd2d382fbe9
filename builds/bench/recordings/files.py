"""Sound files: WAV and FLAC, checked by decoding their header, read in blocks so that memory stays flat."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import soundfile
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from builds.bench.recordings.lengths import is_whole
from builds.ui.errors import SiteError
from builds.ui.formatting import listed
from checks.errors import ChecksError
from checks.tone.sources import RATES

MOST_BYTES = 200 * 2**20
MOST_SECONDS = 600
BLOCK = 65_536
UNKNOWN = 1 << 40  # frames, from which a header does not say how many there are
BITS = {"PCM_16": "16", "PCM_24": "24", "PCM_32": "32", "FLOAT": "32 float", "DOUBLE": "64 float"}
CONTAINERS = ("WAV", "WAVEX", "RF64", "FLAC")


@dataclass(frozen=True)
class SoundFile:
    """What a file's header says."""

    rate: int
    channels: int
    frames: int
    bits: str

    @property
    def seconds(self) -> float:
        return self.frames / self.rate


def inspect_sound(file) -> SoundFile:
    """The header of an open binary file. Raises ChecksError with what is wrong and what is accepted."""
    if file.size > MOST_BYTES:
        raise _wrong(_("The file is larger than %(most)s MB.") % {"most": MOST_BYTES // 2**20})
    try:
        file.seek(0)
        with soundfile.SoundFile(file) as sound:
            _refuse_format(sound)
            form = SoundFile(sound.samplerate, sound.channels, sound.frames, BITS[sound.subtype])
            container = sound.format
        _refuse_part(file, container, form)
        return form
    except (soundfile.LibsndfileError, RuntimeError, ValueError, TypeError, OSError) as error:
        if isinstance(error, ChecksError):
            raise
        raise _wrong(_("This file cannot be read as a recording. Upload a WAV or FLAC file.")) from None


def _refuse_format(sound) -> None:
    if sound.format not in CONTAINERS or sound.subtype not in BITS:
        raise _wrong(_("Save the recording as WAV or FLAC with 16, 24 or 32 bits."))
    if sound.samplerate not in RATES:
        raise _wrong(_not_this_rate(sound.samplerate))
    if not 1 <= sound.channels <= 2:
        raise _wrong(_("The file has %(count)d channels. Record one or two.") % {"count": sound.channels})
    if not 0 < sound.frames < UNKNOWN:
        sentence = _(
            "The file contains no samples, or does not state how many. Open it in your recorder and save it again."
        )
        raise _wrong(sentence)
    if sound.frames > MOST_SECONDS * sound.samplerate:
        raise _wrong(_("A recording lasts up to 10 minutes."))


def _not_this_rate(rate: int) -> str:
    sentence = _("The sample rate of this file is %(rate)s kHz. Record at one of these: %(rates)s kHz.")
    return sentence % {"rate": _kilohertz(rate), "rates": listed(map(_kilohertz, RATES))}


def _kilohertz(rate: int) -> str:
    """44,100 as 44.1, and 48,000 as 48, in the reader's language."""
    return number_format(rate / 1000, 0 if rate % 1000 == 0 else None)


def _refuse_part(file, container: str, sound: SoundFile) -> None:
    if not is_whole(file, container, sound.frames):
        sentence = _(
            "The header of the file does not match the samples in it: only %(seconds)s s can be read. The file "
            "was cut short or not closed. Open it in your recorder, save it again and upload it."
        )
        raise _wrong(sentence % {"seconds": number_format(sound.seconds, 1)})


def list_blocks(field) -> Iterator[np.ndarray]:
    """The samples of a stored file as blocks of shape (samples, channels). Raises ChecksError for a damaged file."""
    with field.open("rb") as file:
        try:
            with soundfile.SoundFile(file) as sound:
                yield from sound.blocks(BLOCK, dtype="float64", always_2d=True)
        except (soundfile.LibsndfileError, RuntimeError) as error:
            raise ChecksError("The file is damaged.", argument="file", code="damaged") from error


def blocks_of_open(file) -> Iterator[np.ndarray]:
    """The samples of an open binary file, which is left at its beginning. Raises ChecksError for a damaged one."""
    file.seek(0)
    try:
        with soundfile.SoundFile(file) as sound:
            yield from sound.blocks(BLOCK, dtype="float64", always_2d=True)
    except (soundfile.LibsndfileError, RuntimeError) as error:
        raise ChecksError("The file is damaged.", argument="file", code="damaged") from error
    finally:
        file.seek(0)


def _wrong(sentence: str) -> SiteError:
    return SiteError(sentence, argument="recording")
