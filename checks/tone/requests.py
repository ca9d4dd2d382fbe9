"""What a check asks of a recording: the signal to play, and the figure to take from it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from checks.derived import Estimate
from checks.errors import ChecksError
from checks.measures import MEASURES, Source
from checks.meter import standard_uncertainty
from checks.quantity import parse_quantity, parse_tolerance
from checks.tone.analysis import Analysis
from checks.tone.card import doubt_of_distortion, doubt_of_harmonic
from checks.tone.formulas import LOAD_TOLERANCE
from checks.tone.passage import Passage, times_through, with_loss, without_card
from checks.tone.sources import STEPS, Signal, SignalPlan
from checks.tone.steps import Limit, clipping_onset, output_at_distortion
from checks.tone.volts import power_in_load

CHANNELS = ("left", "right")
CLIPPING = "clipping"
SIGNALS = {
    "output volts": (Signal.TONE,),
    "distortion": (Signal.TONE,),
    "distortion less 2nd": (Signal.TONE,),
    "distortion and noise": (Signal.TONE,),
    "second harmonic": (Signal.TONE,),
    "third harmonic": (Signal.TONE,),
    "output power": (Signal.TONE, Signal.STEPS),
    "hum volts": (Signal.SILENCE,),
    "noise volts": (Signal.SILENCE,),
    "weighted noise": (Signal.SILENCE,),
    "lower band edge": (Signal.SWEEP,),
    "upper band edge": (Signal.SWEEP,),
    "intermodulation": (Signal.TWO_TONE,),
}
IN_VOLTS = ("output volts", "output power", "hum volts", "noise volts", "weighted noise")
USUAL_HERTZ: dict[Signal, tuple[float, ...]] = {
    Signal.TONE: (1000.0,),
    Signal.STEPS: (1000.0,),
    Signal.SILENCE: (),
    Signal.TWO_TONE: (250.0, 8000.0),
    Signal.SWEEP: (8.0, 22_000.0),
}
KEYS = ("signal", "hertz", "seconds", "channel", "load", "tolerance", "at", "drop")
ERASED = 1e-4  # of a tone (-80 dBr), below which an erased harmonic may leave no trace: MP3 took one of -84 dBr
RESIDUE = 0.1  # dB: what a level from a recording is uncertain by beyond noise (the card's flatness; common practice)


@dataclass(frozen=True)
class FigureRequest:
    """One check's request. `at` is a THD as a share, or None for the onset of clipping, for a power from steps; `drop`
    in dB for a band edge. Checks of one stage with equal `plan` are answered by one recording."""

    measure: str
    plan: SignalPlan
    channel: str = "left"
    load: Estimate | None = None
    at: float | None = None
    drop: float = 3.0

    def __post_init__(self):
        if self.measure not in MEASURES or Source.RECORDING not in MEASURES[self.measure].sources:
            raise ChecksError("No recording.", argument="recording", code="no-recording", measure=self.measure)
        signals = SIGNALS[self.measure]
        if self.plan.signal not in signals:
            raise ChecksError(
                "Another signal.", argument="signal", code="other-signal", signals=tuple(map(str, signals))
            )
        if self.channel not in CHANNELS:
            raise ChecksError("No such channel.", argument="channel", code="channel", channels=CHANNELS)
        if self.measure == "output power" and self.load is None:
            raise ChecksError("A power needs its load.", argument="load", code="load")
        if not 0.1 <= self.drop <= 20:
            raise ChecksError("A band edge lies 0.1 dB to 20 dB down.", argument="drop", code="drop")

    @property
    def needs_volts(self) -> bool:
        """Whether the recording must be calibrated by a meter."""
        return self.measure in IN_VOLTS


def request_from(measure: str, row: Mapping) -> FigureRequest:
    """The request that a guide's table says. Raises ChecksError with the key that is wrong."""
    for key in row:
        if key not in KEYS:
            raise ChecksError(f"“{key}” is not a key.", argument=key, code="formula-key", key=key, keys=KEYS)
    try:
        signal = Signal(row.get("signal", ""))
    except ValueError:
        signals = tuple(str(s) for s in Signal)
        raise ChecksError("No such signal.", argument="signal", code="other-signal", signals=signals) from None
    drop = _number(row, "drop", 3.0)
    return FigureRequest(measure, _plan(signal, row), row.get("channel", "left"), _load(row), _at(row), drop)


def _plan(signal: Signal, row: Mapping) -> SignalPlan:
    hertz = row.get("hertz", list(USUAL_HERTZ[signal]))
    hertz = hertz if isinstance(hertz, list) else [hertz]
    if any(isinstance(f, bool) or not isinstance(f, int | float) for f in hertz):
        raise ChecksError("Frequencies are numbers.", argument="hertz", code="formula-number", key="hertz")
    levels = STEPS.levels if signal is Signal.STEPS else ()
    return SignalPlan(signal, 48_000, tuple(map(float, hertz)), _number(row, "seconds", 10.0), levels)


def _number(row: Mapping, key: str, usual: float) -> float:
    value = row.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ChecksError("A number is wanted.", argument=key, code="formula-number", key=key)
    return float(value)


def _load(row: Mapping) -> Estimate | None:
    if not row.get("load"):
        return None
    ohms = parse_quantity(str(row["load"]), "Ω").value
    if ohms is None or ohms <= 0:
        raise ChecksError("A load lies above zero.", argument="load", code="load")
    tolerance = parse_tolerance(str(row.get("tolerance") or LOAD_TOLERANCE)).plus
    return Estimate(ohms, standard_uncertainty(ohms * tolerance))


