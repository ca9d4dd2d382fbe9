"""A folder of recordings, sorted by what they hold: which signal by listening, which build by its serial number in the
file's name. Nobody renames or sorts a file by hand."""

import math
import re
from dataclasses import dataclass
from uuid import uuid5

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _

from builds.bench.gates import gating, stops
from builds.bench.models import Build, Recording
from builds.bench.recordings.files import SoundFile, blocks_of_open, inspect_sound
from builds.bench.recordings.plans import Wanted, find_turn, list_wanted_signals
from builds.bench.recordings.taking import keep_recording
from builds.guides.models import Revision, Stage
from builds.ui.formatting import listed
from builds.ui.messages.errors import message_for
from checks.errors import ChecksError
from checks.serials import natural
from checks.tone.recognise import recognise


@dataclass(frozen=True)
class Sorted:
    """One file: the recording that was made of it, or why none was."""

    name: str
    recording: Recording | None = None
    problem: str = ""


def take_folder(revision: Revision, files, *, build: Build | None, meter_volts: str, key, by) -> list[Sorted]:
    """Keep every file that is one of the revision's test signals, for `build` or for that whose serial number its name
    has. Tones come first, silence last: see `find_turn`; first of all the tone that the meter's reading is of. The same
    `key` sent twice keeps each file once."""
    signals = [
        (stage, signal) for stage in revision.stages.prefetch_related("checks") for signal in list_wanted_signals(stage)
    ]
    builds = [build] if build else sorted(revision.builds.all(), key=lambda row: natural(row.serial), reverse=True)
    recognised = [_recognise_file(file, signals, builds, build is not None) for file in files]
    metered = _metered(recognised)
    recognised.sort(
        key=lambda one: (
            one.build is not None and one.build.pk or 0,
            find_turn(one.wanted.plan) if one.wanted else 0,
            _find_tone(one) not in metered,
        )
    )
    return [
        _save(one, meter_volts if _find_tone(one) in metered else "", uuid5(key, f"{n}/{one.file.name}"), by)
        for n, one in enumerate(recognised)
    ]


MIDDLE = 1000.0  # hertz, where an amplifier's response is flat and meters are at their best (common practice)


@dataclass(frozen=True)
class _Recognised:
    file: UploadedFile
    sound: SoundFile | None = None
    stage: Stage | None = None
    wanted: Wanted | None = None
    build: Build | None = None
    problem: str = ""


def _recognise_file(file, signals, builds, is_chosen: bool) -> _Recognised:
    named = builds if is_chosen else builds_named(file.name, builds)
    if not named:
        return _Recognised(file, problem=_("The file’s name contains no build’s serial number."))
    if len(named) > 1:
        serials = listed(build.serial for build in named)
        sentence = _("The file’s name contains more than one serial number: %(serials)s. Choose the build.")
        return _Recognised(file, problem=sentence % {"serials": serials})
    (build,) = named
    if stops.active_stop(build, gating.find_power(build)):
        return _Recognised(
            file,
            problem=_("Build %(serial)s is stopped, so its recordings are not measured.") % {"serial": build.serial},
        )
    try:
        sound = inspect_sound(file)
        plan = recognise([signal.plan for _stage, signal in signals], sound.rate, blocks_of_open(file))
    except ChecksError as error:
        return _Recognised(file, problem=message_for(error))
    if plan is None:
        return _Recognised(file, problem=_("This recording contains none of the guide’s test signals."))
    stage, signal = next(pair for pair in signals if pair[1].plan == plan)
    return _Recognised(file, sound, stage, signal, build)


def builds_named(name: str, builds: list[Build]) -> list[Build]:
    """The builds whose serial number a file's name has by itself: "2" is not in "take 21", nor "7" in "07". One that
    is part of another's counts only where it stands elsewhere too."""
    places = [(match.span(), build) for build in builds for match in _standing(build.serial, name)]
    whole = [build for (start, stop), build in places if not any(_is_within(start, stop, span) for span, _b in places)]
    return [build for build in builds if any(build is one for one in whole)]


def _standing(serial: str, name: str):
    """Where a serial number stands in a name, next to no more of its digits or letters."""
    before, after = (
        r"\d" if end.isdigit() else r"[^\W\d_]" if end.isalpha() else r"(?!)" for end in (serial[0], serial[-1])
    )
    return re.finditer(f"(?<!{before}){re.escape(serial)}(?!{after})", name, re.IGNORECASE)


def _is_within(start: int, stop: int, span: tuple[int, int]) -> bool:
    """Is it a part of a longer one?"""
    return span[0] <= start and stop <= span[1] and stop - start < span[1] - span[0]


def _find_tone(one: _Recognised) -> tuple[int, float] | None:
    """(build, hertz) of a tone by which others may be read in volts."""
    if one.build is None or one.wanted is None or not one.wanted.is_calibrating:
        return None
    return one.build.pk, one.wanted.plan.hertz[0]


def _metered(recognised: list[_Recognised]) -> set[tuple[int, float]]:
    """Of each build the tone that the one meter reading is of: at 40 Hz the same input gives other volts."""
    tones = sorted(
        {tone for one in recognised if (tone := _find_tone(one))}, key=lambda t: abs(math.log(t[1] / MIDDLE))
    )
    return {*dict(reversed(tones)).items()}


def _save(one: _Recognised, volts: str, key, by) -> Sorted:
    if one.problem or one.wanted is None or one.build is None or one.sound is None:
        return Sorted(str(one.file.name), problem=one.problem)
    try:
        row = keep_recording(
            one.build, one.stage, one.wanted.plan, one.file, one.sound, key=key, meter_volts=volts, by=by
        )
    except ChecksError as error:
        return Sorted(str(one.file.name), problem=message_for(error))
    return Sorted(str(one.file.name), row)
