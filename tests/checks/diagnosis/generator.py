"""Faulty builds drawn and solved apart from the predictor: scipy's root finder on plain nodal equations, pinv for
resistances.

Every part is drawn within its tolerance, the fault is put into the rows themselves, the line is drawn within 2 %, and
the meter reads with its own error and rounds to its digits. It has 10 megohms, as nearly every digital meter has
(common practice), which is what a point that floats then reads through.
"""

import math
from heapq import heappop, heappush

import numpy as np
from scipy.optimize import least_squares

from checks.diagnosis.listing import fault_list
from checks.diagnosis.parasitics import NOWHERE, parasitics
from checks.quantity import parse_quantity, parse_tolerance
from tests.checks.circuit.independent import FITTED, NAMES, PERVEANCE, Kit, half_wave, pentode, triode

VALVE = 0.15  # standard deviation of valves' strength: the ±30 % limits at two of them
METER, FLOATS = 1e7, 3e6  # Ω of the meter's input, and of what holds a point, from which the meter pulls it down


class Faulty(Kit):
    """A Kit whose primary may be open, which leaves no mains, or its heater winding, which draws none."""

    def _with_heaters(self, line, watts=0.0):
        try:
            return super()._with_heaters(line, watts)
        except ValueError:
            self.heater_volts = 0.0
            return 1e-9 if self.primary > 1e6 else line

    @staticmethod
    def _wound(w) -> float:
        """This build's own volts, where it was drawn with some."""
        return w["volts_n"] if "volts_n" in w else Kit._wound(w)


class Build(Faulty):
    """One build: a Kit with valves of their own strength, perhaps one rectifier less, and leaks."""

    def __init__(self, rows, strengths, not_fitted=(), line=1.0, dead_ends=(), unlit=()):
        self.strengths, self.dead_ends, self.unlit = strengths, dead_ends, unlit
        super().__init__(rows, not_fitted, line)

    def _valve(self, r, v, flow):
        j = r.get("joins")
        if r["kind"] == "twin triode":
            for s in ("a", "b"):
                e, k = j[s], self.strengths.get((r["ref"], s), 1.0)
                flow(
                    e["anode"],
                    e["cathode"],
                    k
                    * triode(FITTED[NAMES[r["type"]]], v[e["anode"]] - v[e["cathode"]], v[e["grid"]] - v[e["cathode"]]),
                )
                flow(e["grid"], e["cathode"], grid(v[e["grid"]] - v[e["cathode"]]))
        elif r["kind"] == "pentode":
            k = self.strengths.get((r["ref"], ""), 1.0)
            ia, i2 = pentode(
                FITTED[NAMES[r["type"]]], *(v[j[e]] - v[j["cathode"]] for e in ("anode", "screen", "grid"))
            )
            flow(j["anode"], j["cathode"], k * ia)
            flow(j["screen"], j["cathode"], k * i2)
            flow(j["grid"], j["cathode"], grid(v[j["grid"]] - v[j["cathode"]]))

    def _supply(self, v, flow):
        if not any(r["kind"] in ("diode", "rectifier valve") for r in self.rows):
            return
        w = self.windings["ht"]
        volts = float(w["volts_n"]) * self.open
        peak, rs = volts * math.sqrt(2) * self.line, float(w["ohms_n"]) / 2 + (volts / 230.0) ** 2 * self.primary
        out, tank, between = self._tank()
        rs += between
        valve = next((r for r in self.rows if r["kind"] == "rectifier valve"), None)
        perveance = PERVEANCE[valve["type"]] * self.strengths.get((valve["ref"], ""), 1.0) if valve else None
        for end in (w["joins"][0], w["joins"][2]):
            if end not in self.dead_ends:
                flow(
                    end,
                    out,
                    half_wave(v[tank], peak, rs) if perveance is None else valve_pulse(v[tank], peak, rs, perveance),
                )

    def _tank(self):
        """(the rectifier's output, the first node behind it with an electrolytic, ohms between)."""
        out = next(r["joins"]["cathode"] for r in self.rows if r["kind"] in ("diode", "rectifier valve"))
        cans = {r["joins"][0] for r in self.rows if r["kind"] == "electrolytic"}
        nearest, seen = [(0.0, out)], {"chassis"}  # Dijkstra's way: the least ohms first
        while nearest:
            ohms, node = heappop(nearest)
            if node in cans:
                return out, node, ohms
            seen.add(node)
            for a, b, step in self.wires:
                if node in (a, b) and not {a, b} <= seen:
                    heappush(nearest, (ohms + step, b if a == node else a))
        raise ArithmeticError("nothing leads from the rectifier to an electrolytic")

    def _rectified(self):
        out, node, _ohms_between = self._tank()
        return out, node

    def solve(self, start=None):
        """From several beginnings, and at last with the line brought up in steps."""
        for begin in (start, dict.fromkeys(self.nodes, 0.0), {n: 150.0 if "." in n else 0.0 for n in self.nodes}):
            try:
                return super().solve(begin)
            except ArithmeticError:
                continue
        whole, result = self.line, dict.fromkeys(self.nodes, 0.0)
        for share in np.linspace(0.02, 1.0, 50):
            self.line = whole * share
            result = self._least({n: result[n] for n in self.nodes})
        return result

    def _least(self, start):
        """Kirchhoff's sums by least squares, which gets on where the root finder gives up."""
        result = least_squares(
            self.residual, list(start.values()), x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=400
        )
        worst = max(abs(r) for r in result.fun)
        if worst > 1e-5:
            raise ArithmeticError(f"scipy did not solve it: {worst} mA")
        return dict(zip(self.nodes, result.x, strict=True)) | {"chassis": 0.0}


