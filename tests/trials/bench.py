"""A build on the bench: what lies between two probes, stage by stage, with the power off and on."""

import math
import re

import numpy as np

from tests.trials.circuit import OPEN, VALVES, Circuit
from tests.trials.elements import GROUND, taken_apart
from tests.trials.figures import figure
from tests.trials.network import Network
from tests.trials.valves import HEATERS, emission

ALONE = re.compile(r"=one lead of (\w+),.*")
KILOHERTZ, DUMMY = 1000.0, 8.2  # hertz, and ohms across the loudspeaker jack
TONE = re.compile(r"(\d+) mV")
FUSE_BLOWS = 2.0  # times its rating, sooner or later


class Bench:
    """One build. `line` is its mains in volts; solutions are kept per stage condition."""

    def __init__(self, guide: dict, circuit: Circuit, line: float = 230.0, later=()):
        self.guide, self.circuit, self.line = guide, circuit, line
        self.later = list(
            later
        )  # changes that only the first power brings: what breaks down under voltage or opens when warm
        self.pins = {row["ref"]: _pins(row.get("pins", {})) for row in guide["part"]}
        self.solved: dict = {}

    def fitted(self, n: int) -> frozenset:
        """What is in the chassis at stage n."""
        out = set(self.guide["stage"][n].get("not_fitted", []))
        return frozenset(ref for ref in self.circuit.parts if ref not in out and self.circuit.stage_of.get(ref, 0) <= n)

    def unpowered(self, n: int) -> int:
        """The last stage up to n that is read with the power off."""
        return max(k for k, stage in enumerate(self.guide["stage"][: n + 1]) if stage.get("power") != "on")

    def guide_ends(self, ref: str) -> list[str]:
        """The nodes that a two-ended part joins by the guide, whatever became of it."""
        return next(row["joins"] for row in self.guide["part"] if row["ref"] == ref)

    def node(self, probe: str) -> str:
        ref, _, pin = probe.partition(".")
        if pin.isdigit() and ref in self.circuit.parts:
            return self.circuit.parts[ref].at[self.pins[ref][pin]]
        return probe

    def value(self, n: int, check: dict, load: float | None = None, test_volts: float = 0.4) -> float | None:
        """The true value between the probes, with the meter's load across them; None where the circuit says nothing."""
        if alone := ALONE.fullmatch(check["red"]):
            return self.circuit.parts[alone[1]].is_["ohms"]
        if check["red"].startswith("=the earth pin"):
            return self.circuit.earth
        if check["red"].startswith("="):
            return None
        stage, red, black = self.guide["stage"][n], self.node(check["red"]), self.node(check.get("black", GROUND))
        if stage.get("power") != "on":
            return self.ohms(n, red, black, test_volts)
        if "signal" in stage["key"]:
            return self.signal(n, red, black)
        return self.volts(n, red, black, check["measure"], load)

    # ---- power off
    def ohms(self, n: int, red: str, black: str, test_volts: float = 0.4) -> float:
        """What an ohmmeter's own few tenths of a volt find, through whatever they make conduct."""
        key = ("off", self.fitted(n))
        if key not in self.solved:
            made = taken_apart(self.circuit, self.fitted(n), None, self.guide["stage"][n].get("settings"))
            self.solved[key] = Network(made.without_flux())
        net = self.solved[key]
        if any(name != GROUND and name not in net.e.nodes for name in (red, black)):
            return math.inf if red != black else 0.0
        return ohms_between(net, self._row(net, red, black), test_volts)

    @staticmethod
    def _row(net, red, black):
        return net.row(*(-1 if name == GROUND else net.e.nodes.get(name, -1) for name in (red, black)))

    # ---- power on
    def break_down(self) -> None:
        """The power comes on for the first time."""
        while self.later:
            self.later.pop(0)(self.circuit)

    def condition(self, n: int):
        """The network of a powered stage and its steady state; fuses that blow stay blown."""
        key = ("on", self.fitted(n))
        if key not in self.solved:
            for _ in range(3):
                net, steady = self._warm(n)
                blown = [ref for ref in self.fitted(n) if self._blows(net, steady, ref)]
                for ref in blown:
                    self.circuit.parts[ref].is_["ohms"] = OPEN
                if not blown:
                    break
            self.solved[key] = net, steady
        return self.solved[key]

    def _warm(self, n):
        heat = {ref: 1.0 for ref in self.fitted(n) if self.circuit.parts[ref].kind in VALVES}
        steady = None
        for _ in range(3):
            made = taken_apart(self.circuit, self.fitted(n), heat, self.guide["stage"][n].get("settings"))
            net = Network(made, self.line)
            steady = net.steady(steady)
            results = {ref: self._emission(net, steady, ref) for ref in heat}
            if all(abs(results[ref] - heat[ref]) < 0.02 for ref in heat):
                break
            heat = results
        return net, steady

    def _emission(self, net, steady, ref) -> float:
        part = self.circuit.parts[ref]
        ends = ("heater.0", "heater_centre" if "heater_centre" in part.at else "heater.1")
        row = self._row(net, *(part.at[end] for end in ends))
        volts = math.hypot(steady.rms(row), float(steady.mean @ row))  # direct current heats as well
        return emission(volts / HEATERS[part.row["type"]][0])

    def _blows(self, net, steady, ref) -> bool:
        part = self.circuit.parts[ref]
        if part.kind != "fuse" or part.is_["ohms"] > 1e3:
            return False
        across = steady.wave @ self._row(net, part.at["0"], part.at["1"])
        return float(np.sqrt(np.mean(across**2))) / part.is_["ohms"] > FUSE_BLOWS * figure(part.row["value"])

    def volts(self, n: int, red: str, black: str, measure: str, load: float | None) -> float:
        net, steady = self.condition(n)
        row = self._row(net, red, black)
        if measure == "ac volts":
            return steady.rms(row)
        free = float(steady.mean @ row)
        if not load or abs(free) < 1e-6:
            return free
        return self._loaded(n, net, steady, row, free, load, (red, black))

    def _loaded(self, n, net, steady, row, free, load, ends) -> float:
        """With the meter across: by the slopes where it hardly loads, else by solving again."""
        matrix = net.linear + net.across.T @ steady.slopes @ net.across
        for a, b, _henries, ohms in net.e.chokes:
            net._stamp(matrix, net.row(a, b), 1 / ohms)
        source = float(row @ np.linalg.solve(matrix, row))
        if source < 0.03 * load:
            return free / (1 + source / load)
        heavy = Network(net.e, self.line)
        heavy._stamp(heavy.linear, row, 1 / load)
        return float(heavy.steady(steady).mean @ row)

    # ---- with a tone
    def signal(self, n: int, red: str, black: str) -> float:
        """Volts of 1 kHz between the probes with the stage's millivolts at the inputs, for small signals."""
        _net, steady = self.condition(n)
        heat = {ref: 1.0 for ref in self.fitted(n) if self.circuit.parts[ref].kind in VALVES}
        made = taken_apart(self.circuit, self.fitted(n), heat, self.guide["stage"][n].get("settings"), coupled=True)
        if "out.hot" in made.nodes:
            made.resistor("out.hot", GROUND, DUMMY)
        net, omega = Network(made), 2 * math.pi * KILOHERTZ
        matrix = net.linear + net.across.T @ steady.slopes @ net.across + 0j
        for a, b, farads in made.capacitors:
            net._stamp(matrix, net.row(a, b), 1j * omega * farads)
        for a, b, henries, ohms in made.chokes:
            net._stamp(matrix, net.row(a, b), 1 / (ohms + 1j * omega * henries))
        driven, volts = np.zeros(net.n, complex), float(TONE.search(self.guide["stage"][n]["intro"])[1]) / 1000
        for name in (x for x in made.nodes if x == "in.tip" or x.endswith(".in")):
            net._stamp(matrix, net.row(made.nodes[name], -1), 1 / 600)
            driven[made.nodes[name]] += volts / 600
        return float(abs(np.linalg.solve(matrix, driven) @ self._row(net, red, black)))


