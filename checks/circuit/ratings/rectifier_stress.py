"""What diodes and rectifier valves bear, and which parts of a list cannot be judged since no limit is stated for
them."""

import numpy as np

from checks.circuit.netlist.network import Network
from checks.circuit.netlist.op_amps import OP_AMP
from checks.circuit.netlist.sources import REGULATORS, SUPPLIES
from checks.circuit.netlist.terminals import VALVES
from checks.circuit.netlist.transistors import TRANSISTORS
from checks.circuit.ratings.circumstances import EVERYWHERE, JUDGED_AT
from checks.circuit.ratings.pulses import reverse_volts
from checks.circuit.solver.operating_point import Operating
from checks.circuit.valves.types import find_limits, find_type

# Kind -> the key of its rating in a parts list; valves have tables of limits.
RATING = {
    "resistor": "power",
    "potentiometer": "power",
    "zener": "power",
    "capacitor": "volts",
    "electrolytic": "volts",
    "diode": "volts",
    "bridge": "volts",
    **dict.fromkeys((*TRANSISTORS, *REGULATORS), "power"),
    **dict.fromkeys((*SUPPLIES, "neon"), "amps"),
    OP_AMP: "volts",
}


def rectifier_limits(type_: str, own: dict) -> dict:
    """A rectifier valve's limits: the guide's own, else those of the type. SI but for mean_milliamps."""
    row = find_type(type_)
    listed = row["limits"] if row and row["group"] == "rectifiers" else {}
    limits = {"mean_milliamps": 1e3 * listed["amps"]} if listed.get("amps") else {}
    limits |= {k: listed[k] for k in ("peak_inverse_volts", "heater_cathode_volts") if listed.get(k)}
    return {"system": "design centre"} | limits | own


def diode_stresses(net: Network, operating: Operating):
    """Yield (ref, what, values (samples,), limit, unit, where it is judged) of silicon rectifiers with volts or amps
    stated."""
    parts = {p.ref: p for p in net.parts if p.kind in ("diode", "bridge")}
    amps = _mean_amps(net, operating)
    for ref, volts in _highest(net, operating).items():
        part = parts.get(ref)
        if part and part.volts:
            yield ref, "reverse voltage", volts, part.volts, "V", EVERYWHERE
        if part and part.amps:
            yield ref, "mean current", amps[ref], part.amps, "A", EVERYWHERE


def rectifier_stresses(net: Network, operating: Operating):
    """The same of rectifier valves: mean current of all anodes together, peak inverse voltage, heater to cathode."""
    reverse, amps = _highest(net, operating), _mean_amps(net, operating)
    for part in net.parts:
        if part.kind != "rectifier valve" or part.ref in net.condition.not_fitted:
            continue
        limits = rectifier_limits(part.type, part.limits)
        judged = JUDGED_AT.get(limits["system"], EVERYWHERE)
        if "mean_milliamps" in limits and part.ref in amps:
            yield part.ref, "mean current", amps[part.ref], 1e-3 * limits["mean_milliamps"], "A", judged
        if "peak_inverse_volts" in limits and part.ref in reverse:
            yield part.ref, "peak inverse voltage", reverse[part.ref], limits["peak_inverse_volts"], "V", judged
        heater = [net.nodes[part.joins[t]] for t in ("heater.1", "heater.2") if t in part.joins]
        if "heater_cathode_volts" in limits and heater:
            yield (
                part.ref,
                "heater to cathode",
                heater_cathode(operating, net.nodes[part.joins["cathode"]], heater),
                limits["heater_cathode_volts"],
                "V",
                judged,
            )


def heater_cathode(operating: Operating, cathode: int, ends):
    """DC between a cathode and either heater end, plus the alternating peak between them (samples,)."""
    return np.max(
        [
            np.abs(operating.volts[:, cathode] - operating.volts[:, n])
            + np.sqrt(2) * np.abs(operating.ac[:, cathode] - operating.ac[:, n])
            for n in ends
        ],
        axis=0,
    )


def _highest(net: Network, operating: Operating) -> dict:
    highest: dict = {}
    for rectifier, volts in reverse_volts(net, operating):
        for ref in rectifier.ref.split("+"):
            highest[ref] = np.maximum(highest.get(ref, 0.0), volts)
    return highest


def _mean_amps(net: Network, operating: Operating) -> dict:
    """Mean A through each part that rectifies; what its halves carry is added up."""
    amps: dict = {}
    for n, rectifier in enumerate(net.rectifiers):
        for ref in rectifier.ref.split("+"):
            amps[ref] = amps.get(ref, 0.0) + operating.solution.currents[:, n]
    return amps


def list_unrated(parts) -> list[str]:
    """References of the parts, in the list's order, of whose stresses nothing can be judged: their list states no
    limit."""
    return [part.ref for part in parts if _has_none(part)]


def _has_none(part) -> bool:
    if part.kind in RATING:
        return getattr(part, RATING[part.kind]) is None
    if part.kind == "rectifier valve":
        return not set(rectifier_limits(part.type, part.limits)) - {"system"}
    return part.kind in VALVES and not {"anode_watts", "anode_volts"} & set(
        find_limits(part.type, part.limits, part.kind)
    )
