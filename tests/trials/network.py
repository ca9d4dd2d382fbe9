"""Elements solved in time: one mains period over and over until it repeats, by backward steps and shooting.

Unknown are the node voltages; every capacitor's voltage and every choke's current is a state. Within a step Newton's
method balances the currents at every node. Over a period the states at its end are a smooth function of those at its
start, and Newton's method again finds the start that repeats. Nothing here assumes where rectifiers conduct or that
ripple is small.
"""

import math
from dataclasses import dataclass

import numpy as np

from tests.trials.elements import Elements

STEPS = 80  # of a mains period
GMIN = 1e-10  # siemens from every node to the chassis, so that none floats


class NoSolution(Exception):
    """A circuit that did not settle; the build is drawn again."""


@dataclass
class Steady:
    """Mean volts of the nodes, all volts (steps x nodes), states at the start, mean slopes of the devices."""

    mean: np.ndarray
    wave: np.ndarray
    states: np.ndarray
    slopes: np.ndarray

    def rms(self, a: np.ndarray) -> float:
        """True r.m.s. of the alternating part of a combination of nodes."""
        wave = self.wave @ a
        return float(np.sqrt(np.mean((wave - wave.mean()) ** 2)))


class Network:
    """The matrices of a set of elements. `line` is the mains in volts r.m.s. between the nodes `live` and `neutral`."""

    def __init__(self, e: Elements, line: float = 0.0, hertz: float = 50.0, ends=("mains.inlet", "mains.neutral")):
        self.e, self.line, self.hertz = e, line, hertz
        self.n = len(e.nodes)
        self.linear = np.eye(self.n) * GMIN
        self.source = np.zeros(self.n)
        for a, b, ohms in e.resistors:
            self._stamp(self.linear, self.row(a, b), 1 / ohms)
        for core, turns, a, b, ohms in e.coils:
            row = self.row(a, b)
            row[core] -= turns
            self._stamp(self.linear, row, 1 / ohms)
        if line and all(end in e.nodes for end in ends):
            row = self.row(e.nodes[ends[0]], e.nodes[ends[1]])
            self._stamp(self.linear, row, 1 / 0.3)
            self.source = row * (math.sqrt(2) * line / 0.3)
            self._stamp(self.linear, self.row(e.nodes[ends[1]], -1), 1.0)  # neutral is earthed at the substation
        self._devices()
        self._states()

    def row(self, a: int, b: int) -> np.ndarray:
        row = np.zeros(self.n)
        if a >= 0:
            row[a] += 1
        if b >= 0:
            row[b] -= 1
        return row

    @staticmethod
    def _stamp(matrix, row, siemens):
        matrix += siemens * np.outer(row, row)

    def _devices(self):
        rows, self.blocks, at = [], [], 0
        for law, nodes, _ref in self.e.devices:
            size = len(nodes) - 1
            rows += [self.row(node, nodes[-1]) for node in nodes[:-1]]
            self.blocks.append((law, at, at + size))
            at += size
        self.across = np.array(rows).reshape(at, self.n)

    def _states(self):
        caps, chokes = self.e.capacitors, self.e.chokes
        self.state_rows = np.array([self.row(a, b) for a, b, *_ in [*caps, *chokes]]).reshape(-1, self.n)
        self.caps, self.m = len(caps), len(caps) + len(chokes)

    def device_currents(self, v):
        """Currents of all devices and the matrix of their slopes."""
        volts = (self.across @ v).tolist()
        i, d = np.zeros(len(volts)), np.zeros((len(volts), len(volts)))
        for law, a, b in self.blocks:
            i[a:b], d[a:b, a:b] = law(*volts[a:b])
        return i, d

    def balance(self, v, matrix, injected, tolerance=1e-9):
        """Node volts at which every node's currents balance, and Newton's last matrix and slopes."""
        i, d = self.device_currents(v)
        off = matrix @ v + self.across.T @ i - injected
        size = np.abs(off).max()
        for _ in range(150):
            whole = matrix + self.across.T @ d @ self.across
            step = np.linalg.solve(whole, off)
            share = min(1.0, 150 / max(np.abs(step).max(), 1e-12))
            while True:
                new = v - share * step
                i, d = self.device_currents(new)
                off_new = matrix @ new + self.across.T @ i - injected
                size_new = np.abs(off_new).max()
                if size_new <= size or share < 1e-3:
                    break
                share /= 2
            v, off, size = new, off_new, size_new
            if share == 1.0 and np.abs(step).max() < 1e-6 or size < tolerance:
                return v, whole, d
        if size < 1e-6:
            return v, whole, d
        raise NoSolution(f"{size:.2g} A left over")

    def at_rest(self, injected, start=None):
        """Direct current only: capacitors open, chokes their wire."""
        matrix = self.linear.copy()
        for a, b, _henries, ohms in self.e.chokes:
            self._stamp(matrix, self.row(a, b), 1 / ohms)
        return self.balance(np.zeros(self.n) if start is None else start, matrix, injected)

    def steady(
        self, near: Steady | None = None, speed: float = 20.0, warm_periods: int = 6, steps: int = STEPS
    ) -> Steady:
        """The period that repeats, sought from one nearby, or from cold with capacitors `speed` times smaller."""
        if near:
            states, v = near.states, near.wave[-1]
        else:
            states, v = np.zeros(self.m), np.zeros(self.n)
            for _ in range(warm_periods):
                states, v, *_ = self.period(states, v, 40, speed, sensitive=False)
        for _ in range(14):
            end, v, gain, wave, slopes = self.period(states, v, steps, 1.0)
            off = end - states
            if np.abs(off[: self.caps]).max(initial=0) < 2e-3 and np.abs(off[self.caps :]).max(initial=0) < 2e-5:
                return Steady(wave.mean(axis=0), wave, end, slopes)
            step = np.linalg.solve(np.eye(self.m) - gain + 1e-9 * np.eye(self.m), off)
            largest = np.abs(step[: self.caps]).max(initial=1e-9)
            states = states + min(1.0, 120 / largest) * step
        raise NoSolution(f"{np.abs(off).max():.2g} V left over after a period")

    def companions(self, h: float, speed: float):
        """Conductance of each state's element in a backward step of h seconds, and its memory of the state before."""
        g, keep = np.zeros(self.m), np.zeros(self.m)
        for k, (_a, _b, farads) in enumerate(self.e.capacitors):
            g[k] = keep[k] = farads / h / speed
        for k, (_a, _b, henries, ohms) in enumerate(self.e.chokes, self.caps):
            g[k] = 1 / (ohms + henries / h / speed)
            keep[k] = -g[k] * henries / h / speed
        return g, keep

    def period(self, states, v, steps, speed, sensitive=True):
        h = 1 / self.hertz / steps
        g, keep = self.companions(h, speed)
        rows = self.state_rows
        matrix = self.linear + rows.T @ (g[:, None] * rows)
        memory = rows.T * keep  # injected current of each state before the step
        gain, wave, slopes = np.eye(self.m), np.zeros((steps, self.n)), 0.0
        for k in range(steps):
            injected = self.source * math.sin(2 * math.pi * (k + 1) / steps) + memory @ states
            v, whole, d = self.balance(v, matrix, injected, 1e-8)
            now = rows @ v
            if sensitive:
                moved = rows @ np.linalg.solve(whole, memory @ gain)
                gain = self._onward(moved, gain, g, keep)
                wave[k], slopes = v, slopes + d / steps
            states = self._onward(now, states, g, keep)
        return states, v, gain, wave, slopes

    def _onward(self, across, before, g, keep):
        """States after a step: a capacitor's is its voltage; a choke's current rises with its voltage."""
        after = across.copy()
        c = self.caps
        scale = (lambda x: x[c:, None]) if across.ndim == 2 else (lambda x: x[c:])
        after[c:] = scale(g) * across[c:] - scale(keep) * before[c:]
        return after