def ohms_between(net: Network, row: np.ndarray, test_volts: float) -> float:
    """Resistance that a source of `test_volts` behind a range resistor finds."""
    at_rest = np.zeros(net.n)
    _i, slopes = net.device_currents(at_rest)
    matrix = net.linear + net.across.T @ slopes @ net.across
    for a, b, _henries, ohms in net.e.chokes:
        net._stamp(matrix, net.row(a, b), 1 / ohms)
    if not row.any():
        return 0.0
    flat = float(row @ np.linalg.solve(matrix, row))
    behind = 10.0 ** min(max(math.ceil(math.log10(max(flat, 1.0))), 2), 7)
    tried = Network(net.e)
    tried._stamp(tried.linear, row, 1 / behind)
    v, *_ = tried.at_rest(row * (test_volts / behind))
    across = float(v @ row)
    current = (test_volts - across) / behind
    return across / current if current > 1e-12 else math.inf


def _pins(pins: dict) -> dict[str, str]:
    """Pin number -> terminal."""
    results = {}
    for name, pin in pins.items():
        if isinstance(pin, dict):
            results |= {number: f"{name}.{end}" for end, number in pin.items()}
        elif isinstance(pin, list):
            results |= {number: f"{name}.{n}" for n, number in enumerate(pin)}
        else:
            results[pin] = name
    return results
