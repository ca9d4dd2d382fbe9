"""The second bench's circuit: its own steps in time and its own Newton, for many states at once.

Only capacitors that a rectifier fills move within a cycle; the rest pass what they leak.
"""

import math

import numpy as np

from tests.trials.circuit import OPEN, VALVES, Circuit
from tests.trials.figures import figure
from tests.trials.network import NoSolution
from tests.trials.uneven_laws import AMPERES, OXIDE, PENTODES, SILICON, TRIODES, Law, meet_point

GROUND, STEPS, HERTZ = "chassis", 128, 50.0
FILLED = 1e-5, 100.0  # farads and volts, above which a capacitor moves within a cycle


class Solver:
    """The fitted parts between numbered nodes. With `line` the mains is on; with `heat` valves conduct."""

    def __init__(self, circuit: Circuit, fitted, settings=None, heat=None, line=0.0):
        self.names, self.ohms, self.devices, self.filled, self.chokes = {}, [], [], [], []
        self.coils, self.line = [], line
        for ref in sorted(fitted):
            self._put(circuit.parts[ref], settings or {}, heat)
        for a, b, ohms in circuit.bridges:
            self._join(a, b, ohms)
        if line:
            self._join("mains.neutral", GROUND, 0.5)
        self.n = len(self.names)
        self.g = np.eye(self.n) * 2e-11
        for a, b, ohms in self.ohms:
            self.stamp(self.g, self.row(a, b), 1 / ohms)
        self.emf = np.zeros(self.n)
        if line and {"mains.inlet", "mains.neutral"} <= set(self.names):
            row = self.row("mains.inlet", "mains.neutral")
            self.stamp(self.g, row, 4.0)
            self.emf = row * 4.0 * line * math.sqrt(2)
        for a, b, core, turns, ohms in self.coils:
            row = self.row(a, b)
            if line:
                row = row - turns * self.row(core, GROUND)
            self.stamp(self.g, row, 1 / max(ohms, 1e-3))
        self.alike = [(law, self._rows_of(law)) for law in dict.fromkeys(law for law, _nodes in self.devices)]

    def _rows_of(self, law):
        """(devices, k, n): all that follow one law, each with the volts of its electrodes against the last."""
        ends = [nodes for own, nodes in self.devices if own is law]
        return np.array([[self.row(x, nodes[-1]) for x in nodes[:-1]] for nodes in ends])

    def _at(self, name):
        return -1 if name == GROUND else self.names.setdefault(name, len(self.names))

    def _join(self, a, b, ohms):
        self._at(a), self._at(b)
        self.ohms.append((a, b, min(max(ohms, 1e-3), OPEN)))

    def row(self, a, b):
        row = np.zeros(len(self.names))
        for name, sign in ((a, 1), (b, -1)):
            if name != GROUND and name in self.names:
                row[self.names[name]] += sign
        return row

    @staticmethod
    def stamp(matrix, row, siemens):
        matrix += siemens * np.outer(row, row)

    def _device(self, law, *nodes):
        for name in nodes:
            self._at(name)
        self.devices.append((law, nodes))

    def _put(self, part, settings, heat):
        kind, at, is_ = part.kind, part.at, part.is_
        if kind in ("resistor", "fuse", "switch"):
            self._join(at["0"], at["1"], is_["ohms"])
        elif kind in ("capacitor", "electrolytic"):
            self._capacitor(part)
        elif kind == "inductor":
            self._at(at["0"]), self._at(at["1"])
            self.chokes.append((at["0"], at["1"], is_["henries"], max(is_["ohms"], 0.01)))
        elif kind == "diode":
            anode = at["anode"]
            if is_["ohms"]:
                anode = f"{anode}~{part.ref}"
                self._join(at["anode"], anode, is_["ohms"])
            ends = (at["cathode"], anode) if is_["reversed"] else (anode, at["cathode"])
            self._device(SILICON, *ends)
            self._join(*ends, is_["leak"])
        elif kind in ("mains transformer", "output transformer"):
            for coil in is_["coils"]:
                a, b = (at[f"{coil['name']}.{coil['from'] + n}"] for n in (0, 1))
                core = f"core of {part.ref}" if coil["volts"] else GROUND
                for name in (a, b, *([core] if self.line and coil["volts"] else [])):
                    self._at(name)
                turns = coil["volts"] / 230 if coil["volts"] else 0.0
                self.coils.append((a, b, core, turns, coil["ohms"]))
        elif kind in VALVES:
            self._valve(part, heat)

    def _capacitor(self, part):
        a, b, is_ = part.at["0"], part.at["1"], part.is_
        self._join(a, b, is_["leak"])
        if part.kind == "electrolytic":
            self._device(OXIDE, *((a, b) if is_["reversed"] else (b, a)))
            if is_["farads"] >= FILLED[0] and figure(part.row["volts"]) > FILLED[1]:
                self.filled.append((a, b, is_["farads"]))

    def _valve(self, part, heat):
        if heat is None:
            return
        type_, at, is_ = part.row["type"], part.at, part.is_
        ohms = 6.3 / AMPERES[type_]
        if "heater_centre" in at:
            for end, lit in zip(("heater.0", "heater.1"), is_["heater"], strict=True):
                if lit:
                    self._join(at[end], at["heater_centre"], 2 * ohms)
        elif all(is_["heater"]):
            self._join(at["heater.0"], at["heater.1"], ohms)
        for n, own in enumerate(("a.", "b.") if part.kind == "twin triode" else ("",)):
            hot = max(is_["strength"][n] * is_["heater"][n] * heat, 1e-9)
            if type_ in PENTODES:
                va, vs, vg, ia, i_s, gm, mu = PENTODES[type_]
                k, contact = meet_point(vs, vg, ia + i_s, gm * (ia + i_s) / ia, mu * is_["mu"][n])
                law = Law(k * hot, mu * is_["mu"][n], contact, is_["gas"][n], ia / (ia + i_s), True)
                ends = ("anode", "screen", "grid", "cathode")
            else:
                va, vg, ia, gm, mu = TRIODES[type_]
                k, contact = meet_point(va, vg, ia, gm, mu)
                law, ends = Law(k * hot, mu * is_["mu"][n], contact, is_["gas"][n]), ("anode", "grid", "cathode")
            self._device(law, *(at[own + end] for end in ends))

    # ---- balance of currents, for many states at once
    def balance(self, v, matrix, fed):
        """v (K, n) at which every node's currents balance, and the last matrices (K, n, n)."""
        for _ in range(120):
            whole, off = np.repeat(matrix[None], len(v), 0), v @ matrix - fed
            for law, rows in self.alike:
                i, d = law(np.einsum("dkn,sn->sdk", rows, v))
                off = off + np.einsum("sdk,dkn->sn", i, rows)
                whole = whole + (np.swapaxes(rows, 1, 2)[None] @ d @ rows[None]).sum(axis=1)
            step = np.linalg.solve(whole, off[..., None])[..., 0]
            size = np.abs(step).max()
            if size < 1e-7:
                return v - step, whole
            v = v - step * np.minimum(1.0, 25.0 / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-12))
        if size > 1e-3:
            raise NoSolution(f"{size:.2g} V left over")
        return v, whole

    def at_rest(self, fed, v=None):
        matrix = self.g.copy()
        for a, b, _henries, ohms in self.chokes:
            self.stamp(matrix, self.row(a, b), 1 / ohms)
        return self.balance(np.zeros((1, self.n)) if v is None else v, matrix, np.atleast_2d(fed))

    def cycle(self, states, v):
        """One cycle from each row of states (K, m): (states at its end, waves (steps, n) of the first row, v)."""
        h, m = 1 / HERTZ / STEPS, len(self.filled)
        rows = np.array([self.row(a, b) for a, b, *_ in [*self.filled, *self.chokes]]).reshape(-1, self.n)
        g = np.array([f / h for _a, _b, f in self.filled] + [1 / (r + x / h) for _a, _b, x, r in self.chokes])
        back = np.array([f / h for _a, _b, f in self.filled] + [-(x / h) / (r + x / h) for *_ends, x, r in self.chokes])
        matrix, wave = self.g + rows.T @ (g[:, None] * rows), np.zeros((STEPS, self.n))
        for k in range(STEPS):
            fed = (states * back) @ rows + self.emf * math.sin(2 * math.pi * (k + 1) / STEPS)
            v, _whole = self.balance(v, matrix, fed)
            wave[k], across = v[0], v @ rows.T
            states = np.concatenate((across[:, :m], g[m:] * across[:, m:] - back[m:] * states[:, m:]), axis=1)
        return states, wave, v

    def steady(self):
        """Waves (steps, n) of the cycle that repeats."""
        m, c = len(self.filled) + len(self.chokes), len(self.filled)
        states, v = np.zeros((1, m)), np.zeros((1, self.n))
        peak = 1.2 * self.line
        nudge = np.where(np.arange(m) < c, 0.5, 5e-4)
        states[0, :c] = 0.8 * peak
        for _ in range(2):
            states, wave, v = self.cycle(states, v)
        for _ in range(25):
            tried = np.concatenate((states, states + np.diag(nudge)))
            ends, wave, vs = self.cycle(tried, np.repeat(v, m + 1, 0))
            off = ends[0] - states[0]
            if np.abs(off[:c]).max(initial=0) < 5e-3 and np.abs(off[c:]).max(initial=0) < 2e-5:
                return wave
            gain = ((ends[1:] - ends[0]) / nudge[:, None]).T
            step = np.linalg.solve(np.eye(m) - gain + 1e-9 * np.eye(m), off)
            states = states + step * min(1.0, 90 / max(np.abs(step[:c]).max(initial=0), 1e-9))
            v = vs[:1]
        raise NoSolution("no cycle that repeats")
