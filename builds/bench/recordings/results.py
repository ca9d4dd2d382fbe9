"""What an analysis found, as tables that a row keeps and pages draw from."""

import math

import numpy as np

from checks.derived import Estimate
from checks.tone.analysis import Analysis
from checks.tone.card import is_swamped, without_floor
from checks.tone.hum import Hum
from checks.tone.passage import Passage, times_through, without_card
from checks.tone.response import Response
from checks.tone.spectrum import Spectrum

POINTS = 600  # of a spectrum, over the logarithm of frequency
LOWEST = 10.0  # hertz


def build_results(analysis: Analysis, scale: Estimate | None, passage: Passage | None = None) -> dict:
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
        "response": (analysis.response, lambda figures, _factor: _response(figures)),
        "intermodulation": (analysis.intermodulation, _intermodulation),
    }
    table |= {name: make(figures, factor) for name, (figures, make) in makers.items() if figures is not None}
    if analysis.steps:
        table["steps"] = [_step(step, factor) for step in analysis.steps]
    if analysis.spectrum is not None:
        table["spectrum"] = _spectrum(analysis.spectrum, factor)
    if analysis.hum and analysis.hum.total and passage:
        table["hum"]["lost"] = _lost_hum(analysis.hum, passage)
        table["hum"]["is_put_back"] = passage.is_card
    return _as_json(table)


def _lost_hum(hum: Hum, passage: Passage) -> float:
    """dB by which hum reads lower than it is, or may do so."""
    return 20 * math.log10(times_through(hum, hum.total**2, passage))


def _as_json(part):
    """JSON knows neither infinity nor what is no number; such figures come only from recordings that are unusable."""
    if isinstance(part, dict):
        return {key: _as_json(value) for key, value in part.items()}
    if isinstance(part, list):
        return [_as_json(value) for value in part]
    return _finite(part) if isinstance(part, float) else part


def _distortion(distortion, factor: float) -> dict:
    return {
        "hertz": distortion.frequency.hertz,
        "hertz_u": distortion.frequency.u,
        "rms": distortion.fundamental.rms * factor,
        "u": _finite(distortion.fundamental.u),
        "thd": distortion.thd,
        "thd_u": distortion.thd_u,
        "thd_without_second": distortion.thd_without_second,
        "thd_plus_noise": distortion.thd_plus_noise,
        "band": list(distortion.band),
        "harmonics": [
            {
                "order": h.order,
                "level": _finite(distortion.relative(h.line)),
                "u": _finite(h.line.u),
                "is_seen": h.line.is_seen,
                "mains_order": h.mains_order,
            }
            for h in distortion.harmonics
        ],
    }


def _hum(hum, factor: float) -> dict:
    lines = [{"hertz": line.hertz, "rms": line.rms * factor, "u": _finite(line.u)} for line in hum.lines]
    return {
        "mains": hum.mains,
        "nominal": hum.nominal,
        "rms": hum.total * factor,
        "odd": hum.odd * factor,
        "even": hum.even * factor,
        "origin": str(hum.origin),
        "lines": lines,
    }


def _noise(noise, factor: float) -> dict:
    return {
        "rms": noise.unweighted * factor,
        "weighted": noise.a_weighted * factor,
        "without_hum": noise.without_hum * factor,
        "band": list(noise.band),
        "u": noise.u,
    }


def _response(response) -> dict:
    every = max(1, len(response.hertz) // 400)
    return {
        "hertz": [round(float(f), 3) for f in response.hertz[::every]],
        "levels": [round(float(y), 4) for y in response.levels[::every]],
        "u": [round(min(float(u), 99.0), 4) for u in response.u[::every]],
        "reference": response.reference,
        "edges": {str(drop): [response.edge(drop, side) for side in (-1, 1)] for drop in (1.0, 3.0)},
    }


def _intermodulation(products, factor: float) -> dict:
    return {
        "low": {"hertz": products.low.hertz, "rms": products.low.rms * factor},
        "high": {"hertz": products.high.hertz, "rms": products.high.rms * factor},
        "second": products.second,
        "third": products.third,
    }


def _step(step, factor: float) -> dict:
    return {"level": step.level, "rms": step.rms * factor, "thd": step.distortion.thd}


def _spectrum(spectrum: Spectrum, factor: float) -> dict:
    """The greatest bin of each of POINTS ranges of frequency, in dB re 1 V RMS (or full scale)."""
    edges = LOWEST * (spectrum.rate / 2 / LOWEST) ** (np.arange(POINTS + 1) / POINTS)
    bins = np.unique(np.clip(np.round(edges / spectrum.bin_width).astype(int), 1, len(spectrum.power) - 1))
    tops = np.maximum.reduceat(spectrum.power, bins[:-1])
    hertz = np.sqrt(bins[:-1] * (bins[1:] - 1).clip(min=bins[:-1])) * spectrum.bin_width
    levels = 10 * np.log10(np.maximum(tops, 1e-30)) + 20 * math.log10(factor)
    return {"hertz": [round(float(f), 2) for f in hertz], "levels": [round(float(y), 2) for y in levels]}


def against_card(table: dict, card: dict, scale: float | None) -> dict:
    """What the sound card's own loop-back takes from the figures: noise as power, harmonics only as a doubt. `scale` is
    volts of full scale of the table where that is in volts; the card's figures are shares of full scale."""
    differences: dict = {}
    if "noise" in table and "noise" in card and (scale or not table["in_volts"]):
        factor = scale if scale and table["in_volts"] else 1.0
        floors = {name: card["noise"][name] * factor for name in ("rms", "weighted")}
        cleared = {name: without_floor(table["noise"][name], floor) for name, floor in floors.items()}
        differences["noise_without_card"] = {
            name: {"rms": c.rms, "is_floor": c.is_floor} for name, c in cleared.items()
        }
    if "tone" in table and "tone" in card:
        own = {h["order"]: h["level"] for h in card["tone"]["harmonics"]}
        differences["swamped"] = [
            h["order"]
            for h in table["tone"]["harmonics"]
            if h["order"] in own and is_swamped(10 ** (h["level"] / 20), 10 ** (own[h["order"]] / 20))
        ]
    if "response" in table and "response" in card:
        differences["response"] = _response_without_card(table["response"], card["response"])
    return differences


def _response_without_card(response: dict, card: dict) -> dict:
    own = Passage(tuple(card["hertz"]), tuple(card["levels"]), True)
    levels = without_card(response["hertz"], response["levels"], own)
    hertz, u = np.array(response["hertz"]), np.array(response["u"])
    curve = Response(hertz, np.array(levels), u, response["reference"], 0.0)
    edges = {drop: [curve.edge(float(drop), side) for side in (-1, 1)] for drop in response["edges"]}
    return response | {"levels": levels, "edges": edges}


def _finite(value: float) -> float:
    """JSON has no infinity: a level of nothing is far below any other."""
    return float(value) if math.isfinite(value) else 0.0 if math.isnan(value) else math.copysign(400.0, value)