ANGLES, SHARES = np.polynomial.legendre.leggauss(48)


def valve_pulse(v, peak, rs, perveance):
    """Mean A of a valve rectifier's pulse by Gauss's rule: rs i + (i / k)^(2/3) is what the winding has to spare."""
    if v >= peak:
        return 0.0
    angle = math.acos(max(-1.0, v / peak))
    spare = np.maximum(peak * np.cos(angle * (ANGLES + 1) / 2) - v, 0.0)
    drop = perveance ** (-2 / 3)
    s = np.minimum(np.cbrt(spare / rs), np.sqrt(spare / drop)) + 1e-12  # the cube root of the current, from above
    for _ in range(12):
        s -= (rs * s**3 + drop * s**2 - spare) / (3 * rs * s**2 + 2 * drop * s)
    return float(SHARES @ s**3) * angle / 2 / math.pi


def grid(volts):
    """A grid driven positive takes current, by Child's law with a coarse perveance."""
    return 5e-4 * max(volts, 0.0) ** 1.5


def _renamed(pins, joins, pin, node):
    """A valve's joins, nested by section or not, with the node of one pin renamed."""
    return {
        name: _renamed(pins[name], end, pin, node)
        if isinstance(end, dict)
        else node
        if str(pins.get(name)) == pin
        else end
        for name, end in joins.items()
    }


def _sized(move, size):
    """A fault that comes in all sizes, in one of them (fault.Move says what its decades mean)."""
    worse = 10.0 ** (move.decades * size)
    return 1 + (move.factor - 1) * worse if move.factor > 1 else move.factor * worse


def _ohms(text, unit="Ω"):
    return parse_quantity(text, unit).value


