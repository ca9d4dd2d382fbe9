"""How far the model itself may be off: healthy valves' grid currents, and what it says of a kit with a fault.

What a fault makes of a kit under power is known less well than what a good kit reads: valves near cut-off, electrodes
that hang in the air, supplies that are pulled down. Resistances with the power off are as good as exact.
"""

from dataclasses import replace

import numpy as np

from checks.circuit.assemble.network import build_network
from checks.circuit.netlist.conditions import Condition
from checks.circuit.prediction.probes import Probe
from checks.diagnosis.codes import FaultCode
from checks.diagnosis.parasitics import NOWHERE, list_sections
from checks.diagnosis.solving import resistances

GRID_AMPS = {"pentode": 2.5e-7}  # of a healthy output valve (common practice; sheets allow 1 µA and more)
SMALL_GRID_AMPS = 4e-8
EFFECT, EACH, MOST = 0.06, 0.08, 0.3  # of what a fault moves: all readings together, each by itself, and at the most
FLOATS, ADRIFT = 3e6, 0.9  # Ω of a source that a meter hardly holds, and what its reading may be off by, on the scale
# What a point reads that has lost its supply and is held by no less than so many Ω: contact potentials, leaks.
GONE, HARDLY, LEFT_OVER = 1.0, 1e5, 0.7
STRAY, STRAY_AC = 0.3, 1.2  # of an AC reading on the scale, below which it has gone; what then strays in
MOVES = 0.2  # on the scale, from which a fault that moves a live reading makes grids drift
GRID_DRIFT = 0.1  # V of a grid beside a valve that conducts otherwise than it should
DRIFTS, STAYS_WITHIN = (
    0.2,
    2.0,
)  # how often one does, and the standard deviations within which it reads as if it did not
# Ω of a good electrolytic that has stood for long, at an ohmmeter's few tenths of a volt: tens of megohms, seldom ten
# (common practice).
STOOD = 2e7


def grid_volts(circuit, condition: Condition, places):
    """(places,): standard deviation in V of what good valves' grid currents leave on a grid's resistor."""
    deviations = np.zeros(len(places))
    if condition.power == "off":
        return deviations
    net = build_network(circuit, replace(condition, power="off", lamp_watts=None, supply_volts=None))
    amps = {node: a for part in circuit for node, a in _grids(part, net, condition)}
    at = [n for n, p in enumerate(places) if p.probe.measure == "dc volts" and net.node(p.probe.red) in amps]
    if at:
        probes = [replace(places[n], probe=Probe(places[n].probe.red, "chassis", "resistance")) for n in at]
        ohms = resistances(net, probes, net.parameters.nominal())[0]
        deviations[at] = [min(r, 1e7) * amps[net.node(p.probe.red)] for r, p in zip(ohms, probes, strict=True)]
    return deviations


def _grids(part, net, condition: Condition):
    """Yield (node, A) of the grids of a fitted valve that no node of the chassis holds."""
    if part.ref in condition.not_fitted:
        return
    for section in list_sections(part):
        node = net.nodes[part.joins[f"{section}.grid" if section else "grid"]]
        if node != net.size:
            yield node, GRID_AMPS.get(part.kind, SMALL_GRID_AMPS)


def add_model_doubt(scatter, mean, source, places, drift):
    """`scatter` (F + 1, n, n) with the model's doubt of every fault added."""
    variances, together = model_variances(mean, mean[0], places, drift)
    variances[1:] += floating_variances(mean[1:], mean[0], source[1:], source[0], places)
    return add_variances(scatter, variances, together)


def scatter_of_good_electrolytics(faults, healthy, size_row, size_mean, places):
    """(n, n): covariance of resistances that a good kit's electrolytics lower together, each along what one the wrong
    way round would do, of which `size_row` and `size_mean` say what its least leak reads."""
    off = np.array([place.power == "off" for place in places], bool)
    whole = np.zeros((len(places), len(places)))
    for row, fault in enumerate(faults, start=1):
        sizes = size_mean[size_row == row]
        if fault.code is not FaultCode.CAPACITOR_REVERSED or not len(sizes):
            continue
        ohms = [factors[0] * NOWHERE for factors in fault.at_sizes()]
        least = int(np.argmax(ohms))
        lower = np.where(off, np.maximum(healthy - np.nan_to_num(sizes[least], nan=np.inf), 0.0), 0.0)
        along = np.expm1(lower) * ohms[least] / STOOD  # a leak takes off by its conductance
        whole += np.outer(along, along)
    return whole


def floating_variances(mean, healthy, source, healthy_source, places):
    """Variance of the readings at points that a fault leaves to themselves, of the shape of `mean` (…, n). `source`
    (…, n): what a meter loads there, in Ω."""
    live = np.array([place.power == "on" for place in places], bool)
    adrift = live & (source > np.maximum(FLOATS, 3 * healthy_source))
    is_gone = live & (np.abs(mean) < GONE) & (np.abs(healthy) > 2 * GONE) & (source > HARDLY)
    return np.where(adrift, ADRIFT**2, np.where(is_gone, LEFT_OVER**2, 0.0))


def model_variances(mean, healthy, places, drift):
    """(variance of each reading by itself, standard deviation of all together) that the model's doubt adds, both of the
    shape of `mean` (…, n). `drift` (n,) is GRID_DRIFT on the scale at grids, else nothing."""
    live = np.array([place.power == "on" for place in places], bool)
    hums = np.array([place.probe.measure == "ac volts" and not place.probe.under for place in places], bool)
    moved = np.where(live, np.nan_to_num(mean - healthy), 0.0)
    variances = np.minimum(EACH * np.abs(moved), MOST) ** 2
    variances += np.where(hums & live & (np.abs(mean) < STRAY * np.abs(healthy)), STRAY_AC**2, 0.0)
    variances += np.where(disturbs(mean, healthy, places)[..., None], drift**2, 0.0)
    return variances, EFFECT * moved


def disturbs(mean, healthy, places):
    """(…,): does a fault move a live reading so far that grids may drift beside it?"""
    live = np.array([place.power == "on" for place in places], bool)
    return (np.abs(np.where(live, np.nan_to_num(mean - healthy), 0.0)) > MOVES).any(axis=-1)


def spend_doubt(disturbing, drift, residual, variances):
    """(variance that `doubts` gave grids and that those have no need of which read as they should, log of how often so
    many drift and so many stay): most grids stay, and a doubt that is not called on would cost every fault of a valve
    what it costs to be wrong. `disturbing` (K,), `residual` and `variances` (K, n), the latter with the drift in."""
    may = np.asarray(disturbing)[:, None] & (drift > 0)
    without = np.maximum(variances - drift**2, 0.0)
    stays = may & (np.abs(residual) < STAYS_WITHIN * np.sqrt(without))
    odds = np.where(stays, np.log1p(-DRIFTS), np.where(may, np.log(DRIFTS), 0.0))
    return np.where(stays, drift**2, 0.0), odds.sum(axis=1)


def add_variances(scatter, variances, together):
    """Covariances (…, n, n) with what `doubts` says added."""
    covariances = scatter + together[..., :, None] * together[..., None, :]
    diagonal = np.arange(covariances.shape[-1])
    covariances[..., diagonal, diagonal] += variances
    return covariances
