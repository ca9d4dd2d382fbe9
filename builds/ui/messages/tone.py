"""Sentences about figures of the finished amplifier: formulas, recordings, and why one gives no figure."""

from collections.abc import Callable

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from builds.ui.formatting import listed, short_number
from checks.errors import ChecksError

MESSAGES: dict[str, Callable[[dict], str]] = {
    "no-formula": lambda p: _("This is not calculated from other readings. Leave the formula out."),
    "no-recording": lambda p: _("This is not measured in a recording. Leave the recording out."),
    "inputs": lambda p: (
        ngettext("Name %(least)s check of this stage.", "Name %(least)s different checks of this stage.", p["least"])
        % {"least": p["least"]}
        if p["least"] == p["most"]
        else _("Name %(least)s to %(most)s different checks of this stage.") % p
    ),
    "load": lambda p: _("A power needs the load it is measured into, such as 8 ohm."),
    "pad": lambda p: _("Give the pad’s resistor in series and the one across the input, such as 10k, 100R."),
    "series": lambda p: _(
        "An input impedance needs the resistor in series with the source, such as 100k. Other figures have none."
    ),
    "two-loads": lambda p: _("Give two loads, the larger first and “none” for no load, such as none and 8 ohm."),
    "one-frequency-each": lambda p: _("Give one frequency in hertz for each check: above zero, and no two the same."),
    "reference-outside": lambda p: _("The reference frequency must be within the frequencies measured."),
    "drop": lambda p: _("A band edge is 0.1 dB to 20 dB below the reference, usually 1 or 3."),
    "formula-key": lambda p: (
        _("“%(key)s” is not a key that is known here. Accepted: %(keys)s.")
        % {"key": p["key"], "keys": ", ".join(p["keys"])}
    ),
    "formula-number": lambda p: _("“%(key)s” must be a number, such as 1000.") % p,
    "other-signal": lambda p: _("This needs one of these signals: %(signals)s.") % {"signals": ", ".join(p["signals"])},
    "channel": lambda p: _("A channel is left or right."),
    "at": lambda p: _("Give “clipping”, or a distortion from 0.01%% to 50%%, such as 1%%.") % {},
    "rate": lambda p: (
        _("This sample rate is not supported. Accepted: %(rates)s Hz.")
        % {"rates": listed([f"{rate}" for rate in p["rates"]], alternatives=True)}
    ),
    "frequencies": lambda p: _("The number of frequencies is wrong. Give one for a tone, two for a two-tone."),
    "frequency": lambda p: _("A frequency must be from 5 Hz to 22 kHz."),
    "seconds": lambda p: _("A signal lasts 1 to 600 seconds."),
    "above zero": lambda p: _("This cannot be calculated: one of the readings it needs is zero."),
    "volts do not fall": lambda p: _(
        "The volts do not fall with the resistor in series. Check that the resistor was in "
        "circuit for the second reading."
    ),
    "volts rise": lambda p: _("The volts rise with the heavier load. Check which load each reading was taken with."),
    "current falls": lambda p: _(
        "The current falls with the heavier load. Check which load each reading was taken with."
    ),
    "same load": lambda p: _("The two loads are the same."),
    "no-edge": lambda p: (
        _("The response does not fall by %(drop)s dB within the frequencies measured.")
        % {"drop": short_number(p["drop"])}
    ),
    "points": lambda p: _("A response needs two or more different frequencies."),
    "reference outside": lambda p: _("The reference frequency is outside the response."),
    "damaged": lambda p: _("The file is damaged. Save the recording again and send it once more."),
    "no-channel": lambda p: _("The recording has one channel only. Record both."),
    "no-band": lambda p: _("This check has no limits in the guide. Tell the designer."),
    "unusable": lambda p: _("The recording cannot be used: see what is wrong with it, and record again."),
    "no-hum": lambda p: _(
        "The recording shows no trace of the mains: the amplifier may not be connected, or the input muted. Check "
        "both, then record again."
    ),
    "no-calibration": lambda p: _(
        "Type the AC volts that your meter showed, so that the recording can be read in volts."
    ),
    "meter-frequency": lambda p: _(
        "The meter reading cannot set the scale: the channel with the tone cannot be used, or your meter’s "
        "manual does not specify AC volts at this frequency. Record a tone of 1 kHz first, with the meter’s "
        "reading."
    ),
    "meter-decades": lambda p: _(
        "This cannot be trusted: the meter reading is about ten times too high or too low, compared with your earlier "
        "recordings or with what the guide expects. Check the decimal point, the unit and the meter’s range, then "
        "record the tone again. If the meter shows the same again, the reading is accepted."
    ),
    "another-build": lambda p: (
        _(
            "This is the same recording as one of build %(serial)s, so it does not show this amplifier. Record this "
            "build and send that."
        )
        % p
    ),
    "another-stage": lambda p: (
        _(
            "This is the same recording as the one of “%(stage)s”, so it does not show what this stage asks for. "
            "Record again with this stage’s test signal and set-up."
        )
        % p
    ),
    "loop-back-again": lambda p: _(
        "This file was sent both as a recording of the amplifier and as one of the sound card alone. Send each "
        "recording in its own place."
    ),
    "not-reached": lambda p: _("The amplifier was not driven that far. Turn the level up and record again."),
    "no steps found": lambda p: _(
        "The steps of the test signal were not found. Record the whole signal, with automatic level control off."
    ),
    "broke": lambda p: _("An error stopped the measurement of this recording. Send it again, or tell the designer."),
    "on-mains-line": lambda p: _("This harmonic coincides with a mains harmonic and cannot be separated from hum."),
    "beyond-rate": lambda p: _("The sample rate is too low for this. Record at 48 kHz or more."),
    "too short": lambda p: _(
        "The recording is too short. Record the whole test signal, from before its start to after its end."
    ),
    "too long": lambda p: (
        _("The recording is longer than %(seconds)s seconds. Record the test signal once.")
        % {"seconds": short_number(p["seconds"])}
    ),
    "other rate": lambda p: (
        _("The recording has a different sample rate. Record at %(rate)s, the rate of the test signal.")
        % {"rate": f"{short_number(p['rate'] / 1000)} kHz"}
    ),
    "not finite": lambda p: _(
        "The file contains samples that are not numbers. Record again and save it as WAV or FLAC."
    ),
    "empty": lambda p: _("The recording is empty."),
    "no sweep found": lambda p: _("The sweep was not found in the recording. Play the test signal while you record."),
    "no tone": lambda p: _("The recording contains no tone. Play the test signal while you record."),
    "tones too close": lambda p: _("The two tones are too close together to be told apart."),
    "steps": lambda p: _("The steps of the test signal were not found in the recording."),
    "outside band": lambda p: _("The frequency is outside the range of the recording."),
}


def tone_message(error: ChecksError) -> str | None:
    """In the reader's language; None for a code of another area."""
    make = MESSAGES.get(error.code)
    return make(error.params) if make else None
