"""What a check can measure: its unit, what the meter shows, and which figure of the meter's accuracy page counts.

Figures of the finished amplifier are no readings of a meter: they are worked out from other checks' readings, or
measured in a recording.

The one table of quantities. Their names in a reader's language are in builds/ui/messages/quantities.py.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from checks.errors import ChecksError


class Source(StrEnum):
    """Where the value of a check is from."""

    METER = "meter"
    FORMULA = "formula"
    RECORDING = "recording"


@dataclass(frozen=True)
class Measure:
    """`shows` is the unit on the meter (a current is read as the volts across a known resistor), `accuracy` the field
    of MeterSpec, "" where common meters' figures are taken; `kind` says whether AC or DC may follow an entry."""

    code: str
    unit: str
    shows: str
    accuracy: str = ""
    kind: str = ""
    is_signed: bool = False  # a good meter may show it below zero
    is_ohms: bool = False
    sources: tuple[Source, ...] = (Source.METER,)

    @cached_property
    def is_read(self) -> bool:
        """Whether a builder types it from a meter."""
        return Source.METER in self.sources


_WORKED_OUT, _RECORDED = (Source.FORMULA,), (Source.RECORDING,)
MEASURES = {
    m.code: m
    for m in (
        Measure("dc volts", "V", "V", "dc_volts", "dc", is_signed=True),
        Measure("ac volts", "V", "V", "ac_volts", "ac"),
        Measure("resistance", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("continuity", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("isolation", "Ω", "Ω", "ohms", is_ohms=True),
        Measure("current", "A", "V", "dc_volts", "dc", is_signed=True),
        Measure("temperature", "°C", "°C"),
        Measure("frequency", "Hz", "Hz"),
        Measure("output power", "W", "W", sources=(Source.FORMULA, Source.RECORDING)),
        Measure("gain", "dB", "dB", is_signed=True, sources=_WORKED_OUT),
        Measure("input sensitivity", "V", "V", sources=_WORKED_OUT),
        Measure("input impedance", "Ω", "Ω", sources=_WORKED_OUT),
        Measure("output impedance", "Ω", "Ω", sources=_WORKED_OUT),
        Measure("damping factor", "", "", sources=_WORKED_OUT),
        Measure("below full output", "dB", "dB", sources=_WORKED_OUT),
        Measure("channel difference", "dB", "dB", is_signed=True, sources=_WORKED_OUT),
        Measure("lower band edge", "Hz", "Hz", sources=(Source.FORMULA, Source.RECORDING)),
        Measure("upper band edge", "Hz", "Hz", sources=(Source.FORMULA, Source.RECORDING)),
        Measure("output volts", "V", "V", sources=_RECORDED),
        Measure("distortion", "%", "%", sources=_RECORDED),
        Measure("distortion less 2nd", "%", "%", sources=_RECORDED),
        Measure("distortion and noise", "%", "%", sources=_RECORDED),
        Measure("second harmonic", "dBr", "dBr", is_signed=True, sources=_RECORDED),
        Measure("third harmonic", "dBr", "dBr", is_signed=True, sources=_RECORDED),
        Measure("hum volts", "V", "V", sources=_RECORDED),
        Measure("noise volts", "V", "V", sources=_RECORDED),
        Measure("weighted noise", "V", "V", sources=_RECORDED),
        Measure("intermodulation", "%", "%", sources=_RECORDED),
    )
}
UNITS = {code: measure.unit for code, measure in MEASURES.items()}
READ = tuple(code for code, measure in MEASURES.items() if measure.is_read)
OHMS = tuple(code for code, measure in MEASURES.items() if measure.is_ohms)
VOLTS = tuple(code for code, measure in MEASURES.items() if measure.is_read and measure.kind and measure.unit == "V")
FLOWING = tuple(code for code, measure in MEASURES.items() if measure.is_read and measure.kind)  # volts and currents
MODELLED = (*FLOWING, *OHMS)  # what the circuit model can compute
SIGNED = tuple(code for code, measure in MEASURES.items() if measure.is_signed)


def find_measure(code: str) -> Measure:
    """Raises ChecksError for what no check measures."""
    if code not in MEASURES:
        raise ChecksError(f"A meter does not measure “{code}” here.", argument="function", code="measure", measure=code)
    return MEASURES[code]
