"""Ripple of supplies at twice the mains frequency (of half-wave ones at the mains frequency), and of its multiples.

A rectifier charges its reservoir in pulses about the crest. For silicon with conduction angle θ the current goes as cos
φ - cos θ, so that its harmonic h of the mains has the peak 2 I s_h, with I the mean and s_h the pulse's mean of cos hφ;
two halves leave the even ones and a single one all. These currents go from the rectifier into what is behind it, as a
rule its reservoir, and from there through the small-signal circuit. Pulses of valves are rounder than that at the same
angle, which matters little: s_2 is 0.8 to 1.

Before a choke that never runs dry stands the rectified wave itself, behind what its current passes: of |cos φ| the even
harmonics have the peaks 4E/π(h² - 1), in turn above and below zero at the crest.

Hum by heaters comes in where a part's limits state a leakage, `heater_leakage_microamps` at 100 V: the heater's
alternating volts then drive the cathode through so many ohms. Everything else that hums (layout, magnetic fields, earth
loops) is nothing a parts list knows.
"""

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.rectifiers.choke_input import ChokeFed
from checks.circuit.signals.elements import add_between, linearise
from checks.circuit.signals.transfer import FLOOR
from checks.circuit.solver.operating_point import Operating

MULTIPLES = (1, 2, 3, 4, 6)
POINTS = np.linspace(-1, 1, 201)
LEAST_OHMS = 1e-3  # of a source, so that it has a current at all
LEAKAGE_VOLTS = 100.0  # at which a heater's leakage to its cathode is stated


def ripple_volts(operating: Operating, red: int, black: int):
    """rms V (samples,) between two nodes of what rectifiers and heaters put there, without any signal."""
    return np.sqrt(sum(np.abs(volts) ** 2 for volts in ripple_lines(operating, red, black).values()) / 2)


def ripple_lines(operating: Operating, red: int, black: int) -> dict[int, np.ndarray]:
    """Multiple of the mains frequency -> peak V (samples,), complex, between two nodes."""
    net = operating.net
    ends = [n for n in (red, black) if n != net.size]
    linear = linearise(operating, tuple(ends), rectifiers=False)
    place, samples = linear.place, len(linear.m)
    lines = {}
    for multiple in MULTIPLES:
        inward = np.zeros((samples, len(linear.kept), 1), complex)
        y = linear.admittances(multiple * net.condition.hertz)
        for node, amps in _heaters(operating, multiple):
            if node in place:
                inward[:, place[node], 0] += amps
        for ends, amps, siemens in _pulses(operating, multiple):
            for node, way in zip(ends, (1.0, -1.0), strict=True):
                if node in place:
                    inward[:, place[node], 0] += way * amps
            add_between(y, place, ends, siemens)
        y[:, np.arange(y.shape[1]), np.arange(y.shape[1])] += FLOOR
        volts = np.linalg.solve(y, inward)[..., 0]
        zero = np.zeros(samples, complex)
        at = [volts[:, place[n]] if n in place else zero for n in (red, black)]
        lines[multiple] = at[0] - at[1]
    return lines


def _pulses(operating: Operating, multiple: int):
    """Yield (where they come out and go back, peak A (samples,), S (samples,) of their source) of rectifiers' pulses.
    Those that fill a reservoir come whatever its ripple; one that always conducts drives by its source's ohms."""
    net, solution = operating.net, operating.solution
    m = solution.reduced.m
    for n, r in enumerate(net.rectifiers):
        if isinstance(r, ChokeFed):
            yield r.pulses_between, *_half_of_wave(r, m, solution.drive, solution.currents[:, n], multiple)
            continue
        peak, volts, amps = r.peak(m, solution.drive), solution.ports[:, n], solution.currents[:, n]
        floor, always = r.floor(volts, amps, m), r.always_conducts(volts, amps, m)
        angle = np.arccos(np.clip((floor + r.law_of.drop) / np.maximum(peak, 1e-9), -1.0, 1.0))
        shape = pulse_share(np.where(always, np.pi / 2, angle), multiple)
        turned = (-1.0) ** multiple if r.polarity < 0 else 1.0
        source = r.source_ohms(m)
        mean = np.where(always, peak / np.pi / source, amps)
        yield r.pulses_between, 2 * mean * shape * turned, np.where(always, 1 / (r.halves * source), 0.0)


def _half_of_wave(r: ChokeFed, m, drive, amps, multiple: int):
    """(peak A, S) that one half of a rectifier into a choke adds: together the wave behind its source's ohms."""
    siemens = 0.5 / np.maximum(r.passing_ohms(2 * amps, m), LEAST_OHMS)
    if multiple % 2:
        return np.zeros_like(amps), siemens
    turned = -1.0 if multiple % 4 == 0 else 1.0
    return turned * 4 * r.peak(m, drive) / (np.pi * (multiple**2 - 1)) * siemens, siemens


def pulse_share(angle, multiple: int):
    """Mean of cos hφ over a pulse cos φ - cos θ from -θ to θ (samples,)."""
    phase = angle[:, None] * POINTS
    pulse = np.maximum(np.cos(phase) - np.cos(angle)[:, None], 0.0)
    whole = pulse.sum(axis=1)
    return np.where(whole > 0, (pulse * np.cos(multiple * phase)).sum(axis=1) / np.maximum(whole, 1e-300), 1.0)


def _heaters(operating: Operating, multiple: int):
    """Yield (cathode, peak A (samples,)) that leaks from heaters at the mains frequency."""
    if multiple != 1:
        return
    net: Network = operating.net
    parts = {p.ref: p for p in net.parts}
    for valve in net.valves:
        part = parts[valve.ref]
        leak = part.limits.get("heater_leakage_microamps")
        ends = [net.nodes[part.joins[t]] for t in ("heater.1", "heater.2") if t in part.joins]
        if leak and ends:
            volts = max((operating.ac[:, n] for n in ends), key=lambda v: float(np.abs(v).max(initial=0.0)))
            yield valve.cathode, np.sqrt(2) * volts * leak * 1e-6 / LEAKAGE_VOLTS
