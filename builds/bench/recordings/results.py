"""What an analysis found, as tables that a row keeps and pages draw from."""

import math

import numpy as np

from checks.derived import Known
from checks.tone.analysis import Analysis
from checks.tone.card import is_swamped, without_floor

POINTS = 600  # of a spectrum, over the logarithm of frequency
LOWEST = 10.0  # hertz


def results_of(analysis: Analysis, scale: Known | None) -> dict:
    """One channel's table. Levels are RMS in volts where `scale` (volts of full scale) is known, else shares of it."""
    factor = scale.value if scale else 1.0
    table: dict = {
        "in_volts": scale is not None,
        "peak": analysis.survey.peak,
        "remarks": [{"doubt": str(r.doubt), "figure": float(r.figure)} for r in analysis.remarks],
        "is_usable": analysis.is_usable,
    }
    makers = {
        "tone": (analysis.distortion, _distortion),
        "hum": (analysis.hum, _hum),
        "noise": (analysis.noise, _noise),
        "response": (analysis.response, lambda found, _factor: _response(found)),
        "intermodulation": (analysis.intermodulation, _intermodulation),
    }
    table |= {name: make(found, factor) for name, (found, make) in makers.items() if found is not None}
    if analysis.steps:
        table["steps"] = [_step(step, factor) for step in analysis.steps]
    if analysis.spectrum is not None:
        table["spectrum"] = _spectrum(analysis, factor)
    return _as_json(table)


def _as_json(part):
    """JSON knows neither infinity nor what is no number; such figures come only from recordings that are unusable."""
    if isinstance(part, dict):
        return {key: _as_json(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_as_json(value) for value in part]
    return _finite(part) if isinstance(part, float) else part


def _distortion(found, factor: float) -> dict:
    return {
        "hertz": found.frequency.hertz,
        "hertz_u": found.frequency.u,
        "rms": found.fundamental.rms * factor,
        "u": _finite(found.fundamental.u),
        "thd": found.thd,
        "thd_u": found.thd_u,
        "thd_without_second": found.thd_without_second,
        "thd_plus_noise": found.thd_plus_noise,
        "band": list(found.band),
        "harmonics": [
            {
                "order": h.order,
                "level": _finite(found.relative(h.line)),
                "u": _finite(h.line.u),
                "is_seen": h.line.is_seen,
                "mains_order": h.mains_order,
            }
            for h in found.harmonics
        ],
    }


def _hum(found, factor: float) -> dict:
    lines = [{"hertz": line.hertz, "rms": line.rms * factor, "u": _finite(line.u)} for line in found.lines]
    return {
        "mains": found.mains,
        "nominal": found.nominal,
        "rms": found.total * factor,
        "odd": found.odd * factor,
        "even": found.even * factor,
        "origin": str(found.origin),
        "lines": lines,
    }


def _noise(found, factor: float) -> dict:
    return {
        "rms": found.unweighted * factor,
        "weighted": found.a_weighted * factor,
        "without_hum": found.without_hum * factor,
        "band": list(found.band),
        "u": found.u,
    }


def _response(found) -> dict:
    every = max(1, len(found.hertz) // 400)
    return {
        "hertz": [round(float(f), 3) for f in found.hertz[::every]],
        "levels": [round(float(y), 4) for y in found.levels[::every]],
        "reference": found.reference,
        "edges": {str(drop): [found.edge(drop, side) for side in (-1, 1)] for drop in (1.0, 3.0)},
    }


def _intermodulation(found, factor: float) -> dict:
    return {
        "low": {"hertz": found.low.hertz, "rms": found.low.rms * factor},
        "high": {"hertz": found.high.hertz, "rms": found.high.rms * factor},
        "second": found.second,
        "third": found.third,
    }


def _step(step, factor: float) -> dict:
    return {"level": step.level, "rms": step.rms * factor, "thd": step.distortion.thd}


def _spectrum(analysis: Analysis, factor: float) -> dict:
    """The greatest bin of each of POINTS ranges of frequency, in dB re 1 V RMS (or full scale)."""
    spectrum = analysis.spectrum
    edges = LOWEST * (spectrum.rate / 2 / LOWEST) ** (np.arange(POINTS + 1) / POINTS)
    bins = np.unique(np.clip(np.round(edges / spectrum.bin_width).astype(int), 1, len(spectrum.power) - 1))
    tops = np.maximum.reduceat(spectrum.power, bins[:-1])
    hertz = np.sqrt(bins[:-1] * (bins[1:] - 1).clip(min=bins[:-1])) * spectrum.bin_width
    levels = 10 * np.log10(np.maximum(tops, 1e-30)) + 20 * math.log10(factor)
    return {"hertz": [round(float(f), 2) for f in hertz], "levels": [round(float(y), 2) for y in levels]}


def against_card(table: dict, card: dict, scale: float | None) -> dict:
    """What the sound card's own loop-back takes from the figures: noise as power, harmonics only as a doubt. `scale` is
    volts of full scale of the table where that is in volts; the card's figures are shares of full scale."""
    found: dict = {}
    if "noise" in table and "noise" in card and (scale or not table["in_volts"]):
        factor = scale if scale and table["in_volts"] else 1.0
        floors = {name: card["noise"][name] * factor for name in ("rms", "weighted")}
        cleared = {name: without_floor(table["noise"][name], floor) for name, floor in floors.items()}
        found["noise_without_card"] = {name: {"rms": c.rms, "is_floor": c.is_floor} for name, c in cleared.items()}
    if "tone" in table and "tone" in card:
        own = {h["order"]: h["level"] for h in card["tone"]["harmonics"]}
        found["swamped"] = [
            h["order"]
            for h in table["tone"]["harmonics"]
            if h["order"] in own and is_swamped(10 ** (h["level"] / 20), 10 ** (own[h["order"]] / 20))
        ]
    return found


def _finite(value: float) -> float:
    """JSON has no infinity: a level of nothing is far below any other."""
    return float(value) if math.isfinite(value) else 0.0 if math.isnan(value) else math.copysign(400.0, value)
