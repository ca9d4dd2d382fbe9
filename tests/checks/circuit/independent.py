"""A second solver of a kit's DC circuit, for comparison: plain nodal equations, scalar laws, scipy.optimize; shares no
code with checks.circuit but the valves' parameters. Knows the kinds of part the demonstration kits have, nothing
more."""

import math

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq, root

from checks.circuit.valves.fitted import FITTED
from checks.quantity import parse_quantity

SILICON, SILICON_OHMS = 0.7, 0.15
NAMES = {"ECC83": "ECC83", "EL84": "EL84", "ECC82": "ECC82"}
HEATERS = {"ECC83": 6.3 / 0.3, "ECC82": 6.3 / 0.3, "EL84": 6.3 / 0.76, "EZ81": 6.3 / 1.0}
PERVEANCE = {"EZ81": 0.15 / 20.0**1.5}


def number(text, unit):
    return parse_quantity(text, unit).value


def triode(k, va, vg):
    if va <= 0:
        return 0.0
    e1 = va / k["kp"] * np.logaddexp(0, k["kp"] * (1 / k["mu"] + (vg + k["vct"]) / math.sqrt(k["kvb"] + va * va)))
    return 2 * e1 ** k["ex"] / k["kg1"]


def pentode(k, va, vs, vg):
    if vs <= 0:
        return 0.0, 0.0
    e1 = vs / k["kp"] * np.logaddexp(0, k["kp"] * (1 / k["mu"] + vg / vs))
    return (
        2 * e1 ** k["ex"] / k["kg1"] * math.atan(max(va, 0) / k["kvb"]),
        e1 ** k["ex"] / k["kg2"] * (e1 / vs) ** (k["exs"] - k["ex"]) * (2 * vs / (max(va, 0) + vs)) ** k["fall"],
    )


def grid(vg):
    """Electrons that land on a grid a little negative: 0.5 mA/V^1.5, a factor e every 0.1 V below."""
    return 5e-4 * (0.15 * np.logaddexp(0, vg / 0.15)) ** 1.5


def half_wave(v, peak, rs, perveance=None, watts=False):
    """Mean A by quadrature of the pulse itself; the W it takes from the winding instead, if `watts`."""
    drop = SILICON if perveance is None else 0.0
    rs = rs + SILICON_OHMS if perveance is None else rs
    if v + drop >= peak:
        return 0.0
    angle = math.acos(max(-1.0, (v + drop) / peak))

    def pulse(phase):
        spare = peak * math.cos(phase) - v - drop
        if spare <= 0:
            return 0.0
        if perveance is None:
            return spare / rs
        return brentq(lambda i: rs * i + (i / perveance) ** (2 / 3) - spare, 0, spare / rs, xtol=1e-15, rtol=1e-13)

    what = (lambda phase: pulse(phase) * peak * math.cos(phase)) if watts else pulse
    return quad(what, 0, angle, epsabs=1e-13, epsrel=1e-11)[0] / math.pi


