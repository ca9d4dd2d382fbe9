"""Every node's DC voltage for many samples at once: the linear part once a sample, then Newton on the devices' ports.

The circuit without its devices is linear and has no sources of its own. With G its conductances, Q where the devices'
currents enter and P where their ports are read, node voltages are V = G⁻¹Q i and port voltages u = Z i(u) with Z = P
G⁻¹Q. Newton's method solves F(u) = u - Z i(u) = 0 with the devices' analytic slopes; a step that lessens neither |F|
nor the next correction is halved for its sample alone. (The second is Deuflhard's natural monotonicity test: where
devices alone hold a node, Z is so vast that |F| grows on the way to the solution.) Samples that do not arrive are
started again with the windings' volts brought up in steps (source stepping), but first they are let drift
(relaxation.py).
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.solver.conductances import conductances, solved
from checks.circuit.solver.relaxation import relax
from checks.circuit.solver.windings import injections
from checks.errors import ChecksError

TOLERANCE = 1e-6  # V: largest port error accepted
ROUND_OFF = 2e-14
STEP_TOLERANCE = 2e-7  # V: a whole Newton step as small as this ends the search, whatever rounding leaves of the error
APART = 1e-5  # V between a port and its nodes, from where nodes are solved by themselves
POLISHES = 12
STEPS, HALVINGS = 60, 12
LOWER = (0.97, 0.85)  # of the ports' volts to begin from, where rectifiers then conduct
EASED = tuple(10.0 ** (n / 2) for n in range(-8, 1))  # of op-amps' gain
SOURCE_STEPS = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 1.0)


@dataclass(frozen=True)
class Reduced:
    """The linear part of `net` for samples' multipliers m: `spread` is G⁻¹Q (samples, nodes, currents), z is Z.

    `mains` (samples, nodes + 1, transformers + rectifiers) are alternating volts: each one's windings open at drive 1,
    then per ampere drawn.
    """

    net: Network
    m: np.ndarray
    spread: np.ndarray
    z: np.ndarray
    mains: np.ndarray

    def rows(self, which) -> "Reduced":
        """The same for some of the samples."""
        return Reduced(self.net, self.m[which], self.spread[which], self.z[which], self.mains[which])


@dataclass(frozen=True)
class Solution:
    """Node voltages (samples, nodes + 1; the last is chassis, 0 V), the devices' currents and port voltages, and
    slopes."""

    reduced: Reduced
    volts: np.ndarray
    currents: np.ndarray
    ports: np.ndarray
    drive: np.ndarray
    steps: int

    def between(self, red: int, black: int):
        return self.volts[:, red] - self.volts[:, black]


def port_places(net: Network) -> tuple[np.ndarray, np.ndarray]:
    """(P (ports, nodes), Q (nodes, currents)) of all devices in order."""
    ports = [p for d in net.devices for p in d.ports]
    currents = [c for d in net.devices for c in d.currents]
    p, q = np.zeros((len(ports), net.size + 1)), np.zeros((net.size + 1, len(currents)))
    for row, (plus, minus) in zip(p, ports, strict=True):
        row[plus] += 1
        row[minus] -= 1
    for column, (leaves, enters) in zip(q.T, currents, strict=True):
        column[leaves] -= 1
        column[enters] += 1
    return p[:, :-1], q[:-1]


def reduce(net: Network, m) -> Reduced:
    p, q = port_places(net)
    solution = solved(net, m, q, injections(net, m))
    spread = solution[..., : q.shape[1]]
    mains = np.concatenate((solution[..., q.shape[1] :], np.zeros((len(m), 1, solution.shape[2] - q.shape[1]))), axis=1)
    return Reduced(net, m, spread, np.matmul(p, spread), mains)


def flows(reduced: Reduced, u, m, drive):
    """(i, D): all devices' currents (samples, currents) and slopes (samples, currents, ports)."""
    devices = reduced.net.devices
    ports, currents = sum(len(d.ports) for d in devices), sum(len(d.currents) for d in devices)
    i, slopes = np.zeros((len(u), currents)), np.zeros((len(u), currents, ports))
    at_port = at_current = 0
    for device in devices:
        a, b = at_port + len(device.ports), at_current + len(device.currents)
        i[:, at_current:b], slopes[:, at_current:b, at_port:a] = device.law(u[:, at_port:a], m, drive)
        at_port, at_current = a, b
    return i, slopes