def _at(row: Mapping) -> float | None:
    text = str(row.get("at", CLIPPING))
    if text == CLIPPING:
        return None
    percent = parse_quantity(text, "%").value
    if percent is None or not 0.01 <= percent <= 50:
        raise ChecksError("A distortion of 0.01 % to 50 %.", argument="at", code="at")
    return percent / 100


def find_figure(
    request: FigureRequest,
    analysis: Analysis,
    scale: Estimate | None,
    passage: Passage | None = None,
    own: Mapping[int, float] | None = None,
) -> Estimate:
    """The figure asked for, in its measure's unit; `scale` is volts of one unit of the samples, `passage` what the card
    lets through, None for all; `own` are its harmonics, as shares by order.

    Raises ChecksError where the recording does not give it: unusable, without volts, an edge or distortion not reached.
    """
    if not analysis.is_usable:
        raise ChecksError("The recording cannot be used.", argument="recording", code="unusable")
    if request.needs_volts and scale is None:
        raise ChecksError("The recording is not calibrated.", argument="volts", code="no-calibration")
    if request.plan.signal is Signal.TONE:
        return _of_tone(request, analysis, scale, own or {})
    if request.plan.signal is Signal.SILENCE:
        return _of_silence(request, analysis, scale, passage)
    if request.plan.signal is Signal.SWEEP:
        return _of_sweep(request, analysis, passage)
    if request.plan.signal is Signal.STEPS:
        return _of_steps(request, analysis, scale)
    products = _there(analysis.intermodulation)
    return Estimate(100 * products.total, 100 * products.total * RESIDUE / 8.686)


def _there(part):
    if part is None:
        raise ChecksError("The recording does not hold this.", argument="recording", code="unusable")
    return part


def _of_tone(request: FigureRequest, analysis: Analysis, scale: Estimate | None, own: Mapping[int, float]) -> Estimate:
    distortion = _there(analysis.distortion)
    if request.measure in ("output volts", "output power"):
        level = _volts(distortion.fundamental.rms, distortion.fundamental.u, _there(scale))
        return level if request.measure == "output volts" else power_in_load(level, _there(request.load))
    if request.measure.endswith("harmonic"):
        order = 2 if request.measure.startswith("second") else 3
        harmonic = next((h for h in distortion.harmonics if h.order == order), None)
        if harmonic is None:
            raise ChecksError("The rate is too low.", argument="recording", code="beyond-rate")
        if harmonic.mains_order:
            raise ChecksError("It lies on a mains line.", argument="recording", code="on-mains-line")
        line = harmonic.line
        rms = line.rms if line.is_seen else max(line.greatest, ERASED * distortion.fundamental.rms)
        share = rms / distortion.fundamental.rms
        u = math.hypot(min(line.u, 6.0), RESIDUE, doubt_of_harmonic(share, own.get(order, 0.0)))
        return Estimate(20 * math.log10(share), u)
    share = {
        "distortion": distortion.thd,
        "distortion less 2nd": distortion.thd_without_second,
        "distortion and noise": distortion.thd_plus_noise,
    }[request.measure]
    hidden = ERASED / math.sqrt(3) if any(not h.line.is_seen for h in distortion.harmonics) else 0.0
    card = doubt_of_distortion(own, range(3 if request.measure == "distortion less 2nd" else 2, 11))
    return Estimate(100 * share, 100 * math.hypot(distortion.thd_u, hidden, share * RESIDUE / 8.686, card))


def _volts(rms: float, u: float, scale: Estimate) -> Estimate:
    doubt = math.hypot(min(u, 6.0), RESIDUE) / 8.686
    return Estimate(rms * scale.value, rms * math.hypot(scale.u, scale.value * doubt))


def _of_silence(
    request: FigureRequest, analysis: Analysis, scale: Estimate | None, passage: Passage | None
) -> Estimate:
    scale, hum = _there(scale), _there(analysis.hum)
    if not hum.total:  # no mains-fed amplifier is so quiet: nothing was connected, or the input was muted
        raise ChecksError("There is no trace of the mains.", argument="recording", code="no-hum")
    noise, is_weighted = _there(analysis.noise), request.measure == "weighted noise"
    if request.measure == "hum volts":
        rms, u = hum.total, max((line.u for line in hum.lines), default=0.0)
    else:
        rms, u = noise.a_weighted if is_weighted else noise.unweighted, noise.u
    figure = _volts(rms, u, scale)
    if passage is None:
        return figure
    return with_loss(figure, times_through(hum, rms**2, passage, weighted=is_weighted), passage)


def _of_sweep(request: FigureRequest, analysis: Analysis, passage: Passage | None) -> Estimate:
    response = _there(analysis.response)
    if passage is not None and passage.is_card:
        response = replace(response, levels=np.array(without_card(response.hertz, response.levels, passage)))
    side = -1 if request.measure.startswith("lower") else 1
    edge = response.edge_with_doubt(request.drop, side)
    if edge is None:
        raise ChecksError("The response does not fall so far.", argument="drop", code="no-edge", drop=request.drop)
    return Estimate(*edge)


def _of_steps(request: FigureRequest, analysis: Analysis, scale: Estimate | None) -> Estimate:
    if len(analysis.steps) < 2:
        raise ChecksError("The steps are lost in noise.", argument="recording", code="unusable")
    limit: Limit | None = (
        clipping_onset(analysis.steps) if request.at is None else output_at_distortion(analysis.steps, request.at)
    )
    if limit is None:
        raise ChecksError("It was not driven so far.", argument="at", code="not-reached")
    return power_in_load(_volts(limit.rms, limit.u, _there(scale)), _there(request.load))