class Bench:
    """A kit whose builds are drawn: read(fault, places) gives {place name: (value or None, u)}."""

    def __init__(self, rows, parts, seed):
        self.rows, self.parts = rows, parts
        self.random = np.random.default_rng(seed)
        self.leaks = {p.ref: tuple(p.joins.values()) for p in parasitics(parts)}
        self.faults = fault_list(parts)
        self.regulation = 1 + _ohms(next(r for r in rows if r["kind"] == "mains transformer")["regulation"], "%") / 100

    def _drawn(self, fault):
        """(rows with this build's values, strengths, line factor, left out)."""
        size = self.random.uniform(-1, 1)
        moves = {(m.ref, m.what): _sized(m, size) for m in fault.moves} if fault else {}
        if fault and fault.sizes:
            first = fault.moves[0]
            moves[first.ref, first.what] = float(self.random.choice(fault.sizes))
        rows, strengths = [], {}
        for row in self.rows:
            row = dict(row)
            if row["kind"] in ("resistor", "potentiometer"):
                tolerance = parse_tolerance(row.get("tolerance") or "5%").plus
                factor = (1 + tolerance * self.random.uniform(-1, 1)) * moves.get((row["ref"], "value"), 1.0)
                row["value"] = f"{_ohms(row['value']) * factor:.9g}"
            elif row["kind"] == "fuse" and "ohms" in row:
                row["ohms"] = f"{_ohms(row['ohms']) * moves.get((row['ref'], 'ohms'), 1.0):.9g}"
            elif row["kind"].endswith("transformer"):
                row["winding"] = [self._winding(row["ref"], w, moves) for w in row["winding"]]
            elif row["kind"] in ("twin triode", "pentode", "rectifier valve"):
                for s in ("a", "b") if row["kind"] == "twin triode" else ("",):
                    strengths[row["ref"], s] = (1 + VALVE * float(np.clip(self.random.normal(), -2, 2))) * moves.get(
                        (row["ref"], f"{s} strength".strip()), 1.0
                    )
            rows.append(row)
        for ref, _what in moves:
            if " joint " in ref:
                self._loosen(rows, *ref.split(" joint "))
            elif " end " in ref:
                self._cut(rows, *ref.split(" end "))
        for ref, (a, b) in self.leaks.items():
            if (ref, "value") in moves:
                ohms = NOWHERE * moves[ref, "value"] * self.random.uniform(0.6, 1.4)
                rows.append({"ref": ref, "kind": "resistor", "value": f"{ohms:.9g}", "joins": [a, b]})
        return rows, strengths, moves.get(("line", "volts"), 1.0)

    @staticmethod
    def _loosen(rows, ref, pin):
        """The tag of a socket pin loses its wire: it is a node of its own that leaks a little to the chassis."""
        row = next(r for r in rows if r["ref"] == ref)
        row["joins"] = _renamed(row["pins"], row["joins"], pin, f"{ref}.{pin}")
        rows.append(
            {"ref": f"{ref} stray {pin}", "kind": "resistor", "value": "1e8", "joins": [f"{ref}.{pin}", "chassis"]}
        )

    @staticmethod
    def _cut(rows, ref, end):
        """A winding's end loses its wire inside the transformer: nothing flows there, and no ohms are found."""
        name, number = end.rsplit(" ", 1)
        winding = next(w for r in rows if r["ref"] == ref for w in r["winding"] if w["name"] == name)
        joins = list(winding["joins"])
        joins[int(number)] = f"{ref}.{name}.{number}"
        winding |= {"joins": joins, "cut": joins[int(number)]}

    def _winding(self, ref, w, moves):
        ohms = _ohms(w["ohms"]) * self.random.uniform(0.92, 1.08) * moves.get((ref, f"{w['name']} ohms"), 1.0)
        volts = _ohms(w["volts"], "V") * self.random.uniform(0.975, 1.025) if "volts" in w else 0.0
        volts *= moves.get((ref, f"{w['name']} volts"), 1.0)
        return w | {"ohms": f"{ohms:.9g}", "ohms_n": ohms, "volts_n": volts if w["name"] != "primary" else 230.0}

    def read(self, fault, places) -> dict:
        """What this build's meter shows, at the guide's mains. Raises ArithmeticError where scipy finds no solution."""
        rows, strengths, factor = self._drawn(fault)
        self.loose = {".".join(m.ref.split(" joint ")) for m in fault.moves if " joint " in m.ref} if fault else set()
        line = self.random.uniform(0.98, 1.02)
        reported = line * (1 + self.random.normal(0, 0.003))  # the plug-in meter's own error
        solved, result = {}, {}
        for place in places:
            if place.probe.under:
                continue  # signals are no matter of scipy's here
            if place.power == "off":
                iron = {r["ref"] for r in rows if r["kind"].endswith("transformer")} & set(self.left_out(place.stage))
                value = self._resistance([r for r in rows if r["ref"] not in iron], place.probe)
            else:
                out = frozenset(self.left_out(place.stage))
                meter = self._meter(rows, place.probe)
                if (out, *meter) not in solved:
                    solved[out, *meter] = self._solved([*rows, *meter.values()], strengths, out, line * factor, fault)
                value = self._reading(*solved[out, *meter], place, rows, fault)
                value = None if value is None else value / reported
            result[place.name] = self._shown(value, place)
        return {k: v for k, v in result.items() if v is not None}

    def _meter(self, rows, probe) -> dict:
        """The meter as a part of the kit by its ends, where what holds the point is hardly less than it."""
        ends = (self._node(probe.red), self._node(probe.black))
        if probe.measure != "dc volts" or self._resistance(rows, probe) < FLOATS:
            return {}
        return {ends: {"ref": "meter", "kind": "resistor", "value": f"{METER:.0f}", "joins": list(ends)}}

    def left_out(self, stage):
        return self.stages[stage].get("not_fitted", []) if stage else []

    def _solved(self, rows, strengths, out, line, fault):
        """(node volts, the build that has them)."""
        rows = [r for r in rows if not (r["ref"].partition(" gas")[1] and r["ref"].split()[0] in out)]
        if fault:
            capacitors = ("electrolytic", "capacitor")
            rows = [r for r in rows if not (r["kind"] in capacitors and r["ref"] in fault.without)]
        dead = [r["joins"]["anode"] for r in rows if fault and r["ref"] in fault.without]
        dead += [self._joined_at(pin) for pin in self.loose]  # a rectifier's anode without its wire
        dead += [w["cut"] for r in rows for w in r.get("winding", ()) if "cut" in w]
        build = Build(rows, strengths, out, line, dead, fault.dead_heaters if fault else ())
        return build.solve(), build

    def _node(self, end):
        return end if end in self.loose else self._joined_at(end)

    def _joined_at(self, end):
        ref, _, pin = end.partition(".")
        part = next((p for p in self.parts if p.ref == ref and pin in p.pins), None)
        return part.joins[part.pins[pin]] if part else end

    def _reading(self, volts, build, place, rows, fault):
        probe = place.probe
        if probe.measure == "ac volts":
            return self._alternating(probe, place.stage, rows, fault, build)
        value = volts.get(self._node(probe.red), 0.0) - volts.get(self._node(probe.black), 0.0)
        if probe.measure == "current":
            value /= _ohms(next(r["value"] for r in self.rows if r["ref"] == probe.through))
        return value

    def _alternating(self, probe, stage, rows, fault, build):
        """Heaters' volts; of an HT winding only the open volts, while its rectifier is not in (None with it in: not
        worked out). What heaters and rectifier draw, the primary they share has less for both."""
        node = self._node(probe.red)
        if node in self.loose or (fault and any(probe.red.startswith(f"{ref}.") for ref in fault.dead_heaters)):
            return 0.0
        for w in next(r for r in rows if r["kind"] == "mains transformer")["winding"]:
            if w["name"] == "ht" and "cut" in w and node != "chassis" and node not in w["joins"]:
                return 0.0 if node.startswith("ht") else build.heater_volts
            if node in w["joins"] and w["name"] == "ht":
                loaded = any(
                    r["kind"] in ("diode", "rectifier valve") and r["ref"] not in self.left_out(stage) for r in rows
                )
                return None if loaded else w["volts_n"] * self.regulation * build.line if w["ohms_n"] < 1e6 else 0.0
        return build.heater_volts

    def _resistance(self, rows, probe):
        wires = list(Faulty(rows).wires)
        nodes = sorted({n for a, b, _ in wires for n in (a, b)} | {"chassis"})
        at = {n: k for k, n in enumerate(nodes)}
        g = np.zeros((len(nodes), len(nodes)))
        for a, b, ohms in wires:
            i, j = at[a], at[b]
            g[i, i] += 1 / ohms
            g[j, j] += 1 / ohms
            g[i, j] -= 1 / ohms
            g[j, i] -= 1 / ohms
        red, black = self._node(probe.red), self._node(probe.black)
        if red == black:
            return 0.0
        if red not in at or black not in at or not _joined(wires, red, black):
            return math.inf
        keep = [k for n, k in at.items() if n != black and _joined(wires, n, black)]
        inward = np.zeros(len(nodes))
        inward[at[red]] = 1.0
        return float(np.linalg.solve(g[np.ix_(keep, keep)], inward[keep])[keep.index(at[red])])

    def _shown(self, value, place):
        """Meter error and rounding: ±0.4 % and four figures; over range above 40 megohm."""
        if value is None:
            return None
        if place.power == "off" and value > 4e7:
            return (None, 0.0)
        value *= 1 + self.random.normal(0, 0.004)
        digit = 10.0 ** (math.floor(math.log10(max(abs(value), 0.1))) - 3)
        return (round(value / digit) * digit, 0.004 * abs(value) + digit / math.sqrt(12))


def _joined(wires, a, b) -> bool:
    reach, more = {a}, True
    while more:
        more = False
        for x, y, _ in wires:
            if (x in reach) != (y in reach):
                reach |= {x, y}
                more = True
    return b in reach
