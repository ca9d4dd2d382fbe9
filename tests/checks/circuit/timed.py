"""A supply in time, for comparison: nodal equations stepped by backward Euler, with none of the code under test.

Sources are (node, node, peak V, ohms, phase); silicon is 0.7 V and a milliohm, a valve I = K V^1.5.
"""

import numpy as np

HERTZ = 50.0
CHASSIS = "0"


class Timed:
    def __init__(self, resistors=(), capacitors=(), chokes=(), sources=(), diodes=(), steps=300):
        names = {n for row in (*resistors, *capacitors, *chokes, *sources, *diodes) for n in row[:2]} - {CHASSIS}
        self.at = {n: k for k, n in enumerate(sorted(names))} | {CHASSIS: -1}
        self.capacitors, self.chokes, self.sources, self.diodes = capacitors, chokes, sources, diodes
        self.dt, self.steps = 1 / HERTZ / steps, steps
        self.g = 1e-9 * np.eye(len(names) + 1)
        for a, b, ohms in resistors:
            self._stamp(self.g, a, b, 1 / ohms)
        for a, b, farads in capacitors:
            self._stamp(self.g, a, b, farads / self.dt)
        for a, b, henries, ohms in chokes:
            self._stamp(self.g, a, b, 1 / (ohms + henries / self.dt))
        for a, b, _peak, ohms, _phase in sources:
            self._stamp(self.g, a, b, 1 / ohms)

    def _stamp(self, g, a, b, siemens):
        a, b = self.at[a], self.at[b]
        g[a, a] += siemens
        g[b, b] += siemens
        g[a, b] -= siemens
        g[b, a] -= siemens

    def means(self, cycles=25, over=2, **start) -> dict:
        """Mean volts of every node over the last `over` cycles; `start` charges nodes to begin with."""
        v = np.zeros(len(self.g))
        for node, volts in start.items():
            v[self.at[node]] = volts
        amps, total, on = np.zeros(len(self.chokes)), 0.0, [False] * len(self.diodes)
        for k in range(cycles * self.steps):
            v, amps, on = self._step(v, amps, on, 2 * np.pi * (k + 1) / self.steps)
            if k >= (cycles - over) * self.steps:
                total = total + v
        return {n: float(total[i] / (over * self.steps)) for n, i in self.at.items()}

    def _step(self, v, amps, on, angle):
        into = np.zeros(len(v))

        def flow(a, b, current):
            into[self.at[a]] += current
            into[self.at[b]] -= current

        for a, b, farads in self.capacitors:
            flow(a, b, farads / self.dt * (v[self.at[a]] - v[self.at[b]]))
        for n, (a, b, henries, ohms) in enumerate(self.chokes):
            flow(a, b, -henries / self.dt * amps[n] / (ohms + henries / self.dt))
        for a, b, peak, ohms, phase in self.sources:
            flow(a, b, peak * np.sin(angle + phase) / ohms)
        x = v
        for _ in range(60):
            y, on, changed = self._solved(x, into, on)
            done, x = not changed and np.abs(y - x).max() < 1e-6, y
            if done:
                break
        drops = [x[self.at[a]] - x[self.at[b]] for a, b, *_ in self.chokes]
        amps = np.array(
            [
                (u + henries / self.dt * i) / (ohms + henries / self.dt)
                for u, i, (_a, _b, henries, ohms) in zip(drops, amps, self.chokes, strict=True)
            ]
        )
        return x, amps, on

    def _solved(self, x, into, on):
        g, right = self.g.copy(), into.copy()
        for n, (a, b, k) in enumerate(self.diodes):
            u = x[self.at[a]] - x[self.at[b]]
            siemens, offset = (1e3, 0.7) if k is None and on[n] else (0.0, 0.0)
            if k is not None and u > 0:
                siemens = 1.5 * k * u**0.5 + 1e-9
                offset = u - k * u**1.5 / siemens
            self._stamp(g, a, b, siemens)
            right[self.at[a]] += siemens * offset
            right[self.at[b]] -= siemens * offset
        y = np.append(np.linalg.solve(g[:-1, :-1], right[:-1]), 0.0)
        state = [
            k is None and (u := y[self.at[a]] - y[self.at[b]]) > 0.7 - 1e-12 * was
            for (a, b, k), was in zip(self.diodes, on, strict=True)
        ]
        return y, state, state != on
