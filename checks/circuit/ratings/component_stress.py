"""Over-stress: what parts and valves withstand at nominal and at the highest permitted mains, against their limits.

Valves are judged by their rating system (IEC 60134:1961): design centre at nominal mains, design maximum at high mains
with an average valve, absolute maximum over good builds. Other parts' ratings are absolute maxima. These are judged at
the highest mains the supply may have, which a build on it has all day, and there in 97.5 of 100 good builds: over a
line drawn at random a part could be over its limit in every build at that line and pass. At switch-on no valve draws
current yet and windings are cold.
"""

from dataclasses import dataclass, replace

import numpy as np

from checks.circuit.devices.valves import Pentode
from checks.circuit.netlist.conditions import Condition
from checks.circuit.netlist.network import Network
from checks.circuit.netlist.regulation import assume_regulation
from checks.circuit.prediction.nominal import solve_nominal
from checks.circuit.ratings.circumstances import BUILDS, EVERYWHERE, HIGH_MAINS, JUDGED_AT, NOMINAL, SWITCH_ON
from checks.circuit.ratings.op_amp_stress import op_amp_stresses
from checks.circuit.ratings.pulses import doubler_capacitors, list_pulsed
from checks.circuit.ratings.rectifier_stress import diode_stresses, heater_cathode, rectifier_stresses
from checks.circuit.ratings.source_stress import source_stresses
from checks.circuit.ratings.transistor_stress import transistor_stresses
from checks.circuit.solver.operating_point import Operating, solve_operating_point
from checks.circuit.valves.types import find_limits
from checks.errors import CallerError
from checks.finite import finite_figures

HAIR = 1.0 + 1e-9  # published points sit exactly on their limit


@finite_figures
@dataclass(frozen=True)
class Stress:
    """What one part bears of one kind in one circumstance; `over` when it is judged there and lies above its limit."""

    ref: str
    what: str
    value: float
    limit: float
    unit: str
    at: str
    over: bool


def component_stresses(parts, condition: Condition, samples: int = 2000, seed: int = 1) -> list[Stress]:
    """Every rated part's stresses, by part and circumstance. Raises ChecksError as `predict`; power must be on."""
    if condition.power != "on":
        raise CallerError("Ratings are checked with the power on.", argument="power")
    stresses = []
    parts = tuple(assume_regulation(part) for part in parts)
    for at, net, operating in _circumstances(parts, condition, samples, seed):
        blind = {p.ref for p in net.parts if any(net.nodes[n] in net.not_calculated for n in p.joins.values())}
        blind |= {
            ref for feed in net.feeds for ref in feed.lead_refs
        }  # what the primary draws in pulses heats them unreckoned
        blind -= {ref for r in net.rectifiers if r.coupling for ref in (*r.ref.split("+"), r.capacitor)}
        for ref, what, values, limit, unit, judged in (
            *_resistors(net, operating),
            *_capacitors(net, operating),
            *doubler_capacitors(net, operating),
            *_zeners(net, operating),
            *diode_stresses(net, operating),
            *rectifier_stresses(net, operating),
            *transistor_stresses(net, operating),
            *source_stresses(net, operating),
            *op_amp_stresses(net, operating),
            *_neons(net, operating),
            *(_valves(net, operating) if at != SWITCH_ON else ()),
        ):
            if ref in blind:
                continue  # it hangs on what is not calculated, or carries it
            value = float(np.percentile(values, 97.5)) if len(values) > 1 else float(values[0])
            stresses.append(Stress(ref, what, value, limit, unit, at, at in judged and value > limit * HAIR))
    return stresses


def _circumstances(parts, condition: Condition, samples: int, seed: int):
    """Yield (name, network, operating point)."""
    net, nominal = solve_nominal(parts, condition)
    yield NOMINAL, net, nominal
    high = condition.at_highest_line()
    wide, middle = solve_nominal(parts, high)
    yield HIGH_MAINS, wide, middle
    yield BUILDS, wide, _builds(wide, middle, samples, seed)
    cold = replace(high, winding_rise=0.0, not_fitted=condition.not_fitted | {v.ref for v in net.valves})
    empty, idle = solve_nominal(parts, cold)
    yield SWITCH_ON, empty, _builds(empty, idle, samples, seed)