def _newton(reduced: Reduced, u, drive):
    """(u, i, arrived, steps): damped Newton from `u`; `arrived` tells which samples came within their allowance."""
    u, z, m = u.copy(), reduced.z, reduced.m
    i, slopes = flows(reduced, u, m, drive)
    error = u - np.einsum("spc,sc->sp", z, i)
    eye, rough = np.eye(u.shape[1]), ROUND_OFF * np.abs(z).max(axis=(1, 2), initial=0.0)
    open_, stalled = np.flatnonzero(_missed(error, i, rough)), np.zeros(len(u), dtype=bool)
    step = 0
    while len(open_) and step < STEPS:
        step += 1
        at = slice(None) if len(open_) == len(u) else open_
        matrix = eye - z[at] @ slopes[at]
        move = np.linalg.solve(matrix, error[at][..., None])[..., 0]
        stuck = _advance(reduced, u, i, slopes, error, drive, open_, move, matrix)
        remaining = error[open_]
        # microvolts on micro-ohms are amperes: the error there is rounding, and the step tells how far a solution is
        stalled[open_] = _size(move) < STEP_TOLERANCE
        open_ = open_[_missed(remaining, i[open_], rough[open_]) & ~stalled[open_] & ~stuck]
    return u, i, stalled | ~_missed(error, i, rough), step


def _missed(error, i, rough):
    """Which samples are not there yet. Where a piece floats, ports' volts come out of large numbers that cancel: allow
    for it."""
    return _size(error) > TOLERANCE + rough * np.abs(i).sum(axis=1)


def _size(error):
    return np.abs(error).max(axis=1, initial=0.0)


def _advance(reduced, u, i, slopes, error, drive, rows, move, matrix):
    """Take each row's step, halved until its error or its next correction lessens (or HALVINGS are spent); writes into
    u, i, slopes and error. `matrix` is that of the step. Tells which rows no share of the step has moved: the next step
    would be the same one."""
    share, old = np.ones(len(rows)), _size(error[rows])
    pending = np.arange(len(rows))
    for _ in range(HALVINGS):
        at = rows[pending]
        tried = u[at] - share[pending, None] * move[pending]
        current, slope = flows(reduced, tried, reduced.m[at], drive[at])
        missed = tried - np.einsum("spc,sc->sp", reduced.z[at], current)
        good = _size(missed) < old[pending] * (1 - 1e-4 * share[pending])
        poor = np.flatnonzero(~good)
        if len(poor):
            good[poor] = _comes_nearer(matrix[pending[poor]], missed[poor], move[pending[poor]], share[pending[poor]])
        put = at[good]
        u[put], i[put], slopes[put], error[put] = tried[good], current[good], slope[good], missed[good]
        pending = pending[~good]
        if not len(pending):
            break
        share[pending] *= 0.5
    stuck = np.zeros(len(rows), dtype=bool)
    stuck[pending] = True
    return stuck


def _comes_nearer(matrix, missed, move, share):
    """Would the same matrix correct what a share of `move` has missed by less than half of what is left of it?"""
    correction = np.linalg.solve(matrix, missed[..., None])[..., 0]
    return _size(correction) < _size(move) * (1 - share / 2)


def solve(reduced: Reduced, drive, start=None, strict: bool = True, rungs=(20, 100)) -> Solution:
    """Solve for the windings' drive (samples, transformers): their open volts over those at the reference.

    `start` are port voltages to begin from, such as the nominal ones; `rungs` the ladders tried with what does not
    settle from there. Raises ChecksError (code "no-convergence"); not `strict`, the volts of samples that did not
    settle are NaN instead. So are those of nodes beyond what is calculated.
    """
    count, samples = reduced.z.shape[1], len(reduced.m)
    if start is None:
        ladder = SOURCE_STEPS if drive.shape[1] else (1.0,)
        u, i, good, steps = _step_sources(reduced, np.zeros((samples, count)), drive, ladder)
    else:
        u, i, good, steps = _newton(reduced, np.broadcast_to(start, (samples, count)), drive)
        _from_below(reduced, u, i, good, drive, start)
    if not good.all():
        u, i, good = _retry_unsettled(reduced, u, i, good, drive, rungs)
    inner = np.einsum("snc,sc->sn", reduced.spread, i)
    u, i, inner, good = _polish_nodes(reduced, u, i, inner, good, drive)
    if strict:
        _refuse_unsettled(reduced, u, i, good)
    volts = np.concatenate((inner, np.zeros((samples, 1))), axis=1)
    volts[~good] = np.nan
    if reduced.net.not_calculated:
        volts[:, list(reduced.net.not_calculated)] = np.nan
    return Solution(reduced, volts, i, u, drive, steps)


def _from_below(reduced: Reduced, u, i, good, drive, start) -> None:
    """Try what did not arrive from lower volts; writes into u, i and good. A rectifier whose winding gives a little
    less than the nominal one's does not conduct at the nominal volts and has no slope there; from below, where it
    does, Newton's steps come up to the solution (i is convex)."""
    for share in LOWER:
        late = np.flatnonzero(~good)
        if not len(late) or not reduced.net.rectifiers:
            return
        begin = np.broadcast_to(start, u.shape)[late] * share
        u[late], i[late], good[late], _ = _newton(reduced.rows(late), begin, drive[late])