class Kit:
    """Equations of a kit with one centre-tapped HT winding on `mains` (line over reference) and valves in or out;
    `warmth` is what its windings' ohms are over the cold ones, `unlit` are valves whose heaters get no volts."""

    unlit: tuple = ()

    def __init__(self, rows, not_fitted=(), line=1.0, warmth=1.0):
        self.warmth = warmth
        self.rows = [r for r in rows if r["ref"] not in not_fitted]
        t1 = next(r for r in rows if r["kind"] == "mains transformer")
        self.windings = {w["name"]: w for w in t1["winding"]}
        self.open = 1 + number(t1["regulation"], "%") / 100
        self.primary = warmth * number(self.windings["primary"]["ohms"], "Ω") + sum(
            number(r["ohms"], "Ω") if "ohms" in r else 0.2 / number(r["value"], "A")  # 0.2 V at its rating
            for r in self.rows
            if r["kind"] == "fuse" and "mains.inlet" in r["joins"]
        )
        self.given, self.line = line, self._with_heaters(line)
        self.nodes = []
        self.wires = list(self._wires())
        for a, b, _ in self.wires:
            for node in (a, b):
                if node != "chassis" and node not in self.nodes and not node.startswith("mains"):
                    self.nodes.append(node)
        self.index = {node: n for n, node in enumerate(self.nodes)}

    def _with_heaters(self, line, watts=0.0) -> float:
        """What the heaters' current leaves of the primary's volts: each draws I ~ V^0.6 at the volts they all get
        (`heater_volts`), which the rectifier's `watts` lower besides."""
        w, hum, across = self.windings["heater"], 0.0, 0.0
        types = [r["type"] for r in self.rows if r.get("type") in HEATERS and r["ref"] not in self.unlit]
        for r in self.rows:
            if r["kind"] == "resistor" and set(r["joins"]) & set(w["joins"]) and "chassis" in r["joins"]:
                hum += number(r["value"], "Ω")
            elif r["kind"] == "resistor" and set(r["joins"]) == set(w["joins"]):
                across += 1 / number(r["value"], "Ω")
        open_volts = self._wound(w) * self.open
        turns = open_volts / 230.0

        def siemens(v):
            return across + 1 / hum + sum(6.3 / HEATERS[t] * (v / 6.3) ** 0.6 / v for t in types)

        def share(v):
            return turns * open_volts / (self.warmth * number(w["ohms"], "Ω") + 1 / siemens(v)) * self.primary / 230.0

        def missing(v):
            left = line / (1 + share(v))
            pulsed = (line - watts * self.primary / (230.0**2 * left)) / (1 + share(v))
            return open_volts * pulsed / (1 + siemens(v) * self.warmth * number(w["ohms"], "Ω")) - v

        self.heater_volts = brentq(missing, 1e-3, open_volts * line)
        return line / (1 + share(self.heater_volts))

    @staticmethod
    def _wound(w) -> float:
        """V of a winding as the guide states them."""
        return number(w["volts"], "V")

    def _wires(self):
        for r in self.rows:
            if r["kind"] == "resistor":
                yield (*r["joins"], number(r["value"], "Ω"))
            elif r["kind"] == "fuse" and "mains.inlet" not in r["joins"]:
                yield (*r["joins"], number(r["ohms"], "Ω"))
            elif r["kind"] == "potentiometer":
                for one, other, share in (("top", "wiper", 1 - r["setting"]), ("wiper", "bottom", r["setting"])):
                    if r["joins"][one] != r["joins"][other]:
                        yield r["joins"][one], r["joins"][other], number(r["value"], "Ω") * max(share, 1e-6)
            elif r["kind"].endswith("transformer"):
                yield from self._coils(r)

    def _coils(self, r):
        for w in r["winding"]:
            ends, ohms = w["joins"], self.warmth * number(w["ohms"], "Ω")
            if not ends[0].startswith("mains"):
                for a, b in zip(ends[:-1], ends[1:], strict=True):
                    yield a, b, ohms / (len(ends) - 1)

    def residual(self, x):
        """Net current into each node, in mA: Kirchhoff's first law."""
        v = dict(zip(self.nodes, x, strict=True)) | {"chassis": 0.0}
        out = dict.fromkeys(v, 0.0)

        def flow(a, b, amps):
            out[a] -= amps
            out[b] += amps

        for a, b, ohms in self.wires:
            flow(a, b, (v[a] - v[b]) / ohms)
        for r in self.rows:
            self._valve(r, v, flow)
        self._supply(v, flow)
        return [1e3 * out[n] for n in self.nodes]

    def _valve(self, r, v, flow):
        j = r.get("joins")
        if r["kind"] == "twin triode":
            k = FITTED[NAMES[r["type"]]]
            for s in ("a", "b"):
                e = j[s]
                flow(
                    e["anode"], e["cathode"], triode(k, v[e["anode"]] - v[e["cathode"]], v[e["grid"]] - v[e["cathode"]])
                )
                flow(e["grid"], e["cathode"], grid(v[e["grid"]] - v[e["cathode"]]))
        elif r["kind"] == "pentode":
            ia, i2 = pentode(
                FITTED[NAMES[r["type"]]], *(v[j[e]] - v[j["cathode"]] for e in ("anode", "screen", "grid"))
            )
            flow(j["anode"], j["cathode"], ia)
            flow(j["screen"], j["cathode"], i2)
            flow(j["grid"], j["cathode"], grid(v[j["grid"]] - v[j["cathode"]]))

    def _supply(self, v, flow):
        if not any(r["kind"] in ("diode", "rectifier valve") for r in self.rows):
            return  # the rectifier is out: nothing is fed
        out, _tank = self._rectified()
        for end in (self.windings["ht"]["joins"][0], self.windings["ht"]["joins"][2]):
            flow(end, out, self._half(v))

    def _half(self, v, watts=False):
        w = self.windings["ht"]
        volts = self._wound(w) * self.open
        peak = volts * math.sqrt(2) * self.line
        rs = self.warmth * number(w["ohms"], "Ω") / 2 + (volts / 230.0) ** 2 * self.primary
        out, tank = self._rectified()
        rs += sum(ohms for a, b, ohms in self.wires if {a, b} == {out, tank})
        valve = next((r["type"] for r in self.rows if r["kind"] == "rectifier valve"), None)
        return half_wave(v[tank], peak, rs, PERVEANCE.get(valve), watts)

    def _rectified(self):
        for r in self.rows:
            if r["kind"] in ("diode", "rectifier valve"):
                out = r["joins"]["cathode"]
                cans = {r["joins"][0] for r in self.rows if r["kind"] == "electrolytic"}
                behind = [b if a == out else a for a, b, _ in self.wires if out in (a, b)]
                return out, out if out in cans else next(n for n in behind if n in cans)
        raise LookupError("no rectifier")

    def solve(self, start=None) -> dict:
        """Node volts, solved again once what the rectifier draws is known to the heaters."""
        result = self._solve(start)
        for _ in range(2):
            if any(r["kind"] in ("diode", "rectifier valve") for r in self.rows):
                self.line = self._with_heaters(self.given, 2 * self._half(result, watts=True))
                result = self._solve({n: v for n, v in result.items() if n != "chassis"})
        return result

    def _solve(self, start=None) -> dict:
        """Node volts, from a rough guess: HT nodes at 250 V, cathodes and the rest near chassis."""
        guess = start or {n: 250.0 if n.startswith("ht.") and n not in ("ht.a", "ht.b") else 0.0 for n in self.nodes}
        guess = {n: self._rough(n, v) for n, v in guess.items()} if start is None else guess
        root_found = root(
            self.residual, [guess[n] for n in self.nodes], method="hybr", options={"xtol": 1e-13, "maxfev": 20000}
        )
        worst = max(abs(r) for r in self.residual(root_found.x))
        if worst > 1e-6:
            raise ArithmeticError(f"scipy did not solve it: {worst} mA")
        return dict(zip(self.nodes, root_found.x, strict=True)) | {"chassis": 0.0}

    @staticmethod
    def _rough(node, volts):
        if "follower" in node:
            return 155.0
        if "cathode" in node or node.startswith("k"):
            return 2.0
        return 150.0 if "anode" in node or node in ("a1", "a2") else volts
