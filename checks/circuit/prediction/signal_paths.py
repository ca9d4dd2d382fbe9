"""Where a test tone goes into a kit and comes out of it, with the controls set and the level chosen for it.

Inputs and outputs are the sockets of the parts list that carry no supply, and the loudspeaker windings; a kit whose
sockets are not wired is entered at the far end of what leads to its first grids. A tone goes in at one end and comes
out at another when a valve, transistor or op-amp lies between.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.signal import Signal
from checks.circuit.netlist.wires import CHASSIS
from checks.circuit.prediction.nominal import solve_nominal
from checks.circuit.prediction.probes import LEAST_AC
from checks.circuit.signals.elements import linearise
from checks.circuit.signals.large_signal import onset
from checks.circuit.signals.transfer import transfer
from checks.errors import ChecksError
from checks.finite import finite_figures

TONES = (40.0, 400.0, 1000.0)  # Hz: a hand-held meter on AC volts is trusted from 40 Hz to 1 kHz (common practice)
MIDDLE = 1000.0
TOUCHABLE = 30.0  # V of direct volts, from which a point is no place to clip a generator to
LEAST_GAIN, ONE_WAY = 0.05, 3.0  # volts out for one in; how many times more than backwards
MOST_LEVEL, LEAST_OUTPUT = 1.0, 0.02  # V rms of a generator; V rms that a meter reads well
BELOW_CLIPPING = 0.5  # of the estimated onset
MOVES = 1.1  # how many times a control must change the gain to be worth setting
NEAR = 4.0  # times less gain than at the loudest, with which a guide's own settings are kept
MOST_PATHS = 4
LEADS = ("resistor", "potentiometer", "capacitor", "switch", "link")


@finite_figures
@dataclass(frozen=True)
class SignalPath:
    """A tone of `level` V rms into a node reaches another, with controls at `settings` and perhaps a load there."""

    into: str
    out: str
    settings: tuple[tuple[str, float], ...]
    level: float
    gain: float
    load_ohms: float | None = None

    @property
    def signal(self) -> Signal:
        return Signal(self.into, self.out if self.load_ohms else "", self.load_ohms)


def signal_paths(parts, condition: Condition, barred=frozenset(), offered=()) -> tuple[SignalPath, ...]:
    """The paths of a kit, one for each output. `barred` are nodes on the mains. Of the settings of controls `offered`
    the first is taken that is loud enough. Raises ChecksError as `predict`."""
    parts = list(parts)
    pots = [p.ref for p in parts if p.kind == "potentiometer" and p.ref not in condition.not_fitted]
    bench = _Bench(parts, replace(condition, settings=()), barred)
    halfway = bench.at(dict.fromkeys(pots, 0.5))
    ends = _paired(bench, halfway)
    if not ends:
        return ()
    settings = _loudest(bench, halfway, ends, pots)
    settings = next((own for own in offered if _is_loud(bench, own, settings, ends)), settings)
    paths = [_path(bench, settings, *pair) for pair in ends]
    return tuple(path for path in paths if path)[:MOST_PATHS]


@dataclass(frozen=True)
class _Bench:
    """A kit under a condition, with its controls wherever they are wanted."""

    parts: list
    condition: Condition
    barred: frozenset[str]

    def at(self, settings: dict[str, float], signal: Signal | None = None):
        """The nominal operating point; `signal` may bring a load along."""
        own = Signal() if signal is None else signal
        net, operating = solve_nominal(
            self.parts, replace(self.condition, settings=tuple(settings.items()), signal=own)
        )
        if operating is None:
            raise ChecksError("A signal passes with the power on.", argument="power", code="power-is-off")
        return operating

    def loads(self) -> dict[str, float]:
        """Node -> ohms of the loudspeaker windings against the chassis."""
        return {
            node: w.impedance
            for p in self.parts
            if p.kind == "output transformer" and p.ref not in self.condition.not_fitted
            for w in p.windings
            if w.impedance and CHASSIS in w.nodes
            for node in w.nodes
            if node != CHASSIS
        }

    def sockets(self) -> list[str]:
        names = [n for p in self.parts if p.kind == "connector" for n in p.joins.values()]
        return list(dict.fromkeys(n for n in names if n != CHASSIS))

    def is_quiet(self, operating, node: str) -> bool:
        """Is a point known, and free of supply volts, so that a generator or a meter can be clipped to it?"""
        at = operating.net.nodes.get(node)
        if at is None or node in self.barred:
            return False
        return bool(abs(operating.volts[0, at]) < TOUCHABLE and abs(operating.ac[0, at]) < LEAST_AC)


def _paired(bench: _Bench, operating) -> list[tuple[str, str]]:
    """(input, output), of each output the input that drives it most."""
    sockets = [n for n in bench.sockets() if bench.is_quiet(operating, n)]
    outs = list(dict.fromkeys([*sockets, *(n for n in bench.loads() if bench.is_quiet(operating, n))]))
    gains = {a: _gains(operating, a, outs) for a in dict.fromkeys([*sockets, *outs])}
    pairs = _one_way(operating, gains, sockets, outs)
    if not pairs and (starts := _first_grids(bench, operating)):
        known = outs or [n for n in operating.net.nodes if n != CHASSIS and bench.is_quiet(operating, n)]
        gains = {a: _gains(operating, a, known) for a in dict.fromkeys([*starts, *known])}
        pairs = _one_way(operating, gains, starts, known)
        if not outs:  # of all points that a meter may go to, the loudest
            by_gain = sorted(pairs, key=lambda pair: gains[pair[0]][pair[1]])
            pairs = [*dict(by_gain).items()]
    return pairs


def _one_way(operating, gains, starts, outs) -> list[tuple[str, str]]:
    pairs = []
    for b in outs:
        drives = {
            a: gains[a][b]
            for a in starts
            if a != b and gains[a][b] > max(LEAST_GAIN, ONE_WAY * gains[b].get(a, 0.0)) and _is_active(operating, a)
        }
        if drives:
            pairs.append((max(drives, key=lambda a: drives[a]), b))
    inputs = {a for a, _b in pairs}
    return [(a, b) for a, b in pairs if b not in inputs]


def _gains(operating, into: str, outs) -> dict[str, float]:
    transfer = _transfer(operating, into, MIDDLE)
    return {out: abs(complex(transfer.at(operating.net.node(out))[0])) for out in outs}


def _transfer(operating, into: str, hertz: float):
    node = operating.net.node(into)
    return transfer(linearise(operating, (node,), node), hertz)


def _is_active(operating, into: str) -> bool:
    """Does a tone into a node reach anything that amplifies?"""
    net = operating.net
    return bool(net.transistors or net.op_amps) or onset(operating, _transfer(operating, into, MIDDLE)) is not None


def _first_grids(bench: _Bench, operating) -> list[str]:
    """The far end of what leads to each grid that no other electrode drives."""
    links: dict[str, set[str]] = {}
    for p in bench.parts:
        if p.kind in LEADS:
            nodes = [n for n in p.joins.values() if n != CHASSIS]
            for node in nodes:
                links.setdefault(node, set()).update(nodes)
    driven = {
        n for p in bench.parts for t, n in p.joins.items() if t.rpartition(".")[2] in ("anode", "screen", "cathode")
    }
    grids = [n for p in bench.parts for t, n in p.joins.items() if t.rpartition(".")[2] == "grid" and n != CHASSIS]
    far: dict[str, None] = {}
    for grid in dict.fromkeys(grids):
        order = _spread(links, grid)
        if not driven & {*order} and all(bench.is_quiet(operating, n) for n in order if n in operating.net.nodes):
            far[order[-1]] = None
    return [node for node in far if node in operating.net.nodes]


def _spread(links, start: str) -> list[str]:
    """The nodes that hang together with `start`, the farthest last."""
    order = [start]
    for node in order:
        order += [other for other in sorted(links.get(node, ())) if other not in order]
    return order


def _loudest(bench: _Bench, halfway, ends, pots) -> dict[str, float]:
    """Each control that changes the gain and leaves the direct volts alone, where the paths together are loudest."""
    settings = {}
    for ref in pots:
        whole = {}
        for share in (1.0, 0.5, 0.0):
            try:
                point = halfway if share == 0.5 else bench.at(dict.fromkeys(pots, 0.5) | {ref: share})
            except ChecksError:
                break
            if not _stands_alike(halfway, point):
                break
            whole[share] = _loudness(point, ends)
        if len(whole) == 3 and max(whole.values()) - min(whole.values()) > math.log10(MOVES):
            settings[ref] = max(whole, key=lambda share: whole[share])
    return settings


def _is_loud(bench: _Bench, own: dict[str, float], loudest: dict[str, float], ends) -> bool:
    """Do settings name every control of the signal, and come near the loudest?"""
    if not loudest.keys() <= own.keys():
        return False
    loudness = [_loudness(bench.at(settings), ends) for settings in (loudest, own)]
    return loudness[1] > loudness[0] - len(ends) * math.log10(NEAR)


def _loudness(operating, ends) -> float:
    """Decades of gain of all paths together."""
    return sum(math.log10(max(_gains(operating, a, [b])[b], 1e-9)) for a, b in ends)


def _stands_alike(one, other) -> bool:
    """A control that moves direct volts is an adjustment, and none for a check under a tone."""
    names = [n for n in one.net.nodes if n != CHASSIS and n in other.net.nodes]
    before, after = (np.array([p.volts[0, p.net.nodes[n]] for n in names]) for p in (one, other))
    return bool(np.allclose(before, after, rtol=0.01, atol=0.05))


def _path(bench: _Bench, settings, into: str, out: str) -> SignalPath | None:
    load = bench.loads().get(out)
    operating = bench.at(settings, Signal(into, out if load else "", load))
    most, gain = MOST_LEVEL, math.inf
    for hertz in TONES:
        transfer = _transfer(operating, into, hertz)
        clip = onset(operating, transfer)
        most = min(most, BELOW_CLIPPING * float(clip.input_volts)) if clip else most
        gain = min(gain, abs(complex(transfer.at(operating.net.node(out))[0])))
    level = _round_down(most)
    if level * gain < LEAST_OUTPUT:
        return None
    return SignalPath(into, out, tuple(sorted(settings.items())), level, gain, load)


def _round_down(value: float) -> float:
    """The next of 1, 2, 5 below."""
    decade = 10.0 ** math.floor(math.log10(value))
    return max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= value * (1 + 1e-9))
