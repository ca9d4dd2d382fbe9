"""Every term and abbreviation of a specification sheet in a line."""

from django.utils.translation import gettext as _

from checks.tone.harmonics import ORDER


def explain_measures(measures: list[str]) -> list[tuple[str, str]]:
    """(term, its line) for the measures that occur, each term once."""
    texts = {
        "output power": (_("W"), _("Watts into the stated load: RMS volts squared over ohms.")),
        "gain": (_("Gain"), _("Output volts over input volts, in dB: 20 times the logarithm of the ratio.")),
        "input sensitivity": (_("Sensitivity"), _("Input volts at which the output just begins to clip.")),
        "input impedance": (
            _("Input impedance"),
            _("Calculated from the drop in volts when a resistor is put in series with the source."),
        ),
        "output impedance": (_("Output impedance"), _("Calculated from the drop in output voltage between two loads.")),
        "damping factor": (_("Damping factor"), _("Load over output impedance.")),
        "below full output": (_("dB below full output"), _("How far hum or noise lies below the full output.")),
        "channel difference": (_("Channel difference"), _("Left over right, in dB.")),
        "output volts": (_("Output"), _("Volts of the fundamental across the load, RMS.")),
        "lower band edge": (_("Band edge"), _("Where the response has fallen by the stated dB, relative to 1 kHz.")),
        "upper band edge": (_("Band edge"), _("Where the response has fallen by the stated dB, relative to 1 kHz.")),
        "distortion": (
            _("THD"),
            _("Total harmonic distortion: harmonics 2 to %(order)d as a share of the fundamental.") % {"order": ORDER},
        ),
        "distortion less 2nd": (
            _("THD without the second"),
            _("Total harmonic distortion without the second harmonic."),
        ),
        "distortion and noise": (
            _("THD+N"),
            _("Everything from 20 Hz to 20 kHz but the fundamental, as a share of the whole."),
        ),
        "second harmonic": (_("dBr"), _("Level relative to the fundamental of the same recording.")),
        "third harmonic": (_("dBr"), _("Level relative to the fundamental of the same recording.")),
        "hum volts": (_("Hum"), _("Lines at the mains frequency and its multiples, RMS.")),
        "noise volts": (_("Noise, unweighted"), _("RMS from 20 Hz to 20 kHz without a signal.")),
        "weighted noise": (_("A-weighted"), _("Weighted as the ear hears quiet sounds (IEC 61672-1).")),
        "intermodulation": (
            _("Intermodulation"),
            _("Tones that two test tones produce together, as a share of the upper one."),
        ),
    }
    general = [
        (_("dB"), _("Decibels: 20 times the logarithm of a ratio of volts, 10 times that of a ratio of watts.")),
        (_("RMS"), _("Root mean square: the DC voltage that would heat a load equally.")),
        (_("DC"), _("Direct current, and volts that do not alternate.")),
    ]
    return list(dict.fromkeys([*(texts[m] for m in measures if m in texts), *(general if measures else [])]))