def _builds(net: Network, middle: Operating | None, samples: int, seed: int) -> Operating:
    assert middle is not None  # the power is on
    return solve_operating_point(net, net.parameters.draw(samples, seed), line=middle.line, start=middle.solution.ports)


def _resistors(net: Network, operating: Operating):
    rated = {p.ref: p.power for p in net.parts if p.kind in ("resistor", "potentiometer") and p.power}
    m, squares = operating.solution.reduced.m, list_pulsed(net, operating)
    for r in net.resistives:
        if r.ref in squares and r.ref in rated:
            yield r.ref, "dissipation", squares[r.ref] * r.ohms * m[:, r.parameter], rated[r.ref], "W", EVERYWHERE
        elif r.ref in rated:
            dc = operating.volts[:, r.a] - operating.volts[:, r.b]
            ac = operating.ac[:, r.a] - operating.ac[:, r.b]
            yield r.ref, "dissipation", (dc**2 + ac**2) / (r.ohms * m[:, r.parameter]), rated[r.ref], "W", EVERYWHERE


def _capacitors(net: Network, operating: Operating):
    for part, a, b in net.capacitors:
        if part.volts:
            across = operating.volts[:, a] - operating.volts[:, b]
            if np.isnan(across).all():
                continue
            peak = np.sqrt(2) * np.abs(operating.ac[:, a] - operating.ac[:, b])
            yield part.ref, "voltage", np.abs(across) + peak, part.volts, "V", EVERYWHERE
            if part.kind == "electrolytic":
                yield part.ref, "reverse voltage", np.maximum(-across, 0), 1.0, "V", EVERYWHERE


def _zeners(net: Network, operating: Operating):
    rated = {p.ref: p.power for p in net.parts if p.kind == "zener" and p.power}
    ports, currents = operating.solution.ports, operating.solution.currents
    at = np.cumsum([0, *(len(d.ports) for d in net.devices)])
    for device, n in zip(net.devices, at, strict=False):
        if device.ref in rated:
            yield device.ref, "dissipation", np.abs(ports[:, n] * currents[:, n]), rated[device.ref], "W", EVERYWHERE


def _neons(net: Network, operating: Operating):
    rated = {p.ref: p.amps for p in net.parts if p.kind == "neon" and p.amps}
    for device, _ports, amps in net.columns():
        if device.ref in rated:
            yield (
                device.ref,
                "current",
                np.abs(operating.solution.currents[:, amps][:, 0]),
                rated[device.ref],
                "A",
                EVERYWHERE,
            )


def _valves(net: Network, operating: Operating):
    column = 0
    for device in net.devices:
        width = len(device.ports)
        if device in net.valves:
            part = next(p for p in net.parts if p.ref == device.ref)
            limits = find_limits(part.type, part.limits, part.kind)
            judged = JUDGED_AT.get(limits["system"], EVERYWHERE)
            ports, amps = (
                x[:, column : column + width] for x in (operating.solution.ports, operating.solution.currents)
            )
            for what, key, values, unit in (
                *_list_stresses(device, ports, amps),
                *_heater_cathode(net, operating, part, device),
            ):
                if key in limits:
                    scale = 1e-3 if key.endswith("milliamps") else 1.0
                    yield part.ref, what, values, limits[key] * scale, unit, judged
        column += width


def _list_stresses(device, ports, amps):
    name = f" {device.name}" if device.name else ""
    yield f"anode dissipation{name}", "anode_watts", ports[:, 0] * amps[:, 0], "W"
    yield f"anode voltage{name}", "anode_volts", ports[:, 0], "V"
    yield f"cathode current{name}", "cathode_milliamps", amps.sum(axis=1), "A"
    if isinstance(device, Pentode):
        yield f"screen dissipation{name}", "screen_watts", ports[:, 1] * amps[:, 1], "W"
        yield f"screen voltage{name}", "screen_volts", ports[:, 1], "V"


def _heater_cathode(net: Network, operating: Operating, part, device):
    ends = [net.nodes[part.joins[t]] for t in ("heater.1", "heater.2") if t in part.joins]
    if ends:
        name = f"heater to cathode{' ' + device.name if device.name else ''}"
        yield name, "heater_cathode_volts", heater_cathode(operating, device.cathode, ends), "V"
