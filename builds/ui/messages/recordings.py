"""Names of test signals and channels, what each figure is worked out from, and what makes a recording doubtful."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from builds.ui.formatting import format_figure, percent
from checks.tone.decibels import decibels
from checks.tone.hum import Origin
from checks.tone.trust import Doubt, Remark

SIGNAL_LABELS = {
    "tone": gettext_lazy("tone"),
    "stepped level": gettext_lazy("stepped level"),
    "silence": gettext_lazy("silence"),
    "two-tone": gettext_lazy("two tones"),
    "sweep": gettext_lazy("sweep"),
}
CHANNEL_LABELS = {"left": gettext_lazy("left"), "right": gettext_lazy("right")}
ORIGIN_TEXTS = {
    Origin.NONE: gettext_lazy("No mains hum is visible above the noise."),
    Origin.INDUCED: gettext_lazy(
        "Mostly odd multiples of the mains frequency: look at heaters, wiring and the transformer’s stray field."
    ),
    Origin.RECTIFIED: gettext_lazy(
        "Mostly even multiples of the mains frequency: look at the reservoir, smoothing and the earth path."
    ),
    Origin.BOTH: gettext_lazy("Odd and even multiples of the mains frequency: more than one cause is likely."),
}


def remark_text(remark: Remark) -> str:
    """What makes a recording doubtful, and what to do about it."""
    return _TEXTS[remark.doubt](remark.figure)


def lost_hum_text(decibels: float, is_put_back: bool) -> str:
    """What the sound card's input takes from hum, or may take."""
    level = {"level": format_figure(decibels, "dB", 2)}
    if is_put_back:
        sentence = _(
            "The sound card weakens low frequencies, so this recording shows %(level)s too little hum. The readings "
            "are corrected for that; the table and the plot below are not."
        )
        return sentence % level
    sentence = _(
        "The sound card may weaken low frequencies: hum may be up to %(level)s higher than shown, and the readings "
        "allow for that. To find out, send the sound card’s own recording of the sweep, then send this recording again."
    )
    return sentence % level


def _moment(seconds: float) -> str:
    """When in a recording, to a tenth of a second."""
    return format_figure(round(seconds, 1), "s", 2 if seconds < 10 else 3)