def _polish_nodes(reduced: Reduced, u, i, volts, good, drive):
    """(u, i, node volts, arrived) with nodes and ports agreed on one voltage.

    Where devices alone hold a node, its volts come out of currents that nearly cancel, times a vast resistance, and
    rounding makes nonsense of them. Newton's steps on the nodes themselves, from the ports' volts, are spared that.
    """
    p, q = port_places(reduced.net)
    rows = np.flatnonzero(good & (_size(volts @ p.T - u) > APART))
    if not len(rows):
        return u, i, volts, good
    u, i, volts, good = u.copy(), i.copy(), volts.copy(), good.copy()
    g = conductances(reduced.net, reduced.m[rows])
    for _ in range(POLISHES):
        own, m = u[rows], reduced.m[rows]
        amps, slopes = flows(reduced, own, m, drive[rows])
        into = (amps - np.einsum("scp,sp->sc", slopes, own)) @ q.T
        agreed = np.linalg.solve(g - q @ slopes @ p, into[..., None])[..., 0]
        moved = agreed @ p.T - own
        u[rows], volts[rows] = own + moved, agreed
        i[rows] = amps + np.einsum("scp,sp->sc", slopes, moved)
        good[rows] = _size(moved) < APART
        open_ = ~(_size(moved) < STEP_TOLERANCE)
        rows, g = rows[open_], g[open_]
        if not len(rows):
            break
    return u, i, volts, good


def _step_sources(reduced: Reduced, u, drive, ladder):
    steps = 0
    for share in ladder:
        u, i, good, taken = _newton(reduced, u, drive * share)
        steps += taken
    return u, i, good, steps


def _retry_unsettled(reduced: Reduced, u, i, good, drive, ladders):
    """Let the samples that did not arrive drift; then bring the windings' volts up in smaller and smaller steps."""
    late = np.flatnonzero(~good)
    if len(late) and ladders:
        u[late], i[late], good[late] = _drift(reduced.rows(late), drive[late])
    for rungs in ladders if drive.shape[1] else ():
        late = np.flatnonzero(~good)
        if not len(late):
            break
        u[late], i[late], good[late], _ = _step_sources(
            reduced.rows(late), np.zeros((len(late), u.shape[1])), drive[late], np.linspace(0, 1, rungs + 1)[1:]
        )
    return u, i, good


def _drift(reduced: Reduced, drive):
    """(u, i, arrived) from relaxation; where there are op-amps with little gain first, then with more and more."""
    net, m = reduced.net, reduced.m
    amplifiers = [(d, ports.start) for d, ports, _ in net.columns() if d in net.op_amps]
    first, *steps = EASED if amplifiers else (1.0,)
    eased, (p, q) = _with_gain(reduced, first), port_places(net)
    u = relax(lambda at: flows(eased, at, eased.m, drive), conductances(net, m), p, q) @ p.T
    u, i, good, _ = _newton(eased, u, drive)
    for before, share in pairwise((first, *steps)):
        more = _with_gain(reduced, share)
        next_u, i, good, _ = _newton(more, u, drive)  # what is saturated has its inputs stay where they are
        for amplifier, at in amplifiers:  # what is not has its output stay if the inputs come as much nearer
            offset = m[:, amplifier.offset] - 1
            u[:, at] = (u[:, at] + offset) * before / share - offset
        late = np.flatnonzero(~good)
        if len(late):
            next_u[late], i[late], good[late], _ = _newton(more.rows(late), u[late], drive[late])
        u = next_u
    return u, i, good


def _with_gain(reduced: Reduced, share: float) -> Reduced:
    m = reduced.m.copy()
    m[:, [amplifier.gain_at for amplifier in reduced.net.op_amps]] *= share
    return replace(reduced, m=m)


def _refuse_unsettled(reduced: Reduced, u, i, good):
    if good.all():
        return
    devices = reduced.net.devices
    owners = [d.ref for d in devices for _ in d.ports]
    worst = owners[int(np.abs(u - np.einsum("spc,sc->sp", reduced.z, i))[~good].max(axis=0).argmax())]
    others = list(dict.fromkeys(d.ref for d in devices if d.ref != worst))
    raise ChecksError(
        f"The circuit did not settle in {int((~good).sum())} of {len(good)} samples; look at the joins of {worst} "
        f"first, then of {', '.join(others) or 'nothing else'}.",
        argument="parts",
        code="no-convergence",
        worst=worst,
        others=others,
    )
