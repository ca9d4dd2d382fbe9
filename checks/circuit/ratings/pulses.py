"""What a rectifier's pulses do beyond their mean: the heat in what carries them, and the reverse voltage between them.

Current flows only while the winding's voltage is above the reservoir's, for a conduction angle θ either side of the
peak, so its rms is several times its mean. For silicon, with x = (V + drop)/E and θ = arccos x (as in `supply`),

    mean of i² = (E/Rs)² /π · (θ/2 + sin 2θ/4 - 2 x sin θ + x² θ);

a rectifier valve's is summed by Gauss and Legendre's rule. The reservoir is taken as steady.
"""

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.ratings.circumstances import EVERYWHERE
from checks.circuit.rectifiers.banks import Rectifier
from checks.circuit.rectifiers.capacitor_fed import BiasFed, Doubler
from checks.circuit.rectifiers.choke_input import ChokeFed
from checks.circuit.rectifiers.conduction import HALVES, WEIGHTS, child_current
from checks.circuit.solver.operating_point import Operating


def mean_square(v, peak, rs, law):
    """Mean of i² over a cycle, in A², of one half-wave rectifier at reservoir volts `v`; arrays of shape (samples,)."""
    v = np.asarray(v) + law.drop
    x = v / np.maximum(peak, 1e-12)
    angle = np.arccos(np.clip(x, -1.0, 1.0))
    if law.perveance is None:
        whole = angle / 2 + np.sin(2 * angle) / 4 - 2 * x * np.sin(angle) + x**2 * angle
        return np.maximum((peak / rs) ** 2 / np.pi * whole, 0.0)
    spare = np.asarray(peak)[..., None] * np.cos(angle[..., None] * HALVES) - v[..., None]
    current, _ = child_current(np.maximum(spare, 0.0), np.asarray(rs)[..., None], law.perveance)
    return angle * 0.5 / np.pi * (current**2 @ WEIGHTS)


def compute_mean_square(rectifier: Rectifier, volts, m, drive):
    """`mean_square` of a rectifier of a network: (samples,) in A²."""
    if isinstance(rectifier, ChokeFed):
        return rectifier.mean_square(rectifier.one(volts, m, drive)[0])
    if isinstance(rectifier, Doubler):
        volts = rectifier.at_capacitor(volts, m, drive)
    peak, rs, v = rectifier.peak(m, drive), rectifier.source_ohms(m), volts / rectifier.share
    if rectifier.law_of.perveance is None:
        return mean_square(v, peak, rs, rectifier.law_of)
    k = m[:, rectifier.strength]
    return k**2 * mean_square(v, peak, rs * k, rectifier.law_of)


def list_pulsed(net: Network, operating: Operating) -> dict:
    """Reference -> mean of i² (samples,) in A², of every resistor in a winding's lead or before a reservoir."""
    m = operating.solution.reduced.m
    powers: dict = {}
    for n, rectifier in enumerate(net.rectifiers):
        square = compute_mean_square(rectifier, operating.solution.ports[:, n], m, operating.solution.drive)
        for ref in {*rectifier.series, *_leads(net, rectifier)}:
            powers[ref] = powers.get(ref, 0.0) + square  # the two halves' pulses never overlap
    return powers


def _leads(net: Network, rectifier: Rectifier):
    """Resistors between a winding's end and its diode."""
    joined = {net.nodes[n] for p in net.parts if p.ref in rectifier.ref.split("+") for n in p.joins.values()}
    for r in net.resistives:
        if (
            rectifier.end in (r.a, r.b)
            and (r.b if r.a == rectifier.end else r.a) in joined
            and rectifier.end not in joined
        ):
            yield r.ref


def doubler_capacitors(net: Network, operating: Operating):
    """Yield (ref, what, values (samples,), limit, unit, where it is judged) of the capacitors that charge doublers."""
    rated = {p.ref: p.volts for p in net.parts if p.volts}
    m, drive = operating.solution.reduced.m, operating.solution.drive
    for n, rectifier in enumerate(net.rectifiers):
        if isinstance(rectifier, Doubler) and rectifier.capacitor in rated:
            held = rectifier.at_capacitor(operating.solution.ports[:, n], m, drive)
            yield rectifier.capacitor, "voltage", held, rated[rectifier.capacitor], "V", EVERYWHERE


def reverse_volts(net: Network, operating: Operating):
    """Yield (rectifier, peak reverse volts (samples,) on each of its diodes): winding and reservoir together, in a
    bridge either."""
    m, drive = operating.solution.reduced.m, operating.solution.drive
    for n, rectifier in enumerate(net.rectifiers):
        peak, volts = rectifier.peak(m, drive), np.abs(operating.solution.ports[:, n])
        if isinstance(rectifier, ChokeFed):  # its cathode follows the other half to the peak
            volts = peak
        if isinstance(rectifier, Doubler):  # both diodes of it, the winding and its capacitor together
            yield rectifier, 2 * peak
            continue
        if isinstance(rectifier, BiasFed):
            yield rectifier, peak + volts
            continue
        bridge = rectifier.end not in (rectifier.source, rectifier.sink)
        yield rectifier, np.maximum(peak, volts) if bridge else (peak + volts) / len(rectifier.ref.split("+"))