_TEXTS = {
    Doubt.CLIPPED: lambda n: _("The sound card clipped. Turn its input level down and record again."),
    Doubt.CLIPPED_ONE_SIDE: lambda side: (
        _(
            "The sound card clipped the positive half-waves only, which would read as distortion. Turn its input level "
            "down and record again."
        )
        if side > 0
        else _(
            "The sound card clipped the negative half-waves only, which would read as distortion. Turn its input level "
            "down and record again."
        )
    ),
    Doubt.COARSE: lambda bits: (
        _("The recording has a resolution of only %(bits)d bits. Record with 16 or 24 bits.") % {"bits": int(bits)}
    ),
    Doubt.NORMALISED: lambda peak: (
        _(
            "The loudest sample is at exactly %(level)s of full scale, as after normalising, so the recording no "
            "longer matches the level of your other recordings. Switch off normalising, then record again and upload "
            "the file as it was recorded. If it was not normalised, change the input level a little and record the "
            "tones and the silence again."
        )
        % {"level": format_figure(round(decibels(peak), 2) + 0.0, "dB", 3)}
    ),
    Doubt.SILENT: lambda n: _("The recording is silent. Check the cable, the input and its level."),
    Doubt.LEVEL_LOW: lambda n: _("The level is very low. Turn the sound card’s input up and record again."),
    Doubt.DROPOUT: lambda n: (
        ngettext(
            "The recording has a gap. Close other programs and record again.",
            "The recording has %(n)d gaps. Close other programs and record again.",
            int(n),
        )
        % {"n": int(n)}
    ),
    Doubt.LOST: lambda seconds: (
        _("Samples were lost at %(at)s. Close other programs and record again.") % {"at": _moment(seconds)}
    ),
    Doubt.JOINT: lambda seconds: (
        _("There is a click or a gap at %(at)s. Close other programs and record again.") % {"at": _moment(seconds)}
    ),
    Doubt.NO_SIGNAL: lambda n: _(
        "The test signal was not found in this channel. Check that its cable is connected and its input is switched on."
    ),
    Doubt.NO_TONE: lambda hertz: (
        _("The tone of %(hertz)s was not found. Play the test signal while you record.")
        % {"hertz": format_figure(hertz, "Hz", 4)}
    ),
    Doubt.OTHER_TONE: lambda hertz: (
        _("The recording contains a tone of %(hertz)s, which is not in the test signal.")
        % {"hertz": format_figure(hertz, "Hz", 5)}
    ),
    Doubt.TONE_WANDERS: lambda hertz: _("The frequency of the tone drifts. Do not resample or stretch the recording."),
    Doubt.FLUTTER: lambda n: _(
        "The frequency of the tone moves while it plays, so its harmonics would read too low. Play the test signal "
        "from a file over a cable, record to WAV or FLAC, and do not resample or stretch the recording."
    ),
    Doubt.MAINS_WANDERS: lambda hertz: (
        _("The mains frequency was %(hertz)s, further from nominal than usual.")
        % {"hertz": format_figure(hertz, "Hz", 4)}
    ),
    Doubt.HARMONIC_ON_MAINS: lambda order: (
        _("Harmonic %(order)d coincides with a mains harmonic and cannot be separated from hum.")
        % {"order": int(order)}
    ),
    Doubt.DISTURBED: lambda n: _(
        "There is a click or a gap in the recorded tone. Close other programs and record again."
    ),
    Doubt.CRACKLES: lambda n: _("There are crackles or clicks in the noise. Listen to the recording."),
    Doubt.OVERDRIVEN: lambda share: (
        _(
            "The amplifier distorted the sweep (harmonics of %(share)s), so its response looks flatter than it is. "
            "Turn the level down and record again."
        )
        % {"share": percent(share)}
    ),
    Doubt.LEVEL_DRIFTS: lambda share: (
        _("The level changes by %(share)s during the recording. Let the amplifier warm up.") % {"share": percent(share)}
    ),
    Doubt.LEVEL_CONTROLLED: lambda share: (
        _(
            "The level changes by %(share)s during the recording. Switch off automatic level control and noise "
            "suppression, then record again."
        )
        % {"share": percent(share)}
    ),
    Doubt.GATED: lambda times: (
        _(
            "Hum and noise are %(level)s quieter before or after the tone than while it plays, as with a noise gate. "
            "Hum and noise would read too low. Switch off the noise gate, noise suppression and all other effects of "
            "the sound card and the recording program, then record again."
        )
        % {"level": format_figure(decibels(times), "dB", 2)}
    ),
    Doubt.NARROW_BAND: lambda hertz: (
        _(
            "The recording has been cut off above %(hertz)s, as lossy compression does. Save it as WAV or FLAC "
            "directly, without converting it."
        )
        % {"hertz": format_figure(hertz, "Hz", 2)}
    ),
    Doubt.LOSSY: lambda decibels: (
        _(
            "The noise beside the tone is raised by %(level)s, as lossy compression does, so weak harmonics may be "
            "missing. Play the test signal over a cable, record to WAV or FLAC, and do not convert the file."
        )
        % {"level": format_figure(decibels, "dB", 2)}
    ),
    Doubt.PATCHY: lambda times: _(
        "The noise comes and goes in individual frequency bands, a sign of lossy compression or noise "
        "suppression, so weak parts may be missing. Record over a cable to WAV or FLAC, switch off all effects, "
        "and do not convert the file."
    ),
    Doubt.RIPPLED: lambda decibels: (
        _(
            "The response jumps by about %(level)s from point to point, a sign of lossy compression, so the band "
            "edges would not be reliable. Record over a cable to WAV or FLAC and do not convert the file."
        )
        % {"level": format_figure(decibels, "dB", 1)}
    ),
    Doubt.NOISE_RISES: lambda decibels: (
        _(
            "The noise rises by %(level)s while the test signal plays, a sign of lossy compression. Record over a "
            "cable to WAV or FLAC and do not convert the file."
        )
        % {"level": format_figure(decibels, "dB", 2)}
    ),
    Doubt.COPY: lambda n: _(
        "This is the test signal itself, not a recording of the amplifier. Play the test signal through the amplifier, "
        "record its output and upload that recording."
    ),
    Doubt.ERASED: lambda level: (
        _(
            "The recording has almost no noise (%(level)s of full scale), less than any sound card has, so hum may be "
            "missing too. Lossy compression or noise suppression has removed it. Record to WAV or FLAC without effects."
        )
        % {"level": format_figure(level, "dB", 3)}
    ),
    Doubt.TOO_FEW_BITS: lambda decibels: _(
        "The hum is smaller than one step of this file, and the only noise is that of rounding, so the figure would "
        "not be reliable. Record with 24 bits, or use a smaller divider ratio so that more signal reaches the sound "
        "card."
    ),
    Doubt.FILTERED: lambda hertz: (
        _(
            "The hum at %(hertz)s has been filtered out of the recording. Switch off hum filters, noise suppression "
            "and other effects of the sound card and the recording program, then record again."
        )
        % {"hertz": format_figure(hertz, "Hz", 3)}
    ),
    Doubt.NOTCHED: lambda hertz: (
        _(
            "The response has a notch at %(hertz)s, narrower than any an amplifier causes. Switch off hum filters, "
            "feedback suppression and other effects of the sound card and the recording program, then record again."
        )
        % {"hertz": format_figure(hertz, "Hz", 3)}
    ),
    Doubt.LOW_CUT: lambda decibels: (
        _(
            "The low frequencies have been cut: the noise falls by %(level)s towards the bottom. Hum would read too "
            "low. Switch off the low cut (rumble filter, high-pass) of the sound card, the mixer and the recording "
            "program, then record again."
        )
        % {"level": format_figure(decibels, "dB", 2)}
    ),
    Doubt.SWAPPED: lambda n: _(
        "Left and right are swapped: the mark in the test signal’s left channel was recorded on the right. Check the "
        "cables from the player to the sound card, then record again."
    ),
    Doubt.MIXED: lambda n: _(
        "Both channels of the recording contain the same signal, so neither shows one channel of the amplifier. Switch "
        "off mono playback, mono recording and mixing, then record again."
    ),
    Doubt.SIDES_UNKNOWN: lambda n: _(
        "Nothing in this recording shows which channel is left. Play the test signal from this page, and start "
        "recording before it begins."
    ),
    Doubt.STRETCHED: lambda share: (
        (
            _(
                "The sweep runs %(share)s slower than the test signal, more than any sound card’s clock is off. Do not "
                "resample or stretch the recording."
            )
            if share < 0
            else _(
                "The sweep runs %(share)s faster than the test signal, more than any sound card’s clock is off. Do not "
                "resample or stretch the recording."
            )
        )
        % {"share": percent(abs(share), 1)}
    ),
    Doubt.COMPRESSED: lambda share: (
        _(
            "The gain fell by about %(share)s during the sweep, so the response looks flatter than it is. Turn the "
            "level down and record again."
        )
        % {"share": percent(share)}
    ),
}
assert set(_TEXTS) == set(Doubt)
